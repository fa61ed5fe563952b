"""The vessel's curve: the reference cycle as defined, and the balance's on shared instants."""

import numpy as np
import pytest

from spawnwright.errors import Unusable
from spawnwright.model.canner.vessel import heat_up
from spawnwright.model.heat.cycle import (
    cycle_of,
    hold_knots_s,
    reference_cooling_c,
    reference_cycle,
    step_cycle,
)
from tests.model.canner.test_vessel import loaded


def at(cycle, minutes, row=0):
    return np.interp(60 * minutes, cycle.time_s, cycle.vessel_c[row])


def test_the_reference_cycle_is_as_defined():
    """15 min linear to boiling, 10 there, 5 linear to pressure; time zero is pressure reached."""
    cycle = reference_cycle(
        np.array([20.0]), np.array([99.97]), np.array([120.95]), np.array([5400.0])
    )

    assert cycle.time_s[0] == -1800.0
    assert cycle.time_s[-1] == 5400.0
    for minutes, temperature in (
        (-30, 20.0), (-22.5, 59.985), (-15, 99.97), (-10, 99.97), (-5, 99.97), (-2.5, 110.46),
        (0, 120.95), (45, 120.95), (90, 120.95),
    ):  # fmt: skip
        assert at(cycle, minutes) == pytest.approx(temperature, abs=1e-6)


def test_the_reference_cooling_is_as_defined():
    """Toward 25 °C with a time constant of 142 min."""
    cooling = reference_cooling_c(np.array([120.95]), np.array([0.0, 142 * 60.0]))

    assert cooling[0] == pytest.approx([120.95, 25 + 95.95 / np.e])


def test_the_balance_s_curve_keeps_its_corners():
    """On shared instants: the start, the boiling plateau, pressure at zero."""
    heating = heat_up(*loaded())
    cycle = cycle_of(heating, np.array([120.95]), np.array([5400.0]))

    jet = float(heating.to_jet_s[0] - heating.come_up_s[0]) / 60
    assert cycle.time_s[0] == pytest.approx(-float(heating.come_up_s[0]))
    assert at(cycle, cycle.time_s[0] / 60) == pytest.approx(20.0)
    assert at(cycle, jet + 5) == pytest.approx(99.97, abs=0.05)
    assert at(cycle, 0) == pytest.approx(120.95)


def test_a_slower_scenario_only_starts_earlier():
    """Before its burner is lit, the quicker one stands at its start."""
    vessel, draw = loaded()
    slow, _ = loaded(power_w=900.0)
    both = type(vessel)(
        *(np.concatenate([getattr(vessel, name), getattr(slow, name)]) for name in vars(vessel))
    )
    two = type(draw)(
        np.repeat(draw.capacity_j_k, 2), np.repeat(draw.rate_m2, 2, axis=0), draw.weight,
        type(draw.diffusivity_m2_s)(np.repeat(draw.diffusivity_m2_s.diffusivity_m2_s, 2)),
    )  # fmt: skip

    heating = heat_up(both, two)
    cycle = cycle_of(heating, both.hold_c, np.array([3600.0]))

    before = -float(heating.come_up_s[1]) / 60 + 5
    assert at(cycle, before, row=0) == pytest.approx(20.0)
    assert at(cycle, before, row=1) > 22.0


def test_marks_are_among_the_knots_and_nothing_crowds_them():
    """An end of a hold is an instant of its own; a grid instant near it gives way."""
    marks = np.array([605.0, 5400.0, 9551.0])
    knots = hold_knots_s(marks)

    assert np.isin(marks, knots).all()
    assert np.diff(knots).min() > 15.0
    assert (knots[0], knots[-1]) == (0.0, 9551.0)


def test_a_step_without_a_hold_is_refused():
    """Nothing to count."""
    with pytest.raises(Unusable, match="longer than 0 min"):
        step_cycle(np.array([120.95]), np.array([0.0]))
