"""Survival: limiting cases with exact answers, and where the default spores lie."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from spawnwright.errors import OutOfRange, Unusable
from spawnwright.model.scenarios import draw
from spawnwright.model.sterilizing.survival import chance_of_survivor, log10_reduction, spore_inputs
from spawnwright.records.spore import Spore
from spawnwright.store import catalog
from tests.published import rows


def test_one_expected_survivor_is_a_chance_of_63_percent():
    """1 - 1/e, the Poisson chance of not none."""
    assert chance_of_survivor(12.0, 2.0, 1e6) == pytest.approx(1 - np.exp(-1), rel=1e-13)


def test_a_small_chance_is_the_expected_number():
    """No digits are lost where 1 - exp(-x) would lose them all."""
    assert chance_of_survivor(40.0, 1.0, 1e10) == pytest.approx(1e-30, rel=1e-12, abs=0)


def test_no_heat_and_no_spores():
    """A jar with many spores and no heat is lost; one without spores is not."""
    assert chance_of_survivor(0.0, 0.5, 1e6) == 1.0
    assert chance_of_survivor(0.0, 0.5, 0.0) == 0.0


def test_twelve_reductions_of_botulinum():
    """The canning trade's 12-D: 12 times 0.21 min is 2.52 min."""
    assert log10_reduction(2.52, 0.21) == pytest.approx(12.0, rel=1e-12)


def test_the_target_of_one_jar_in_a_thousand():
    """Worked apart from this program: D 0.5 min and 3e6 spores need 4.7 min for 1e-3."""
    assert chance_of_survivor(4.74, 0.5, 3e6) == pytest.approx(1e-3, rel=0.02)


@given(st.floats(0.0, 100.0), st.floats(0.0, 50.0), st.floats(0.01, 10.0), st.floats(0.0, 1e9))
def test_more_heat_never_leaves_more(lethality, more, d, spores):
    """And a hardier or more numerous spore never less."""
    chance = chance_of_survivor(lethality, d, spores)

    assert chance_of_survivor(lethality + more, d, spores) <= chance <= 1.0
    assert chance_of_survivor(lethality, d * 2, spores) >= chance
    assert chance_of_survivor(lethality, d, spores * 2) >= chance


def test_scenarios_each_with_its_own_spores():
    """Arrays go through; the caller averages."""
    chances = chance_of_survivor(np.array([5.0, 5.0]), np.array([0.5, 5.0]), np.array([1e4, 1e4]))

    assert chances[0] == pytest.approx(1e-6, rel=1e-3)
    assert chances[1] == 1.0


def test_default_spores_are_as_stated():
    """log10 count 2 ± 1, D lognormal 0.5 min with factor 3, z 8 ± 1 °C cut to 6 to 12."""
    drawn = draw(spore_inputs(), 40_000)
    count, d, z = (drawn[name] for name in ("spore_log10_per_g", "spore_d_min", "spore_z_c"))

    assert (np.mean(count), np.std(count)) == pytest.approx((2.0, 1.0), abs=0.01)
    assert (np.mean(np.log(d)), np.std(np.log(d))) == pytest.approx(
        (np.log(0.5), np.log(3.0)), abs=0.01
    )
    assert np.median(z) == pytest.approx(8.0, abs=0.01)
    assert np.percentile(z, 84.13) - np.median(z) == pytest.approx(1.0, abs=0.02)
    assert (z.min(), z.max()) == (6.0, 12.0)


def test_default_resistance_lies_among_the_published_spores():
    """What docs/models/survival.md says: of ten that grow on the shelf, six lie in the band."""
    inputs = {each.name: each for each in spore_inputs()}
    band = inputs["spore_d_min"]
    published = [
        float(each.d_121_min)
        for each in catalog.catalog(Spore, "spores").values()
        if each.grows_on_the_shelf
    ]

    assert len(published) == 10
    assert sum(band.low <= d <= band.high for d in published) == 6
    assert sum(d > band.high for d in published) == 2
    assert np.median(published) < band.likely  # errs to the hardy side


def test_default_count_spans_the_surveys():
    """The surveys, 1 to 10 000 per gram, end two standard deviations either way."""
    count = spore_inputs()[0]
    sd = (count.high - count.likely) / 1.645
    surveys = [float(row[end]) for row in rows("spore_counts_on_grain")
               for end in ("low_per_g", "high_per_g")]  # fmt: skip

    assert min(np.log10(surveys)) == pytest.approx(count.likely - 2 * sd, abs=0.01)
    assert max(np.log10(surveys)) == pytest.approx(count.likely + 2 * sd, abs=0.01)


@pytest.mark.parametrize("d", [0.0, -1.0, float("nan")])
def test_d_must_be_a_time(d):
    """Zero would divide; NaN would spread."""
    with pytest.raises(Unusable, match="D must be a time above zero"):
        log10_reduction(1.0, d)


def test_a_negative_count_is_refused():
    """No jar has fewer than none."""
    with pytest.raises(OutOfRange, match="Spores in a jar is -1"):
        chance_of_survivor(1.0, 1.0, -1.0)
