"""The shipped grains against their published numbers, their names, and a grower's own."""

from dataclasses import fields
from pathlib import Path

import pytest

from spawnwright.actions.catalogs import entries, look_up
from spawnwright.errors import AmbiguousName, BadFile, UnknownName
from spawnwright.records.grain import Grain
from spawnwright.sources import JUDGMENT, OWN, Constant, Estimate
from spawnwright.store.catalog import catalog
from tests.published import rows

GRAINS = sorted(catalog(Grain, "grains").values(), key=lambda grain: grain.key)
POUND_PER_BUSHEL = 0.45359237 / 0.03523907  # kg/m³


@pytest.mark.parametrize("row", rows("usda_grain_composition"), ids=lambda row: row["grain"])
def test_composition_is_that_of_the_usda(row):
    """Each part over what is not water; carbohydrate is by difference, less fiber."""
    grain, number = look_up("grains", row["grain"]), {k: row[k] for k in row if k != "grain"}
    printed = {name: float(text) for name, text in number.items()}
    dry = sum(printed[n] for n in ("protein", "fat", "ash", "carbohydrate_by_difference"))

    assert dry + printed["water"] == pytest.approx(100, abs=0.03)
    assert grain.protein == pytest.approx(printed["protein"] / dry, abs=1e-6)
    assert grain.fat == pytest.approx(printed["fat"] / dry, abs=1e-6)
    assert grain.ash == pytest.approx(printed["ash"] / dry, abs=1e-6)
    assert grain.fiber == pytest.approx(printed["fiber"] / dry, abs=1e-6)
    available = printed["carbohydrate_by_difference"] - printed["fiber"]
    assert grain.carbohydrate == pytest.approx(available / dry, abs=1e-6)


@pytest.mark.parametrize("row", rows("legal_bushels"), ids=lambda row: row["grain"])
def test_dry_bulk_density_is_the_legal_bushel(row):
    """Pounds to the bushel, in kg/m³, to the kilogram."""
    grain = look_up("grains", row["grain"])

    assert grain.dry_bulk_density_kg_m3 == pytest.approx(
        float(row["pounds"]) * POUND_PER_BUSHEL, abs=0.6
    )


@pytest.mark.parametrize("row", rows("usda_grain_composition"), ids=lambda row: row["grain"])
def test_a_cup_of_the_usda_lies_within_the_spread_of_dry_bulk_density(row):
    """An independent set: household cups are shaken, so up to a tenth above the bushel."""
    density = look_up("grains", row["grain"]).dry_bulk_density_kg_m3

    cup = float(row["cup_g"]) / 0.236588
    low = density.low if isinstance(density, Estimate) else density

    assert low <= cup <= 1.14 * density


@pytest.mark.parametrize("grain", GRAINS, ids=lambda grain: grain.key)
def test_the_parts_of_a_grain_add_up_to_its_dry_matter(grain):
    """To rounding."""
    parts = grain.protein + grain.fat + grain.carbohydrate + grain.fiber + grain.ash

    assert parts == pytest.approx(1.0, abs=1e-5)


@pytest.mark.parametrize("grain", GRAINS, ids=lambda grain: grain.key)
def test_a_grain_that_borrows_its_soak_law_says_so(grain):
    """The basis is a sentence; where the quickness or the uptake is a guess it has a spread."""
    assert grain.soak_basis.endswith(".")
    assert isinstance(grain.soak_uptake, Estimate)
    assert grain.soak_uptake.source == JUDGMENT
    borrowed = grain.key in (
        "rye", "oats-hulled", "oats-in-hull", "barley-hulled", "millet-hulled", "millet-in-hull",
        "maize",
    )  # fmt: skip
    assert ("guess" in grain.soak_basis) == borrowed


@pytest.mark.parametrize("grain", GRAINS, ids=lambda grain: grain.key)
def test_every_number_has_unit_source_and_place(grain):
    """A number without a source cannot be constructed; without a unit it cannot be used."""
    numbers = [getattr(grain, each.name) for each in fields(grain)]

    for number in (each for each in numbers if isinstance(each, Constant)):
        assert number.unit
        assert number.source
        assert number.where


