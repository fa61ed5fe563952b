"""What goes into a canner together: several kinds of jars, and bags."""

from dataclasses import replace
from math import hypot, pi

import pytest

from spawnwright.model.canner.load_fits import (
    CLEAR_OF_WALL_M,
    bags_per_load,
    fits_together,
    rounded_block_radius_m,
)
from spawnwright.model.canner.loading import circles_in_circle, jars_per_load
from spawnwright.records.bag import BULK_KG_M3, Bag
from spawnwright.records.canner import Canner
from spawnwright.records.fill import Fill
from spawnwright.records.jar import Jar
from spawnwright.records.sterilizing import Jars
from spawnwright.sources import OWN, Constant
from spawnwright.store.catalog import find


def jars(*pairs):
    return [Jars(count, find(Jar, "jars", jar), Fill("share", 0.6)) for count, jar in pairs]


def canner(name, **change):
    return replace(find(Canner, "canners", name), **change)


def own(value, unit="m"):
    return Constant(value, unit, source=OWN, where="a test")


@pytest.mark.parametrize("name", ["one-layer", "two-layer", "large-cast"])
@pytest.mark.parametrize("jar", ["half-pint", "pint", "quart"])
def test_one_kind_alone_fits_as_the_best_packing_has_it(name, jar):
    """The search by touching circles finds what the table of best packings has, or one less."""
    vessel = canner(name, holds=())
    most = jars_per_load(vessel, find(Jar, "jars", jar))

    found = max(
        count for count in range(most.jars + 1) if fits_together(vessel, jars((count, jar)))
    )

    assert most.jars - most.layers <= found <= most.jars


@pytest.mark.parametrize(
    ("name", "load", "fits"),
    [
        ("two-layer", ((4, "quart"), (4, "pint")), True),
        ("two-layer", ((7, "quart"), (1, "half-pint")), True),  # 11 cm are left above quarts
        ("two-layer", ((7, "quart"), (1, "pint")), False),  # a pint needs 14
        ("two-layer", ((9, "pint"), (9, "half-pint")), True),  # the second layer is lower
        ("one-layer", ((9, "pint"), (1, "half-pint")), False),
        ("one-layer", ((1, "half-gallon"), (1, "pint")), False),  # too tall alone
        ("large-cast", ((7, "quart"), (9, "pint")), True),
        ("large-cast", ((10, "quart"), (10, "half-gallon")), False),
    ],
)
def test_mixed_loads(name, load, fits):
    """Layers as high as their tallest jar; each statement can be seen from the jars' sizes."""
    assert fits_together(canner(name), jars(*load)) is fits


def test_the_order_in_which_kinds_are_named_does_not_matter():
    """The tallest go first, whoever is named first."""
    for one, other in (((4, "quart"), (4, "pint")), ((5, "quart"), (5, "pint"))):
        assert fits_together(canner("two-layer"), jars(one, other)) is fits_together(
            canner("two-layer"), jars(other, one)
        )


def test_what_fits_still_fits_with_a_jar_less():
    """Twenty mixtures of quarts and pints."""
    vessel = canner("two-layer")
    for quarts in range(1, 6):
        fitting = [fits_together(vessel, jars((quarts, "quart"), (n, "pint"))) for n in range(1, 9)]
        assert fitting == sorted(fitting, reverse=True)


def test_a_stated_count_is_never_exceeded_in_a_mixture():
    """Whoever tried it and found that five quarts go in is believed."""
    vessel = canner("two-layer", holds=("quart 5",))

    assert fits_together(vessel, jars((5, "quart")))
    assert not fits_together(vessel, jars((6, "quart")))


def test_two_jars_of_unlike_size_need_the_sum_of_their_widths():
    """Side by side across the middle: r1 + r2 = R, to a tenth of a millimeter, and not less."""
    wide, narrow = find(Jar, "jars", "quart"), find(Jar, "jars", "pint")
    across = 2 * (wide.outer_radius_m + narrow.outer_radius_m)
    vessel = canner("one-layer", holds=())

    just = replace(vessel, inner_diameter_m=own(across + 1e-5))
    less = replace(vessel, inner_diameter_m=own(across - 1e-3))
    assert fits_together(just, jars((1, "quart"), (1, "pint")))
    assert not fits_together(less, jars((1, "quart"), (1, "pint")))


