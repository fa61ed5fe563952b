"""The shipped species, and a grower's own."""

from pathlib import Path

import pytest

from spawnwright.actions.catalogs import look_up
from spawnwright.errors import AmbiguousName, UnknownName
from spawnwright.records.species import Species
from spawnwright.sources import OWN, Estimate
from spawnwright.store.catalog import catalog

SHIPPED = sorted(catalog(Species, "species").values(), key=lambda species: species.key)


@pytest.mark.parametrize(
    ("written", "latin"),
    [
        ("Pleurotus ostreatus", "Pleurotus ostreatus"),
        ("blue oyster", "Pleurotus ostreatus"),
        ("oyster", "Pleurotus ostreatus"),
        ("Pink Oyster", "Pleurotus djamor"),
        ("lion's mane", "Hericium erinaceus"),
        ("lion’s mane", "Hericium erinaceus"),
        ("HERICIUM ERINACEUS", "Hericium erinaceus"),
        ("shiitake", "Lentinula edodes"),
        ("reishi", "Ganoderma lucidum"),
    ],
)
def test_a_species_is_found_by_latin_and_common_names(written, latin):
    """Growers say the common name, labels say the Latin one."""
    found = look_up("species", written)

    assert isinstance(found, Species)
    assert found.latin == latin


def test_a_name_that_means_two_species_is_refused_with_both():
    """The trade calls both Pholiota adiposa and brown Agaricus bisporus chestnut."""
    with pytest.raises(AmbiguousName) as refusal:
        look_up("species", "chestnut mushroom")

    assert "nameko or button" in str(refusal.value)


def test_an_unknown_name_offers_the_nearest():
    """A slip of the finger."""
    with pytest.raises(UnknownName) as refusal:
        look_up("species", "shitaki")

    assert "shiitake" in refusal.value.nearest


def test_only_the_name_chestnut_stands_for_two_species():
    """Any other name that came twice would be asked back without need."""
    names = [name.casefold() for species in SHIPPED for name in species.names]

    assert len(SHIPPED) == 15
    assert {name for name in names if names.count(name) > 1} == {"chestnut", "chestnut mushroom"}


@pytest.mark.parametrize("species", SHIPPED, ids=lambda species: species.key)
def test_the_cardinal_temperatures_fit_the_growth_model(species):
    """It holds only where the best temperature lies above the middle of the range."""
    middle = (species.tmin_c + species.tmax_c) / 2

    assert middle < species.topt_c < species.tmax_c
    assert species.topt_c < species.alarm_c < species.tmax_c + 0.5
    assert species.cold_storage_c < species.topt_c


@pytest.mark.parametrize("species", SHIPPED, ids=lambda species: species.key)
def test_what_is_not_published_has_a_spread(species):
    """A rate of our own estimate without a spread would pass for knowledge."""
    uncertain = (species.tmin_c, species.topt_c, species.tmax_c, species.rate_grain_mm_per_day)

    assert all(isinstance(number, Estimate) and number.low < number.high for number in uncertain)


def test_pink_oyster_is_not_kept_in_a_refrigerator():
    """Two spawn makers agree on about 10 °C and a month; others keep at 4 °C."""
    pink, blue = look_up("species", "pink oyster"), look_up("species", "blue oyster")

    assert isinstance(pink, Species)
    assert isinstance(blue, Species)
    assert (pink.cold_storage_c, blue.cold_storage_c) == (10, 4)
    assert pink.use_by_cold_days < blue.use_by_cold_days


def test_a_growers_own_file_needs_four_numbers(tmp_path: Path):
    """Whoever measured their strain writes what they know and gets defaults for the rest."""
    own = tmp_path / "mine.toml"
    own.write_text(
        '[mine]\nnames = ["My strain"]\ntmin = "5 C"\ntopt = "26 C"\ntmax = "36 C"\n'
        'rate_grain = "4 mm/day"\nlag = "36 h"\n',
        encoding="utf-8",
    )

    mine = look_up("species", str(own))

    assert isinstance(mine, Species)
    assert (mine.lag_days, mine.lag_days.unit, mine.lag_days.source) == (1.5, "d", OWN)
    assert mine.rate_grain_mm_per_day == 4
    assert (mine.latin, mine.common) == ("My strain", "My strain")
