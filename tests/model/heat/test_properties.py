"""Properties of grain substance against a worked example and the water of steam tables."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from spawnwright.errors import OutOfRange
from spawnwright.model.heat.properties import (
    CONDUCTIVITY,
    DENSITY,
    SPECIFIC_HEAT,
    kernel_properties,
    mass_fractions,
    specific_heat_j_kg_k,
)
from tests.published import half_last_digit, rows


@dataclass(frozen=True)
class Composition:
    protein: float
    fat: float
    carbohydrate: float
    fiber: float
    ash: float


RYE = Composition(10.34, 1.63, 60.8, 15.1, 1.57)


@pytest.mark.parametrize(
    "row", rows("choiokos_rye_by_hand"), ids=lambda row: f"{row['moisture']} {row['temperature_c']}"
)
def test_rye_worked_by_hand(row):
    """Density, specific heat, conductivity, diffusivity, to the digits worked."""
    found = kernel_properties(RYE, float(row["moisture"]), float(row["temperature_c"]))
    computed = {
        "density_kg_m3": found.density_kg_m3,
        "specific_heat_kj_kg_k": found.specific_heat_j_kg_k / 1000,
        "conductivity_parallel_w_mk": found.conductivity_parallel_w_mk,
        "conductivity_series_w_mk": found.conductivity_series_w_mk,
        "diffusivity_parallel_m2_s": found.diffusivity_parallel_m2_s,
        "diffusivity_series_m2_s": found.diffusivity_series_m2_s,
    }

    for name, printed in row.items():
        if name in computed and printed:
            assert computed[name] == pytest.approx(
                float(printed), rel=0, abs=half_last_digit(printed)
            ), name


@pytest.mark.parametrize(
    "row", rows("ashrae2006_table2"), ids=lambda row: f"{row['component']} {row['property']}"
)
def test_coefficients_are_the_printed_ones(row):
    """The worked example hardly feels fat and ash; this holds each coefficient to its print."""
    table = {"conductivity": CONDUCTIVITY, "density": DENSITY, "specific heat": SPECIFIC_HEAT}
    printed = tuple(float(row[each]) for each in ("constant", "slope", "curve"))

    assert table[row["property"]][row["component"]] == printed


def test_dry_matter_is_scaled_to_one_before_water_is_added():
    """The parts of rye add up to 89.44 in a hundred; half of the wet grain is water."""
    fractions = mass_fractions(RYE, 0.5)

    assert fractions["water"] == 0.5
    assert fractions["protein"] == pytest.approx(0.5 * 10.34 / 89.44, rel=1e-12)
    assert fractions["fiber"] == pytest.approx(0.5 * 15.1 / 89.44, rel=1e-12)


@pytest.mark.parametrize(
    ("what", "expected", "tolerance"),
    [
        ("density_kg_m3", 983.2, 0.001),
        ("conductivity_parallel_w_mk", 0.6507, 0.004),
        ("specific_heat_j_kg_k", 4185.0, 0.011),
    ],
)
def test_pure_water_is_water(what, expected, tolerance):
    """Against steam tables at 60 °C (from memory); the specific heat is known to be 1 % low."""
    assert getattr(kernel_properties(RYE, 1.0, 60.0), what) == pytest.approx(
        expected, rel=tolerance
    )


moistures, temperatures = st.floats(0.0, 1.0), st.floats(0.0, 150.0)


@given(moistures, temperatures)
def test_series_is_never_above_parallel(moisture, temperature):
    """Holds for any mixture, so a slip in one of the two shows."""
    found = kernel_properties(RYE, moisture, temperature)

    assert found.conductivity_series_w_mk <= found.conductivity_parallel_w_mk * (1 + 1e-12)
    assert found.diffusivity_series_m2_s <= found.diffusivity_parallel_m2_s * (1 + 1e-12)


@given(moistures, temperatures)
def test_fractions_add_up_and_bracket(moisture, temperature):
    """A mixture is neither lighter than its lightest part nor denser than its densest."""
    assert sum(mass_fractions(RYE, moisture).values()) == pytest.approx(1.0, rel=1e-12)
    assert 800.0 < kernel_properties(RYE, moisture, temperature).density_kg_m3 < 1700.0


def test_wetter_grain_holds_more_heat():
    """Water has the highest specific heat of the six."""
    heats = specific_heat_j_kg_k(RYE, np.linspace(0.0, 1.0, 11), 80.0)

    assert np.all(np.diff(heats) > 0)


@pytest.mark.parametrize(
    ("moisture", "temperature", "message"),
    [(-0.1, 60.0, "Moisture is -0.1"), (1.1, 60.0, "Moisture is 1.1"),
     (0.5, -1.0, "Temperature is -1 °C"), (0.5, 151.0, "Temperature is 151 °C"),
     (float("nan"), 60.0, "Moisture is nan")],
)  # fmt: skip
def test_outside_the_range(moisture, temperature, message):
    """Below zero the water's equation is another one; above 150 °C none is given."""
    with pytest.raises(OutOfRange, match=message):
        kernel_properties(RYE, moisture, temperature)
