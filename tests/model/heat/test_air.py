"""The standard atmosphere against its own table."""

from __future__ import annotations

import numpy as np
import pytest

from spawnwright.errors import OutOfRange
from spawnwright.model.heat.air import elevation_of_pressure_m, standard_pressure_pa
from tests.published import half_last_digit, rows

_EARTH_RADIUS_M = 6_356_766.0  # USSA1976, to turn surveyed heights into geopotential ones


@pytest.mark.parametrize(
    "row", rows("ussa1976_geometric"), ids=lambda row: f"{row['altitude_m']} m"
)
def test_pressure_agrees_with_the_printed_table(row):
    """The table is by surveyed height; the model takes geopotential height."""
    surveyed = float(row["altitude_m"])
    computed = standard_pressure_pa(_EARTH_RADIUS_M * surveyed / (_EARTH_RADIUS_M + surveyed))

    printed = row["pressure_pa"]
    assert computed == pytest.approx(float(printed), rel=0, abs=half_last_digit(printed))


def test_surveyed_height_taken_as_geopotential_errs_little_and_to_the_cool_side():
    """What the docstring promises: too low, by less than 20 Pa, up to 3500 m."""
    surveyed = np.linspace(1.0, 3500.0, 50)
    truth = standard_pressure_pa(_EARTH_RADIUS_M * surveyed / (_EARTH_RADIUS_M + surveyed))

    error = standard_pressure_pa(surveyed) - truth
    assert np.all(error < 0)
    assert np.all(error > -20.0)


def test_elevation_of_pressure_is_the_inverse():
    """Both ways through the same formula, over the whole range."""
    elevations = np.linspace(-430.0, 9000.0, 101)

    np.testing.assert_allclose(
        elevation_of_pressure_m(standard_pressure_pa(elevations)), elevations, rtol=0, atol=1e-6
    )


@pytest.mark.parametrize("elevation_m", [-431.0, 9001.0, float("nan"), float("inf")])
def test_no_such_elevation(elevation_m):
    """Nobody cooks there, or it is no number."""
    with pytest.raises(OutOfRange, match=r"this holds from -430 to 9000 m"):
        standard_pressure_pa(elevation_m)


def test_no_elevation_has_that_pressure():
    """Kilopascals for pascals, say."""
    with pytest.raises(OutOfRange, match="Air pressure is 101"):
        elevation_of_pressure_m(101.3)