def test_seven_of_a_kind_is_the_exact_packing():
    """Three radii enclose seven circles: found by touching alone."""
    quart = find(Jar, "jars", "quart")
    vessel = replace(
        canner("one-layer", holds=()), inner_diameter_m=own(6 * float(quart.outer_radius_m) + 1e-5)
    )

    assert circles_in_circle(3.0, 1.0) == 7
    assert fits_together(vessel, jars((7, "quart")))


# Bags


def test_the_circle_about_a_block_of_round_edges():
    """A pill of 80 mm by 200 mm has ends of 40 mm: its circle is 100 mm; corners cost more."""
    assert rounded_block_radius_m(0.08, 0.20) == pytest.approx(0.100)
    assert rounded_block_radius_m(0.20, 0.20) == pytest.approx(hypot(0.06, 0.06) + 0.04)
    assert rounded_block_radius_m(0.02, 0.02) == pytest.approx(0.01)


@pytest.mark.parametrize(
    ("name", "bag", "lying", "standing"),
    [
        ("one-layer", "2.5-kg", 1, 0),
        ("two-layer", "2-kg", 2, 1),
        ("two-layer", "2.5-kg", 2, 1),
        ("two-layer", "3-kg", 0, 1),
        ("large-cast", "2.5-kg", 3, 2),
    ],
)  # fmt: skip
def test_bags_in_the_shipped_canners(name, bag, lying, standing):
    """Geometry, with a centimeter of air beside, the water below and the vent above."""
    loads = [
        bags_per_load(canner(name), find(Bag, "bags", bag), is_lying).jars
        for is_lying in (True, False)
    ]

    assert loads == [lying, standing]


def test_bags_keep_clear_of_the_wall_and_of_the_vent():
    """A canner that the bag would touch, or whose vent it would reach, holds none."""
    bag, vessel = find(Bag, "bags", "2.5-kg"), canner("two-layer")
    least = 2 * (rounded_block_radius_m(*bag.footprint_m(False)) + CLEAR_OF_WALL_M)
    lowest = next(
        height
        for height in (0.001 * step for step in range(100, 400))
        if bags_per_load(replace(vessel, inside_height_m=own(height)), bag, False).jars
    )

    assert bags_per_load(replace(vessel, inner_diameter_m=own(least + 1e-4)), bag, False).jars
    assert not bags_per_load(replace(vessel, inner_diameter_m=own(least - 1e-3)), bag, False).jars
    water = float(vessel.water_m3) / (pi / 4 * float(vessel.inner_diameter_m) ** 2)
    assert lowest > water + bag.thickness_m(False) + 0.07


def test_a_count_that_the_canner_states_for_bags_wins():
    """Whoever has tried it: "2.5 kg bag 4"."""
    vessel = canner("two-layer", holds=("2.5 kg bag 4",))

    assert bags_per_load(vessel, find(Bag, "bags", "2.5-kg"), False).jars == 4


@pytest.mark.parametrize("key", ["2-kg", "2.5-kg", "3-kg"])
def test_shipped_bags_are_a_third_to_half_full_and_their_blocks_hold_their_grain(key):
    """Footprint by height, round edges counted, is the grain's volume within a tenth."""
    bag = find(Bag, "bags", key)

    assert 1 / 3 <= bag.share_full <= 0.51
    for is_lying in (True, False):
        wide, long = bag.footprint_m(is_lying)
        block = 0.92 * wide * long * bag.thickness_m(is_lying)
        assert block == pytest.approx(float(bag.grain_kg / BULK_KG_M3), rel=0.1)
        assert bag.thickness_m(True) < bag.thickness_m(False)
