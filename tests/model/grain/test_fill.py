"""Fill: share, height and grams are one thing said three ways."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from spawnwright.actions.catalogs import look_up
from spawnwright.actions.grain.fill import read_fill
from spawnwright.errors import NotAQuantity, Unusable
from spawnwright.model.grain.fill import filled_jar
from spawnwright.records.fill import Fill
from spawnwright.records.jar import Jar
from spawnwright.store.catalog import catalog

JARS = sorted(catalog(Jar, "jars").values(), key=lambda jar: jar.key)


@pytest.mark.parametrize(
    ("name", "millimeters"), [("quart", 114), ("pint", 71), ("half-gallon", 147)]
)
def test_book_jars_70_percent_full_are_as_deep_as_the_book_says(name, millimeters):
    """Inner radius 43, 38.5 and 53.5 mm, volume by the US gallon."""
    filled = filled_jar(look_up("jars", name), Fill("share", 0.70), 700.0)

    assert 1000 * filled.depth_m == pytest.approx(millimeters, abs=0.5)


@pytest.mark.parametrize("jar", JARS, ids=lambda jar: jar.key)
@given(st.floats(0.05, 0.99), st.floats(400, 900))
def test_the_three_ways_to_say_it_agree(jar, share, density):
    """A share read back from its grams and from its distance below the rim."""
    filled = filled_jar(jar, Fill("share", share), density)

    by_mass = filled_jar(jar, Fill("mass", filled.grain_kg), density)
    by_rim = filled_jar(jar, Fill("below rim", filled.below_rim_m), density)

    assert by_mass.share == pytest.approx(share)
    assert by_rim.share == pytest.approx(share)
    assert by_rim.grain_kg == pytest.approx(filled.grain_kg)


@pytest.mark.parametrize("jar", JARS, ids=lambda jar: jar.key)
def test_a_jar_full_to_its_nominal_volume_is_not_over_its_rim(jar):
    """Radius, height and volume of each entry belong to one jar, with glass outside."""
    assert jar.bed_depth_m(1.0) < jar.inside_height_m
    assert jar.inner_radius_m < jar.outer_radius_m < jar.inner_radius_m + 0.009


def test_above_three_quarters_is_hard_to_shake():
    """Two thirds to three quarters is common practice."""
    quart = look_up("jars", "quart")

    assert not filled_jar(quart, Fill("share", 0.75), 700.0).is_hard_to_shake
    assert filled_jar(quart, Fill("share", 0.76), 700.0).is_hard_to_shake


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("900 g", "136% of the jar quart"),
        ("1 mm below the rim", "of the jar quart"),
        ("17 cm below the rim", "empty"),
        ("0%", "empty"),
    ],
)
def test_a_jar_over_full_or_empty_is_refused(text, said):
    """With what it holds and what is usual."""
    with pytest.raises(Unusable, match=said):
        filled_jar(look_up("jars", "quart"), read_fill(text), 700.0)


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("70%", "share", 0.70),
        ("2/3", "share", 2 / 3),
        ("2/3 full", "share", 2 / 3),
        ("¾", "share", 0.75),
        ("72,5 %", "share", 0.725),
        ("3 cm below the rim", "below rim", 0.03),
        ("1 1/2 in below rim", "below rim", 0.0381),
        ("25 mm under the brim", "below rim", 0.025),
        ("480 g", "mass", 0.48),
        ("1 lb 1 oz", "mass", 0.48194),
    ],
)
def test_a_fill_is_read_as_growers_say_it(text, kind, value):
    """Shares, fingers below the rim, grams."""
    fill = read_fill(text)

    assert fill.kind == kind
    assert fill.value == pytest.approx(value, abs=1e-5)


@pytest.mark.parametrize(
    "text", ["0.7", "70", "120%", "-5%", "700 mL", "half", "", "below the rim"]
)
def test_what_is_no_fill_is_refused(text):
    """A bare number is one of them."""
    with pytest.raises(NotAQuantity):
        read_fill(text)
