"""The shipped jars, and a jar of the grower's own from three measurements."""

from math import pi
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from spawnwright.actions.catalogs import look_up
from spawnwright.errors import Contradiction, NotAQuantity, UnknownName
from spawnwright.records.jar import WATER_KG_M3, Jar
from spawnwright.sources import JUDGMENT, OWN
from spawnwright.store.catalog import catalog

JARS = sorted(catalog(Jar, "jars").values(), key=lambda jar: jar.key)
HOME = "980 g, 30.1 cm, 16.2 cm"


@pytest.mark.parametrize(
    ("name", "radius_mm"), [("quart", 43), ("pint", 38.5), ("half-gallon", 53.5)]
)
def test_book_values_of_the_inner_radius(name, radius_mm):
    """As every answer about heat reckons with."""
    assert look_up("jars", name).inner_radius_m == pytest.approx(radius_mm / 1000)


@pytest.mark.parametrize(
    ("written", "milliliters"),
    [
        ("half-pint", 236.588), ("pint", 473.176), ("quart", 946.353), ("half-gallon", 1892.706),
        ("250 mL", 250), ("370 mL", 370), ("500 mL", 500), ("720 mL", 720), ("750 mL", 750),
        ("1 L", 1000), ("1.5 L", 1500), ("1,5 L", 1500), ("0.5 L", 500), ("1 qt", 946.353),
        ("0.95 L", 946.353), ("Quart", 946.353), ("64 oz", 1892.706),
    ],
)  # fmt: skip
def test_a_jar_is_found_by_its_name_or_its_volume(written, milliliters):
    """Metric jars by volume; a US jar by either."""
    assert look_up("jars", written).nominal_volume_m3 * 1e6 == pytest.approx(milliliters, abs=0.01)


@pytest.mark.parametrize("written", ["0.9 L", "15 L", "quort", "980 g", "2 psi"])
def test_an_unknown_jar_is_refused_with_the_nearest(written):
    """Not the next best one taken in silence."""
    with pytest.raises(UnknownName):
        look_up("jars", written)


@pytest.mark.parametrize("jar", JARS, ids=lambda jar: jar.key)
def test_dimensions_from_a_volume_are_marked_as_an_estimate(jar):
    """No reliable dimensions of metric jars were found; the half-pint's radius is weak."""
    is_metric = jar.key.endswith(("-ml", "-l"))

    assert (jar.inner_radius_m.source == JUDGMENT) == is_metric
    assert jar.inner_radius_m.low < jar.inner_radius_m < jar.inner_radius_m.high
    assert bool(jar.note) == (is_metric or jar.key in ("half-pint", "half-gallon"))


def test_three_measurements_make_a_jar():
    """Water to the brim, a string round it, height inside: worked by hand."""
    jar = look_up("jars", HOME)

    assert jar.nominal_volume_m3 * 1e6 == pytest.approx(981.8, abs=0.1)
    assert jar.inner_radius_m * 1000 == pytest.approx(43.92, abs=0.01)
    assert jar.outer_radius_m * 1000 == pytest.approx(47.91, abs=0.01)
    assert jar.inside_height_m == pytest.approx(0.162)
    assert jar.glass_mass_kg == pytest.approx(0.53, abs=0.02)
    assert jar.inner_radius_m.source == OWN


@pytest.mark.parametrize(
    "written",
    [
        "980g,30.1cm,16.2cm",
        "980 g,30,1 cm,16,2 cm",
        "980 g; 30,1 cm; 16,2 cm",
        "980 g ,30.1 cm ,16.2 cm",
    ],
)
def test_measurements_are_parted_as_people_type(written):
    """Without spaces, with decimal commas: a comma right behind a unit parts."""
    found, usual = look_up("jars", written), look_up("jars", HOME)

    assert found.inner_radius_m == pytest.approx(usual.inner_radius_m)
    assert found.nominal_volume_m3 == pytest.approx(usual.nominal_volume_m3)


def test_the_same_in_a_file_with_what_else_is_known(tmp_path: Path, monkeypatch):
    """A nominal volume and a weighed glass are taken as they are."""
    monkeypatch.setenv("SPAWNWRIGHT_HOME", str(tmp_path))
    (tmp_path / "jars.toml").write_text(
        '[shelf-jar]\nnames = ["shelf jar"]\nbrim_water = "980 g"\nstring_round = "30,1 cm"\n'
        'inside_height = "16.2 cm"\nnominal_volume = "900 mL"\nglass_mass = "430 g"\n',
        encoding="utf-8",
    )

    found = look_up("jars", "shelf jar")

    assert found.inner_radius_m == pytest.approx(look_up("jars", HOME).inner_radius_m)
    assert found.nominal_volume_m3 == pytest.approx(9e-4)
    assert found.glass_mass_kg == pytest.approx(0.43)
    assert look_up("jars", "shelf-jar") == found


@given(st.floats(0.02, 0.08), st.floats(0.05, 0.3), st.floats(0.0015, 0.008))
def test_a_cylinder_is_measured_back(radius, height, wall):
    """What the three measurements of a true cylinder are made from."""
    water = 1000 * WATER_KG_M3 * pi * radius**2 * height
    string = 2 * pi * (radius + wall)

    jar = look_up("jars", f"{water:.9f} g, {string:.12f} m, {height:.12f} m")

    assert jar.inner_radius_m == pytest.approx(radius, rel=1e-6)
    assert jar.outer_radius_m == pytest.approx(radius + wall, rel=1e-6)


@pytest.mark.parametrize(
    ("written", "error", "said"),
    [
        ("980 g, 26 cm, 16.2 cm", Contradiction, "no room for its glass"),
        ("980 g, 35 cm, 16.2 cm", Contradiction, "too thick"),
        ("980 g, 16.2 cm, 30.1 cm", Contradiction, "measure again"),
        ("0 g, 30.1 cm, 16.2 cm", Contradiction, "above zero"),
        ("980, 30.1 cm, 16.2 cm", NotAQuantity, "has no unit"),
        ("980 mL, 30.1 cm, 16.2 cm", NotAQuantity, "is a volume"),
        ("980 g, 30.1 g, 16.2 cm", NotAQuantity, "a length is needed"),
    ],
)
def test_measurements_that_cannot_be_are_refused(written, error, said):
    """With all three numbers and what they would mean."""
    with pytest.raises(error, match=said):
        look_up("jars", written)
