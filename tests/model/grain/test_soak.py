"""Soak laws against what was published of each, and the order that any soak keeps."""

from math import exp

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from spawnwright.actions.catalogs import look_up
from spawnwright.errors import OutOfRange
from spawnwright.model.grain.soak import (
    arrhenius,
    beyond_measured,
    kernel_share,
    soak_inputs,
    soaked_moisture,
    sphere_share,
)
from spawnwright.model.scenarios import band, draw
from spawnwright.records.grain import Grain
from spawnwright.store.catalog import catalog
from tests.published import half_last_digit, rows

GRAINS = sorted(catalog(Grain, "grains").values(), key=lambda grain: grain.key)
HOUR = 3600.0
hours = st.floats(0.0, 72.0)
waters = st.floats(1.0, 60.0)


def grain(name: str) -> Grain:
    return look_up("grains", name)


@pytest.mark.parametrize("row", rows("becker1960_diffusivity"), ids=lambda row: row["water_c"])
def test_diffusivity_in_wheat_follows_beckers_equation(row):
    """D = 30 exp(-12300/RT): the catalog's value at 20 °C and energy, to the digits worked out."""
    wheat, printed = grain("wheat"), row["diffusivity_1e8_cm2_s"]

    found = wheat.soak_rate * arrhenius(wheat.soak_energy_j_mol, float(row["water_c"])) * 1e4

    assert 1e8 * found == pytest.approx(float(printed), abs=half_last_digit(printed))


@pytest.mark.parametrize(
    "row", rows("becker1960_curves"), ids=lambda row: f"{row['water_c']} °C x{row['factor']}"
)
def test_wheat_follows_beckers_curves(row):
    """Instant gain, then diffusion; worked out by hand to a tenth of a point from 0.136."""
    for hour in ("1", "4", "8", "12", "18", "24"):
        found = soaked_moisture(
            grain("wheat"), float(hour) * HOUR, float(row["water_c"]), 0.136 / 1.136,
            quickness=float(row["factor"]),
        )  # fmt: skip

        assert 100 * found == pytest.approx(float(row[hour]), abs=half_last_digit(row[hour]))


def test_barley_takes_up_water_under_its_hull_within_minutes():
    """100 g in 400 mL at 18 °C for 5 min weighed 23.16 and 23.18 %; the law was not set on it."""
    found = soaked_moisture(grain("barley-in-hull"), 300.0, 18.0, 0.12)

    assert 100 * found == pytest.approx(23.2, abs=0.4)


@pytest.mark.parametrize("row", rows("kunze_steeping"), ids=lambda row: row["water_c"])
def test_malting_barley_is_steeped_at_the_textbooks_times(row):
    """40 % after the textbook's hours; the rate is set at 21 °C, the others test the energy."""
    found = soaked_moisture(
        grain("barley-in-hull"), float(row["hours"]) * HOUR, float(row["water_c"]), 0.12
    )

    assert 100 * found == pytest.approx(float(row["moisture_percent"]), abs=0.6)


@pytest.mark.parametrize("row", rows("kashiri2010_peleg"), ids=lambda row: row["water_c"])
def test_sorghum_has_the_published_constants_of_peleg(row):
    """k1 from the slope at the start, k2 from where it ends, both at the ends of the range."""
    water, sorghum, dry = float(row["water_c"]), grain("sorghum"), 0.12
    start = dry / (1 - dry)

    def gain_percent(time_s: float) -> float:
        moisture = soaked_moisture(sorghum, time_s, water, dry)
        return 100 * (moisture / (1 - moisture) - start)

    k1, k2 = 1e-6 / gain_percent(1e-6 * HOUR), 1 / gain_percent(1e9 * HOUR)

    assert k1 == pytest.approx(float(row["k1"]), abs=half_last_digit(row["k1"]))
    assert k2 == pytest.approx(float(row["k2"]), abs=half_last_digit(row["k2"]))


@pytest.mark.parametrize(
    "row", rows("kashiri2010_curve"), ids=lambda row: f"{row['water_c']} °C {row['hours']} h"
)
def test_sorghum_follows_its_curve(row):
    """From 14.2 % dry basis, worked out by hand."""
    found = soaked_moisture(
        grain("sorghum"), float(row["hours"]) * HOUR, float(row["water_c"]), 0.142 / 1.142
    )

    printed = row["moisture_percent"]
    assert 100 * found == pytest.approx(float(printed), abs=half_last_digit(printed))


@pytest.mark.parametrize(
    "row", rows("cheevitsopon2011_diffusivity"), ids=lambda row: row["water_c"]
)
def test_diffusivity_in_brown_rice_meets_both_ends_of_the_abstract(row):
    """Set at 30 °C; at 60 °C the abstract's own energy is 1 % off its own value."""
    rice = grain("brown-rice")

    found = 1e11 * rice.soak_rate * arrhenius(rice.soak_energy_j_mol, float(row["water_c"]))

    assert found == pytest.approx(float(row["diffusivity_1e11_m2_s"]), rel=0.012)


def test_brown_rice_ends_at_28_percent():
    """Indudhara Swamy 1971: saturation of indica rice in cold water, about 28 %."""
    assert 100 * soaked_moisture(grain("brown-rice"), 48 * HOUR, 25.0, 0.12) == pytest.approx(
        28, abs=0.5
    )


