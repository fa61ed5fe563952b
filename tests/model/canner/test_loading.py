"""How many jars go in, against exact packings and what a record states."""

from dataclasses import replace
from math import pi, sin

import pytest

from spawnwright.model.canner.loading import (
    ENCLOSING_RATIO,
    circles_in_circle,
    jars_per_load,
    water_depth_m,
)
from spawnwright.records.canner import Canner
from spawnwright.records.jar import Jar
from spawnwright.sources import OWN, Constant
from spawnwright.store import catalog


def own(value, unit="m"):
    return Constant(value, unit, source=OWN, where="a test")


def test_packings_with_an_exact_answer_agree_to_the_printed_digits():
    """A ring of n touching circles is enclosed by 1 + 1/sin(pi/n): best for 2 to 6, and 7."""
    for count in (2, 3, 4, 5, 6):
        assert ENCLOSING_RATIO[count - 1] == pytest.approx(1 + 1 / sin(pi / count), abs=5e-5)
    assert ENCLOSING_RATIO[6] == 3.0  # six round one
    assert ENCLOSING_RATIO[18] == pytest.approx(1 + 2**0.5 + 6**0.5, abs=5e-5)  # 19


def test_more_circles_never_need_less_room():
    """The table rises, and no packing is denser than circles can be in the plane."""
    assert list(ENCLOSING_RATIO) == sorted(ENCLOSING_RATIO)
    for count, ratio in enumerate(ENCLOSING_RATIO, 1):
        assert count / ratio**2 <= pi / 12**0.5 + 0.1 * (count == 1)


@pytest.mark.parametrize(
    ("canner", "jar", "jars"),
    [
        ("one-layer", "quart", 7), ("two-layer", "quart", 7), ("two-layer", "pint", 18),
        ("one-layer", "half-gallon", 0), ("two-layer", "half-gallon", 4),
        ("large-cast", "pint", 28),
    ],
)  # fmt: skip
def test_shipped_canners_hold(canner, jar, jars):
    """Seven quarts in a 30 cm canner is common practice; the rest is geometry."""
    load = jars_per_load(catalog.find(Canner, "canners", canner), catalog.find(Jar, "jars", jar))

    assert load.jars == jars


def test_a_stated_count_wins_over_the_geometry():
    """Whoever has tried the load knows better than circles do."""
    canner = catalog.find(Canner, "canners", "two-layer")
    jar = catalog.find(Jar, "jars", "quart")

    assert jars_per_load(replace(canner, holds=()), jar).jars == 7
    assert jars_per_load(replace(canner, holds=("qt 5",)), jar).jars == 5
    assert jars_per_load(replace(canner, holds=("qt 5",)), jar).is_stated


def test_a_taller_rack_takes_the_second_layer():
    """Pints stand two high until the rack takes up what is left."""
    canner = replace(catalog.find(Canner, "canners", "two-layer"), holds=())
    jar = catalog.find(Jar, "jars", "pint")

    assert jars_per_load(canner, jar).layers == 2
    assert jars_per_load(replace(canner, rack_height_m=own(0.06)), jar).layers == 1


def test_water_stands_higher_between_jars_than_under_them():
    """3 L in 305 mm: 0.95 L below a rack of 13 mm, 2.05 L between seven quarts of 94 mm."""
    canner = catalog.find(Canner, "canners", "two-layer")
    jar = catalog.find(Jar, "jars", "quart")
    between = pi / 4 * (0.305**2 - 7 * 0.094**2)

    depth = water_depth_m(canner, jar, 7, 3.0)

    assert depth == pytest.approx(0.013 + (0.003 - pi / 4 * 0.305**2 * 0.013) / between)
    assert 0.08 < depth < 0.12  # two to three inches of water, and a little more
    assert water_depth_m(canner, jar, 7, 0.5) == pytest.approx(0.0005 / (pi / 4 * 0.305**2))


def test_circles_smaller_than_the_table_stop_at_its_end():
    """Errs to fewer."""
    assert circles_in_circle(1.0, 0.01) == 37
