"""Bags: shipped ones, and the grower's own from mass, width and height of the grain."""

from math import pi

import pytest

from spawnwright.errors import Contradiction
from spawnwright.records.bag import BULK_KG_M3, ROUNDNESS, Bag
from spawnwright.store.catalog import find

OWN = '[mine]\nnames = ["my bag"]\ngrain = "2.6 kg"\ngrain_width = "{}"\ngrain_height = "{}"\n'


def own(folder, width="21 cm", height="15 cm", more=""):
    file = folder / "mine.toml"
    file.write_text(OWN.format(width, height) + more)
    return find(Bag, "bags", str(file))


def test_an_own_bag_follows_from_three_measurements(tmp_path):
    """2.6 kg at 700 kg/m³ are 3.71 L: 15 cm high, 247.6 cm² across, 12.8 cm deep at 21 cm wide."""
    bag = own(tmp_path)
    area = 2.6 / BULK_KG_M3 / 0.15

    assert bag.thickness_m(False) == pytest.approx(0.15)
    assert pi * bag.standing_radius_m**2 == pytest.approx(area)
    assert bag.footprint_m(False) == pytest.approx((0.21, area / (ROUNDNESS * 0.21)))
    assert bag.standing_radius_m.source == "OWN"
    assert bag.standing_radius_m.low < bag.standing_radius_m < bag.standing_radius_m.high


def test_how_thick_it_lies_may_be_measured_too(tmp_path):
    """Half as thick, twice the face."""
    thick = own(tmp_path, more='lying_thickness = "10 cm"\n')
    thin = own(tmp_path, more='lying_thickness = "5 cm"\n')

    assert thick.thickness_m(True) == pytest.approx(0.10)
    assert thin.lying_radius_m**2 == pytest.approx(2 * thick.lying_radius_m**2)
    assert own(tmp_path).thickness_m(True) < own(tmp_path).footprint_m(False)[1]


@pytest.mark.parametrize(
    ("width", "height", "says"),
    [("21 cm", "3 cm", "would be 64"), ("21 cm", "60 cm", "would be 3"),
     ("21 cm", "-15 cm", "-15 cm"), ("0 cm", "15 cm", "above zero")],
)  # fmt: skip
def test_measurements_that_cannot_belong_to_a_bag_are_refused(tmp_path, width, height, says):
    """One sentence with the depth that would follow."""
    with pytest.raises(ValueError, match=says):
        own(tmp_path, width, height)
    assert issubclass(Contradiction, ValueError)


@pytest.mark.parametrize("is_lying", [True, False])
def test_the_cylinder_that_stands_for_a_bag_has_its_area_and_no_glass(is_lying):
    """Its radius carries the spread; its room is the bag's."""
    bag = find(Bag, "bags", "2.5 kg")
    jar = bag.as_jar(is_lying)

    assert jar.inner_radius_m is (bag.lying_radius_m if is_lying else bag.standing_radius_m)
    assert jar.glass_mass_kg < 0.1
    assert jar.cross_section_m2 * jar.inside_height_m == pytest.approx(float(bag.bag_volume_m3))
