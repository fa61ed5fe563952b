"""The burner by two liters of water: the heat that warmed them, and what it does to a run."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from spawnwright.errors import OutOfRange
from spawnwright.model.canner.burner import (
    POT_J_K,
    STEAM_W,
    TO_ROOM_W,
    heat_into_pot_w,
    share_into_pot,
)
from spawnwright.model.canner.run_inputs import run_inputs, words
from spawnwright.model.canner.sterilizer_run import runs
from spawnwright.model.canner.vessel import heat_up
from spawnwright.model.scenarios import draw
from tests.model.questions import question


def minutes_of(power_w: float, start_c: float, boils_at_c: float, steam_w: float) -> float:
    """The pot followed in small steps: water and metal warmed by what is left over."""
    temperature, seconds, step = start_c, 0.0, 0.05
    capacity = 2.0 * 4186.0 + POT_J_K
    while temperature < boils_at_c:
        warmer = (temperature - 20.0) / ((start_c + boils_at_c) / 2 - 20.0)
        temperature += (power_w - TO_ROOM_W * warmer - steam_w) * step / capacity
        seconds += step
    return seconds / 60


@pytest.mark.parametrize("power_w", [500.0, 1000.0, 1800.0])
@pytest.mark.parametrize(
    ("lid", "start_c", "boils_at_c"), [("on", 15.0, 100.0), ("off", 8.0, 95.0)]
)
def test_the_power_of_a_followed_pot_is_found_again(power_w, lid, start_c, boils_at_c):
    """The other way round, by small steps; a wider bottom adds 3 %, skewed losses some."""
    minutes = minutes_of(power_w, start_c, boils_at_c, STEAM_W[lid])

    found = heat_into_pot_w(60 * minutes, start_c, boils_at_c, lid)

    assert found / 1.03 == pytest.approx(power_w, rel=0.025)
    assert found.low < power_w < found.high


def test_water_alone_is_the_least_that_the_burner_brought():
    """By hand, m c ΔT / t: 2 kg · 4.186 kJ/(kg K) · 85 K in 9 min is 1318 W."""
    found = heat_into_pot_w(540.0, 15.0, 100.0, "on")

    assert 1318.0 < found < 1318.0 * 1.2
    assert 0.85 < found.low / found < found.high / found < 1.2


@pytest.mark.parametrize(
    ("other", "sign"),
    [
        ((600.0, 15.0, 100.0, "on"), -1),
        ((540.0, 5.0, 100.0, "on"), 1),
        ((540.0, 15.0, 95.0, "on"), -1),
        ((540.0, 15.0, 100.0, "off"), 1),
    ],
    ids=["slower", "colder", "higher up", "lid off"],
)
def test_each_thing_that_is_said_moves_the_power_the_right_way(other, sign):
    """Slower is weaker; colder water, or steam that left, took more heat."""
    found = heat_into_pot_w(540.0, 15.0, 100.0, "on")

    assert sign * (heat_into_pot_w(*other) - found) > 0


def test_a_lid_not_mentioned_makes_the_band_wider():
    """What is not said is uncertain."""
    said, unsaid = (heat_into_pot_w(540.0, 15.0, 100.0, lid) for lid in ("on", None))

    assert unsaid.high - unsaid.low > said.high - said.low


@pytest.mark.parametrize(("time_s", "start_c"), [(60.0, 15.0), (540.0, 90.0)])
def test_what_no_burner_does_is_refused(time_s, start_c):
    """Two liters in a minute is 12 kW; a rise of ten degrees tells nothing."""
    with pytest.raises(OutOfRange):
        heat_into_pot_w(time_s, start_c, 100.0)


def test_a_measured_burner_takes_the_place_of_the_guessed_one():
    """The power is the measured band's, and no other input is drawn differently."""
    asked = question()
    own = replace(asked, pot_w=heat_into_pot_w(540.0, 15.0, 100.0, "on"))
    guessed, known = (draw(run_inputs(each), 500) for each in (asked, own))

    powers = runs(own, known).vessel.power_w

    assert np.median(powers) == pytest.approx(own.pot_w, rel=0.01)
    assert np.percentile(powers, 5) == pytest.approx(own.pot_w.low, rel=0.02)
    assert set(guessed) ^ set(known) == {"burner_w", "pot_w"}
    same = set(guessed) & set(known)
    assert all(np.array_equal(guessed[name], known[name]) for name in same)


def test_more_heat_into_the_pot_brings_it_to_pressure_sooner():
    """And it is said in words."""
    slow, quick = (
        replace(question(), pot_w=heat_into_pot_w(seconds, 15.0, 100.0, "on"))
        for seconds in (700.0, 500.0)
    )
    minutes = [
        float(np.median(heat_up(every.vessel, every.draw).come_up_s)) / 60
        for every in (runs(asked, draw(run_inputs(asked), 200)) for asked in (slow, quick))
    ]

    assert minutes[1] < minutes[0] - 5
    assert "pot" in words(quick, "pot_w")


def test_gas_and_electricity_come_from_plate_and_pot_where_both_are_known():
    """1.46 kW arrive of 3 kW: just under a half; of a 1.4 kW plate, no more than all."""
    asked = replace(question(), pot_w=heat_into_pot_w(540.0, 15.0, 100.0, "on"))
    draws = draw(run_inputs(asked), 400)

    tested, known, all_of_it = (
        share_into_pot(replace(asked, burner_w=power), draws) for power in (None, 3000.0, 1400.0)
    )

    assert np.array_equal(tested, draws["hob_efficiency"])
    assert np.median(known) == pytest.approx(asked.pot_w / 3000.0, rel=0.01)
    assert all_of_it.max() == 1.0
