"""A number without a source cannot exist, and weak ones stand in plain sight."""

from __future__ import annotations

import json
import pickle
from copy import deepcopy

import pytest

from spawnwright import cli
from spawnwright.actions.sources import source_pages
from spawnwright.cli.sources import written
from spawnwright.errors import MissingSource
from spawnwright.model.heat import air, steam
from spawnwright.sources import COMMON, JUDGMENT, Coefficients, Constant, Estimate, bibliography


def test_a_number_is_refused_without_a_work_behind_it():
    """The work first, then its number."""
    with pytest.raises(MissingSource, match="'NOBODY1999' is not in the bibliography"):
        Constant(1.0, "m", source="NOBODY1999", where="table 1")
    with pytest.raises(MissingSource, match="'NOBODY1999' is not in the bibliography"):
        Coefficients([1.0], source="NOBODY1999", where="table 1")
    with pytest.raises(MissingSource, match="must say where in it"):
        Constant(1.0, "m", source="IAPWS1997", where=" ")
    with pytest.raises(TypeError, match="source"):
        Constant(1.0, "m")


def test_a_spread_holds_its_likely_value():
    """An estimate outside of its own spread is a slip."""
    with pytest.raises(MissingSource, match="must lie in its own spread"):
        Estimate(3.0, "m", low=1.0, high=2.0, source=COMMON, where="a slip")


def test_a_constant_computes_like_the_float_it_is():
    """And the result is a plain float, since no source stands behind it."""
    metre = Constant(1.5, "m", source=COMMON, where="a test")

    assert metre * 2 == 3.0
    assert type(metre * 2) is float
    assert (metre.unit, metre.source, metre.where, metre.made_in) == (
        "m", COMMON, "a test", __name__,
    )  # fmt: skip
    assert deepcopy({"length": metre})["length"] is metre
    assert pickle.loads(pickle.dumps(metre)) == 1.5


def test_coefficients_keep_their_order_and_say_where_they_were_made():
    """A published equation's numbers stay together."""
    numbers = Coefficients([3, 1, 2], source=COMMON, where="a test")

    assert numbers == (3.0, 1.0, 2.0)
    assert numbers.made_in == __name__


def test_weak_works_come_first():
    """These are the numbers to replace."""
    pages = source_pages()
    strength = [page.is_weak for page in pages]

    assert [page.work.key for page in pages[:2]] == [JUDGMENT, COMMON]
    assert strength == sorted(strength, reverse=True)
    assert True in strength
    assert False in strength


def test_every_number_in_code_is_shown_once_with_the_place_it_is_used():
    """Taken from the modules themselves: two constants that the steam needs."""
    by_key = {page.work.key: page for page in source_pages()}
    used = [number.used_in for page in by_key.values() for number in page.numbers]

    standard = [each for each in by_key["USSA1976"].numbers if "air.py" in each.used_in]
    assert {each.where for each in standard} >= {
        number.where
        for number in vars(air).values()
        if isinstance(number, Constant) and number.source == "USSA1976"
    }
    assert used.count("model/heat/steam.py LOWEST_PRESSURE") == 1
    (lowest,) = [n for n in by_key["IAPWS1997"].numbers if n.used_in.endswith("LOWEST_PRESSURE")]
    assert lowest.value == steam.LOWEST_PRESSURE
    assert lowest.unit == "Pa"


def test_every_number_of_a_catalog_is_shown_with_its_entry():
    """Rye's numbers, from its file."""
    rye = [n.used_in for page in source_pages("rye") for n in page.numbers]

    assert "grains: rye, protein" in rye
    assert all("rye" in used_in for used_in in rye if used_in.startswith("grains"))


def test_a_grower_sees_their_own_numbers_among_them(monkeypatch, tmp_path):
    """A changed catalog changes the page."""
    assert not [page for page in source_pages() if page.work.key == "OWN"]

    (tmp_path / "jars.toml").write_text(
        '["my-jar"]\nnames = ["mine"]\nnominal_volume = "800 mL"\ninner_radius = "41 mm"\n'
        'inside_height = "160 mm"\nouter_radius = "44 mm"\nglass_mass = "400 g"\n',
        encoding="utf-8",
    )
    monkeypatch.setenv("SPAWNWRIGHT_HOME", str(tmp_path))
    (own,) = [page for page in source_pages() if page.work.key == "OWN"]

    assert "jars: my-jar, inner radius" in [number.used_in for number in own.numbers]


def test_a_word_finds_works_by_title_and_numbers_by_use(capsys):
    """A title in any case, a module, and what nothing is called."""
    by_title = source_pages("STANDARD atmosphere")
    by_use = source_pages("steam.py")
    with pytest.raises(SystemExit) as end:
        cli.main(["sources", "no such thing"])

    assert "USSA1976" in [page.work.key for page in by_title]
    assert by_use
    assert all("steam.py" in n.used_in for page in by_use for n in page.numbers)
    assert end.value.code == 0
    assert "No source has 'no such thing'" in capsys.readouterr().out


def test_json_tells_all(capsys):
    """Keys, strength, numbers and their use."""
    with pytest.raises(SystemExit):
        cli.main(["sources", "--json"])
    sources = json.loads(capsys.readouterr().out)["sources"]
    with pytest.raises(SystemExit):
        cli.main(["sources", "--weak", "--json"])
    weak = json.loads(capsys.readouterr().out)["sources"]

    assert [each for each in sources if each["weak"]] == weak
    assert 0 < len(weak) < len(sources)
    judgment = next(each for each in sources if each["key"] == JUDGMENT)
    assert {"value", "low", "high", "unit", "where", "used_in"} == judgment["numbers"][0].keys()
    assert {each["key"] for each in sources} == set(bibliography()) - {"OWN"}


def test_numbers_are_written_with_spread_and_unit():
    """As entered: no rounding that a reader could not undo."""
    shown = {n.used_in: written(n) for page in source_pages() for n in page.numbers}

    assert shown["model/heat/steam.py LOWEST_PRESSURE"] == "611.213 Pa"
    assert shown["model/heat/steam.py N"] == "10 coefficients"
    assert shown["grains: rye, wet void"] == "0.412 (0.37 to 0.45)"