@pytest.mark.parametrize(
    ("written", "key"),
    [
        ("wheat", "wheat"),
        ("Rye Berries", "rye"),
        ("milo", "sorghum"),
        ("corn", "maize"),
        ("popcorn", "popcorn"),
        ("brown-rice", "brown-rice"),
        ("brown rice", "brown-rice"),
        ("oat groats", "oats-hulled"),
        ("oats in the hull", "oats-in-hull"),
        ("hulled barley", "barley-hulled"),
        ("millet-in-hull", "millet-in-hull"),
    ],
)
def test_a_grain_is_found_by_the_names_of_the_trade(written, key):
    """Without regard to case, spaces and hyphens."""
    assert look_up("grains", written).key == key


@pytest.mark.parametrize("name", ["oats", "barley", "millet", "Oats"])
def test_hulled_or_in_the_hull_is_asked_never_assumed(name):
    """They soak and swell differently; both are offered."""
    with pytest.raises(AmbiguousName) as refusal:
        look_up("grains", name)

    plain = name.lower()
    assert refusal.value.nearest == (f"{plain}-hulled", f"{plain}-in-hull")
    assert f"{plain}-hulled or {plain}-in-hull" in str(refusal.value)


def test_an_unknown_grain_gets_the_nearest_names():
    """Rice in the hull is not listed; brown rice is."""
    with pytest.raises(UnknownName, match="brown-rice"):
        look_up("grains", "rice")


@pytest.fixture
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    """Write the grower's own `grains.toml`."""
    monkeypatch.setenv("SPAWNWRIGHT_HOME", str(tmp_path))

    def write(text: str) -> Path:
        file = tmp_path / "grains.toml"
        file.write_text(text, encoding="utf-8")
        return file

    return write


def test_an_own_grain_is_like_another_but_for_what_was_measured(own):
    """A weighed jar of dry grain changes one number; the rest keeps its source."""
    file = own('[neighbor-rye]\nlike = "rye"\nnames = ["our rye"]\ndry_bulk_density = 738\n')

    for found in (look_up("grains", "our rye"), look_up("grains", str(file))):
        assert found.dry_bulk_density_kg_m3 == 738
        assert found.dry_bulk_density_kg_m3.source == OWN
        assert found.dry_bulk_density_kg_m3.unit == "kg/m³"
        assert found.protein is look_up("grains", "rye").protein


def test_an_own_entry_decides_a_name_that_is_ambiguous(own):
    """Who has only groats may call them oats."""
    own('[my-oats]\nlike = "oats-hulled"\nnames = ["oats"]\n')

    assert look_up("grains", "oats").key == "my-oats"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('[x]\nlike = "ry"\n', r"line 2, 'like': there is no entry 'ry' .* rye"),
        ('[x]\nlike = "oats"\n', "oats-hulled or oats-in-hull"),
        (
            '[x]\nlike = "rye"\ndry_bulk_densty = 700\n',
            "line 3: .* did you mean 'dry_bulk_density'",
        ),
        ("[x]\nprotein = 0.1\n", r"line 2, 'protein'.*percent sign"),
        ("[x]\nfat = '2%'\n", "'x' lacks "),
        ("[x\n", "not valid TOML"),
    ],
)
def test_a_faulty_file_is_refused_with_its_line(own, text, said):
    """What, where, and what would do."""
    own(text)

    with pytest.raises(BadFile, match=said):
        look_up("grains", "rye")


def test_the_list_shows_each_number_with_its_source():
    """What `./run grains` prints is what the records hold."""
    (rye,) = entries("grains", "rye")
    numbers = {each.name: each for each in rye.numbers}

    density = numbers["dry_bulk_density_kg_m3"].as_dict()
    assert density["value"] == 721
    assert density["low"] < 721 < density["high"]
    assert (density["unit"], density["source"]) == ("kg/m³", "BushelWeights")
    assert len(entries("grains")) == len(GRAINS) == 12