@pytest.mark.parametrize(
    "row", rows("sphere_soaks"), ids=lambda row: f"{row['grain']} {row['hours']} h"
)
def test_spheres_follow_their_curves(row):
    """Popcorn and brown rice at 20 °C, worked out by hand."""
    dry = float(row["start_percent"]) / 100

    found = soaked_moisture(grain(row["grain"]), float(row["hours"]) * HOUR, 20.0, dry)

    printed = row["moisture_percent"]
    assert 100 * found == pytest.approx(float(printed), abs=half_last_digit(printed))


def test_the_sphere_is_its_whole_series():
    """Against a thousand terms of Crank's series, on both sides of the switch at 0.05."""
    numbers = np.array([0.002, 0.01, 0.049999, 0.050001, 0.1, 0.3, 1.0])
    terms = np.arange(1, 1001)[:, None]

    whole = 1 - 6 / np.pi**2 * np.sum(np.exp(-((terms * np.pi) ** 2) * numbers) / terms**2, 0)

    assert sphere_share(numbers) == pytest.approx(whole, abs=1e-7)
    assert sphere_share(0.0) == 0.0


def test_a_kernel_starts_with_the_root_of_time_and_ends_full():
    """2/√π z for thin layers whatever the shape; all of it in the end; no step at the switch."""
    assert kernel_share(1e-4) == pytest.approx(2 / np.sqrt(np.pi) * 1e-4, rel=1e-3)
    assert kernel_share(0.75) == pytest.approx(0.66, abs=0.005)
    assert kernel_share(30.0) == pytest.approx(1.0)
    assert kernel_share(1.2 + 1e-9) == pytest.approx(kernel_share(1.2), abs=1e-8)


def test_a_rate_grows_with_temperature_as_its_energy_says():
    """51.5 kJ/mol is a factor of 2 from 20 to 30 °C."""
    found = arrhenius(51463.0, 30.0)

    assert found == pytest.approx(exp(-51463 / 8.314462618 * (1 / 303.15 - 1 / 293.15)))
    assert found == pytest.approx(2.01, abs=0.01)


@pytest.mark.parametrize("each", GRAINS, ids=lambda each: each.key)
@given(st.tuples(hours, hours), waters, st.floats(0.08, 0.16))
def test_longer_is_never_drier(each, pair, water, dry):
    """For every grain; no soak at all changes nothing."""
    short, long = sorted(pair)

    before = soaked_moisture(each, short * HOUR, water, dry)
    after = soaked_moisture(each, long * HOUR, water, dry)

    assert dry - 1e-12 <= before <= after + 1e-12
    assert soaked_moisture(each, 0.0, water, dry) == pytest.approx(dry)


@pytest.mark.parametrize("each", GRAINS, ids=lambda each: each.key)
@given(hours, st.tuples(waters, waters), st.floats(0.08, 0.16))
def test_warmer_is_never_drier(each, hour, pair, dry):
    """For every grain."""
    cool, warm = sorted(pair)

    assert soaked_moisture(each, hour * HOUR, cool, dry) <= (
        soaked_moisture(each, hour * HOUR, warm, dry) + 1e-12
    )


def after_soak(each: Grain, hour: float, water: float):
    """The band of a soak from grain of exactly 12 %."""
    draws = draw(soak_inputs(each, hour * HOUR, water), 500)
    return band(
        soaked_moisture(
            each, hour * HOUR, water, 0.12,
            quickness=draws["soak quickness"],
            uptake=draws["soak uptake"],
            limit_db=draws["soak limit"],
        )
    )  # fmt: skip


@pytest.mark.parametrize("each", GRAINS, ids=lambda each: each.key)
def test_bands_keep_the_order_beyond_what_was_measured(each):
    """Widening must not let a longer or warmer soak have a drier end than a shorter one."""
    by_time = [after_soak(each, hour, 20.0) for hour in (6, 12, 24, 48, 96)]
    by_water = [after_soak(each, 12.0, water) for water in (2, 8, 15, 20, 30, 45, 60)]

    for bands in (by_time, by_water):
        for end in ("low", "likely", "high"):
            values = [getattr(one, end) for one in bands]
            assert values == sorted(values)


def test_a_guess_is_wider_than_a_measurement():
    """Rye borrows wheat's law, about 4 points either way; wheat's own is narrower."""
    rye, wheat = after_soak(grain("rye"), 24, 20.0), after_soak(grain("wheat"), 24, 20.0)

    assert rye.width > 1.3 * wheat.width
    assert 0.06 < rye.width < 0.09


def test_beyond_the_measurements_the_band_widens_and_says_so():
    """Rice was measured from 30 °C up, everything for a day or two."""
    rice, wheat = grain("brown-rice"), grain("wheat")

    drier, wetter, said = beyond_measured(rice, 12 * HOUR, 20.0)
    _, longer, _ = beyond_measured(wheat, 96 * HOUR, 20.0)

    assert (drier, wetter) == (2.0, 1.0)
    assert "30 to 60 °C, not at 20 °C" in said
    assert longer == pytest.approx(3.0)
    assert beyond_measured(wheat, 18 * HOUR, 20.0) == (1.0, 1.0, "")
    assert beyond_measured(rice, 0.0, 20.0) == (1.0, 1.0, "")


def test_ice_and_steam_are_refused():
    """Neither is a soak."""
    with pytest.raises(OutOfRange, match="Water is -1 °C"):
        soaked_moisture(grain("rye"), HOUR, -1.0, 0.12)
    with pytest.raises(OutOfRange, match="Water is 101 °C"):
        soaked_moisture(grain("rye"), HOUR, 101.0, 0.12)
