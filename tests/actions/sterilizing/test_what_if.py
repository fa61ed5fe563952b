"""The what-if table: each row is the run with one thing different, and nothing else.

Rows are compared with `sterilize` itself; signs are physics: less pressure, more grain, colder
grain and air in the steam all ask for a longer hold.
"""

from __future__ import annotations

import io
from dataclasses import replace

import pytest
from pypdf import PdfReader

from spawnwright.actions.sterilizing.sterilize import sterilize
from spawnwright.actions.sterilizing.what_if import VARIED, refused_rows, what_if
from spawnwright.errors import Contradiction
from spawnwright.model.heat.air import standard_pressure_pa
from spawnwright.paper.what_if_page import what_if_pdf
from spawnwright.records.canner import Canner
from spawnwright.records.fill import Fill
from spawnwright.records.what_if import cells
from spawnwright.store.catalog import find
from tests.model.questions import conduction, question


@pytest.fixture(scope="module")
def pinned():
    """All five blocks, by conduction at a diffusivity at which the middle gets hot in time."""
    return what_if(conduction(3e-7))


@pytest.fixture(scope="module")
def banded():
    """One block with bands."""
    return what_if(question(grain_state="pours"), vary=("fill",))


def block(table, name):
    return next(each for each in table.blocks if each.name == name)


def test_the_run_itself_stands_once_in_every_block(pinned):
    """Marked, and with the same numbers wherever it stands."""
    own = [row for each in pinned.blocks for row in each.rows if row.is_own]

    assert [each.name for each in pinned.blocks] == list(VARIED.values())
    assert len(own) == 5
    assert len({(row.recommended_hold_s, row.f0_total_min) for row in own}) == 1


@pytest.mark.parametrize("name", ["elevation_m", "jar", "fill", "air_retained"])
def test_more_of_it_asks_for_a_longer_hold(pinned, name):
    """Higher up, in a larger jar, fuller, with more air: F0 falls and the hold grows."""
    rows = block(pinned, name).rows
    f0 = [row.f0_total_min.likely for row in rows]
    holds = [row.recommended_hold_s or float("inf") for row in rows]

    assert f0 == sorted(f0, reverse=True)
    assert f0[0] > f0[-1]
    assert holds == sorted(holds)


def test_warmer_grain_asks_for_a_shorter_hold(pinned):
    """And less time to pressure does not undo it."""
    holds = [row.recommended_hold_s for row in block(pinned, "start_c").rows]

    assert holds == sorted(holds, reverse=True)


def test_a_row_is_what_sterilize_says_of_it(banded):
    """The same question asked alone, at the table's hold."""
    row = next(each for each in block(banded, "fill").rows if each.value == 0.5)

    alone = sterilize(
        question(
            grain_state="pours", fill=Fill("share", 0.5), hold_s=banded.hold_s, effort="quick",
            wants_causes=False,
        )
    )  # fmt: skip
    assert row.recommended_hold_s == alone.recommended_hold_s
    assert (row.f0_total_min, row.coldest_f0_total_min) == (
        alone.f0_total_min, alone.coldest_f0_total_min
    )  # fmt: skip
    assert (row.come_up_s, row.water_needed_kg) == (alone.come_up_s, alone.water_needed_kg)


def test_the_table_s_hold_is_the_recommended_one_in_whole_five_minutes(banded):
    """Which is what somebody sets; by the full sum, and enough."""
    full = sterilize(question(grain_state="pours", wants_causes=False)).recommended_hold_s

    assert full <= banded.hold_s < full + 300.0
    assert banded.hold_s % 300.0 == pytest.approx(0.0)
    own = next(row for row in block(banded, "fill").rows if row.is_own)
    assert own.recommended_hold_s == pytest.approx(full, rel=0.03)


def test_quick_rows_err_to_the_long_side(banded):
    """As the note says: not more than eight minutes long, not more than two short."""
    row = block(banded, "fill").rows[-1]
    full = sterilize(
        question(grain_state="pours", fill=Fill("share", row.value), hold_s=banded.hold_s,
                 wants_causes=False)
    )  # fmt: skip
    assert -120.0 < row.recommended_hold_s - full.recommended_hold_s < 480.0


