"""The mass balance against published sums, and that it closes."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from spawnwright.errors import OutOfRange
from spawnwright.model.grain.moisture import (
    dry_basis,
    dry_mass_for_kg,
    mass_at_moisture_kg,
    moisture_by_weighing,
    water_taken_up_kg,
    wet_basis,
)
from tests.published import half_last_digit, rows

moistures = st.floats(0.0, 0.9)
masses = st.floats(0.001, 1e4)
losses = st.floats(0.0, 0.3)


@pytest.mark.parametrize("name", ["irri_drying", "henderson1997_drying"])
def test_drying_gives_the_published_mass(name):
    """IRRI's worked example of paddy, and the textbook's 800 kg of grain."""
    (row,) = rows(name)
    start = float(row["mass_kg"])
    before, after = float(row["from_percent"]) / 100, float(row["to_percent"]) / 100

    final = mass_at_moisture_kg(start, before, after)
    water = water_taken_up_kg(start, before, after)

    assert final == pytest.approx(float(row["final_kg"]), abs=half_last_digit(row["final_kg"]))
    if "water_kg" in row:
        assert water == pytest.approx(float(row["water_kg"]), abs=half_last_digit(row["water_kg"]))


@pytest.mark.parametrize("row", rows("ohio_agf502"), ids=lambda row: row["moisture_percent"])
def test_a_bushel_of_corn_weighs_what_ohio_state_prints(row):
    """AGF-502: pounds equal to 56 lb at 15.5 %, to both printed decimals."""
    pounds = mass_at_moisture_kg(56.0, 0.155, float(row["moisture_percent"]) / 100)

    assert pounds == pytest.approx(float(row["pounds"]), abs=half_last_digit(row["pounds"]))


@pytest.mark.parametrize("row", rows("stamets2000_recipes"), ids=lambda row: row["dry_g"])
def test_a_handbook_recipe_counts_only_the_water_that_is_added(row):
    """Stamets' printed figures leave out the water of the dry grain; the true ones do not."""
    dry, water = float(row["dry_g"]), float(row["water_ml"])

    true = moisture_by_weighing(0.12, dry, dry + water)
    nominal = moisture_by_weighing(0.0, dry, dry + water)

    assert 100 * nominal == pytest.approx(float(row["added_only_percent"]), abs=0.05)
    assert 100 * true == pytest.approx(float(row["true_percent"]), abs=0.05)


def test_a_kilogram_of_wheat_becomes_1_692_kg():
    """12 to 48 %; with 3 % of the dry matter leached 1.642 kg, worked by hand."""
    assert mass_at_moisture_kg(1.0, 0.12, 0.48) == pytest.approx(1.692, abs=5e-4)
    assert water_taken_up_kg(1.0, 0.12, 0.48) == pytest.approx(0.692, abs=5e-4)
    assert mass_at_moisture_kg(1.0, 0.12, 0.48, leached=0.03) == pytest.approx(1.642, abs=5e-4)


def test_leaching_left_out_of_a_weighing_reads_too_dry():
    """1.6 points for 3 % at 48 %: why the weighing asks for it."""
    weighed = mass_at_moisture_kg(1.0, 0.12, 0.48, leached=0.03)

    assert 0.48 - moisture_by_weighing(0.12, 1.0, weighed) == pytest.approx(0.016, abs=5e-4)


@given(masses, moistures, moistures, losses)
def test_the_balance_closes(mass, before, after, leached):
    """Dry matter in is dry matter out and lost; water in is water out."""
    final = mass_at_moisture_kg(mass, before, after, leached)
    water = water_taken_up_kg(mass, before, after, leached)

    lost = mass * (1 - before) * leached
    assert final * (1 - after) + lost == pytest.approx(mass * (1 - before), rel=1e-9)
    assert mass + water == pytest.approx(final + lost, rel=1e-9)


@given(masses, moistures, moistures, losses)
def test_weighing_and_mixing_are_each_other_backwards(mass, before, after, leached):
    """The scale reads back the moisture that the balance put in, and the grain to start with."""
    final = mass_at_moisture_kg(mass, before, after, leached)

    assert moisture_by_weighing(before, mass, final, leached) == pytest.approx(after, abs=1e-9)
    assert dry_mass_for_kg(final, before, after, leached) == pytest.approx(mass, rel=1e-9)


@given(moistures)
def test_wet_and_dry_basis_are_each_other_backwards(moisture):
    """Both ways round, X being water to dry matter."""
    assert wet_basis(dry_basis(moisture)) == pytest.approx(moisture, abs=1e-12)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ((1.0, 1.2, 0.48), r"Moisture is 1\.2"),
        ((1.0, 0.12, -0.1), r"Moisture is -0\.1"),
        ((-1.0, 0.12, 0.48), "Mass is -1 kg"),
        ((1.0, 0.12, 0.48, 0.6), "Share leached is 0.6"),
        ((float("nan"), 0.12, 0.48), "Mass is nan"),
    ],
)
def test_what_no_grain_can_be_is_refused(arguments, said):
    """A percent sign forgotten, a tare gone wrong."""
    with pytest.raises(OutOfRange, match=said):
        mass_at_moisture_kg(*arguments)
