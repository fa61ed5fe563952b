"""Canner records: what stands in the shipped catalog, and what an own file may say."""

import re
from pathlib import Path

import pytest

from spawnwright.errors import BadFile, Unusable
from spawnwright.records.canner import HEAVIEST_MARK_PA, Canner
from spawnwright.sources import Estimate, bibliography
from spawnwright.store.catalog import catalog, find, read_records
from spawnwright.units import PSI_PA

OWN_CANNER = """
[mine]
names = ["my canner"]
mass = "5.1 kg"
inner_diameter = "30 cm"
inside_height = "30 cm"
rack_height = "2 cm"
water = "2.5 L"
rated_gauge = "20 psi"
gauge = "dial"
reads_high = "1 psi"
holds = ["quart 7"]
"""


def own(text):
    return read_records(text, Canner, "canners.toml", "OWN")["mine"]


def test_every_shipped_number_has_a_source_and_none_a_rating():
    """A rating is the maker's word; a generic entry cannot give it."""
    for canner in catalog(Canner, "canners").values():
        assert canner.mass_kg.source in bibliography()
        assert isinstance(canner.mass_kg, Estimate)
        assert canner.rated_gauge_pa is None
        assert canner.highest_gauge_pa == HEAVIEST_MARK_PA


def test_a_canner_is_found_by_size_and_misspelling_is_answered_with_names():
    """The trade says "a 23 quart"; the wish file says two-layer."""
    assert find(Canner, "canners", "23 qt") == find(Canner, "canners", "two-layer")


def test_an_own_canner_says_its_rating_and_what_its_dial_shows():
    """A dial that reads 1 psi high hides that much: the true pressure is lower."""
    canner = own(OWN_CANNER)

    assert canner.highest_gauge_pa == pytest.approx(20 * PSI_PA)
    assert canner.gauge_error_pa == pytest.approx(-PSI_PA)
    assert canner.stated_loads == {"quart": 7}
    assert canner.most_water_kg == pytest.approx(2.5)


def test_the_example_in_the_documentation_is_a_canner():
    """Every line that docs/own-kit.md shows can be read."""
    page = (Path(__file__).parents[2] / "docs" / "own-kit.md").read_text(encoding="utf-8")
    block = re.search(r"```toml\n(.*?)```", page, re.DOTALL)
    assert block is not None

    canner = own(block[1])

    assert canner.rated_gauge_pa == pytest.approx(15 * PSI_PA)
    assert canner.stated_loads == {"quart": 7, "pint": 16}


def test_a_weight_runs_above_its_mark_and_a_dial_either_way():
    """A weight marked 10 lb runs at about 10.5; an unchecked dial may be a pound off."""
    weight = own(OWN_CANNER.replace('"dial"', '"weight"').replace('reads_high = "1 psi"\n', ""))
    dial = own(OWN_CANNER.replace('reads_high = "1 psi"\n', ""))

    assert (weight.gauge_error_pa.low, weight.gauge_error_pa.high) == (0, pytest.approx(PSI_PA / 2))
    assert dial.gauge_error_pa.low == -dial.gauge_error_pa.high == pytest.approx(-PSI_PA)


def test_the_water_that_fits_is_what_is_stated_or_reaches_the_rack():
    """A high rack leaves more room below it than the usual water fills."""
    high_rack = own(OWN_CANNER.replace('"2 cm"', '"6 cm"'))
    stated = own(OWN_CANNER + 'most_water = "3.5 L"\n')

    assert high_rack.most_water_kg == pytest.approx(4.24, abs=0.005)  # 30 cm across, 6 cm deep
    assert stated.most_water_kg == pytest.approx(3.5)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('"dial"', '"lever"', "weight or dial"),
        ('water = "2.5 L"', 'water = "2.5 L"\nmaterial = "gold"', "aluminum or steel"),
        ('"quart 7"', '"seven quarts"', 'write a jar and a count: "quart 7"'),
        ('"2 cm"', '"40 cm"', "higher than its inside"),
        ('"1 psi"', '"1 psi"\nreads_low = "1 psi"', "only one can be"),
        ('"5.1 kg"', '"0 kg"', "above 0"),
    ],
)
def test_an_own_canner_that_cannot_be_is_refused(old, new, says):
    """One sentence each, with what would do."""
    with pytest.raises((Unusable, BadFile), match=says):
        own(OWN_CANNER.replace(old, new))