def test_where_no_hold_is_enough_it_says_what_would_do():
    """A strict target, slow conduction: dry it; with air left in: vent."""
    table = what_if(conduction(0.4e-7, target=1e-9), vary=("elevation", "air"))

    said = {row.none_because for row in block(table, "elevation_m").rows}
    assert said == {"dry the grain until it pours"}
    aired = [row for row in block(table, "air_retained").rows if row.value]
    assert {row.none_because for row in aired} == {"vent ten minutes"}
    assert all(row.recommended_hold_s is None for row in aired)


def test_a_row_that_cannot_be_says_so_and_the_others_stand():
    """Half-gallons do not go into the low canner; pints and quarts do."""
    low = find(Canner, "canners", "one-layer")
    table = what_if(conduction(3e-7, canner=low), vary=("jar",))

    rows = {row.said: row for row in block(table, "jar").rows}
    assert "does not fit" in rows["half-gallon"].refused
    assert cells(rows["half-gallon"])[1] == "cannot be"
    assert rows["pint"].f0_total_min is not None
    assert list(refused_rows(table)) == [rows["half-gallon"].refused]


def test_an_own_value_takes_the_place_of_one_beside_it():
    """1450 m stands there, 1500 m does not; a fill in grams is a share."""
    asked = conduction(3e-7)
    grams = replace(
        asked, ambient_pa=float(standard_pressure_pa(1450.0)), fill=Fill("mass", 0.463)
    )  # fmt: skip
    table = what_if(grams, vary=("elevation", "fill"))

    assert [row.value for row in block(table, "elevation_m").rows] == [
        0.0, 500.0, 1000.0, pytest.approx(1450.0, abs=0.1), 2000.0
    ]  # fmt: skip
    assert [row.said for row in block(table, "fill").rows] == ["50 %", "60 %", "70 %", "75 %"]


def test_what_it_is_not_made_for_is_refused():
    """A mixed load has no one jar size."""
    asked = conduction(3e-7)
    mixed = replace(asked, jars=3, also=(replace(asked.kinds[0], jars=2),))

    with pytest.raises(Contradiction, match="one kind"):
        what_if(mixed)


def test_progress_counts_up_to_the_end():
    """Every run once; the table's own only as it is."""
    told = []
    what_if(conduction(3e-7), lambda done, wanted: told.append((done, wanted)), ("fill",))

    assert told[0][0] <= 2
    assert told[-1] == (5, 5)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_page_has_every_row_on_one_page(pinned, paper):
    """Own typeface, so that every sign is there; the same bytes each time."""
    pdf = what_if_pdf(pinned, paper)

    reader = PdfReader(io.BytesIO(pdf))
    text = " ".join(reader.pages[0].extract_text().split())
    assert len(reader.pages) == 1
    for each in pinned.blocks:
        assert each.said in text
        for row in each.rows:
            assert row.said in text
            assert (row.none_because or cells(row)[1]) in text
    assert "not food preservation" in text
    assert pdf == what_if_pdf(pinned, paper)


def test_the_longest_table_fits_its_page(pinned):
    """Nothing runs off the foot, with every row refused or without a hold."""
    rows = tuple(
        replace(row, recommended_hold_s=None, none_because="dry the grain until it pours")
        for row in block(pinned, "elevation_m").rows
    )
    full = replace(
        pinned, blocks=tuple(replace(each, rows=(*rows, rows[0])) for each in pinned.blocks)
    )

    bottoms: list[float] = []

    def keep(text, matrix, of_text, _font, _size):
        if text.strip():
            bottoms.append(of_text[5] * matrix[3] + matrix[5])

    PdfReader(io.BytesIO(what_if_pdf(full, "Letter"))).pages[0].extract_text(visitor_text=keep)
    assert max(bottoms) > 700.0
    assert min(bottoms) > 20.0
