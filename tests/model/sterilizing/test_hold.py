"""The hold: averaged chances, the least hold, water, and reading between solved holds."""

import numpy as np
import pytest

from spawnwright.model.sterilizing.hold import (
    customary_hold_s,
    least_hold_s,
    longest_hold_by_water_s,
    mean_chance,
)
from spawnwright.model.sterilizing.hold_table import HoldTable, between
from spawnwright.model.sterilizing.survival import chance_of_survivor

HOLDS = np.array([1800.0, 3600.0, 5400.0, 7200.0])


def table(lethality):
    """A table whose every lethality is the same."""
    return HoldTable(HOLDS, lethality, lethality, lethality, lethality, lethality)


def test_one_scenario_has_the_chance_of_its_own_spores():
    """Limiting case: with nothing to average it is 1 - exp(-N 10^(-F/D))."""
    one = mean_chance(
        np.array([[3.0, 6.0]]), np.array([0.8]), np.array([2.0]), np.array([0.25])
    )  # fmt: skip

    assert one == pytest.approx(chance_of_survivor(np.array([3.0, 6.0]), 0.8, 25_000.0))


def test_heat_is_paired_with_every_kind_of_spore():
    """Two heats and two spores, independent: the mean over all four pairs."""
    d, count, grain = np.array([0.5, 2.0]), np.array([1.0, 3.0]), np.array([0.2, 0.2])
    own = np.array([[2.0], [8.0]])

    pairs = [
        float(chance_of_survivor(f, each_d, 200 * 10**each_count))
        for f in (2.0, 8.0)
        for each_d, each_count in zip(d, count, strict=True)
    ]

    assert mean_chance(own, d, count, grain)[0] == pytest.approx(np.mean(pairs))


def test_weights_count_scenarios_as_often_as_they_say():
    """Weight 3 is three times the same scenario."""
    own, d = np.array([[1.0], [4.0]]), np.array([0.5, 0.5])
    count, grain = np.array([2.0, 2.0]), np.array([0.2, 0.2])

    weighted = mean_chance(own, d, count, grain, np.array([3.0, 1.0]))
    repeated = mean_chance(own[[0, 0, 0, 1]], d[[0] * 4], count[[0] * 4], grain[[0] * 4])

    assert weighted == pytest.approx(repeated)


def falling(hold_s):
    """A chance that falls tenfold every 20 minutes, and is 1 in 10 at 30."""
    return 0.1 * 10 ** (-(hold_s / 60 - 30) / 20)


def test_the_least_hold_is_where_the_chance_meets_the_target():
    """1 in 100 after 50 minutes, to the second."""
    least = least_hold_s(falling, HOLDS, falling(HOLDS), 0.01, 9000.0)

    assert least == pytest.approx(3000.0, abs=1.0)


@pytest.mark.parametrize(
    ("target", "longest"), [(1e-9, 9000.0), (0.01, 2900.0)], ids=["too hard", "no water"]
)
def test_no_hold_is_advised_that_is_not_enough_or_boils_dry(target, longest):
    """Null is an answer: past this it is not minutes that are missing."""
    assert least_hold_s(falling, HOLDS, falling(HOLDS), target, longest) is None


def test_a_target_met_at_once_asks_for_the_first_hold():
    """Below the shortest solved hold nothing is claimed."""
    assert least_hold_s(falling, HOLDS, falling(HOLDS), 0.5, 9000.0) == 1800.0


def test_reading_between_holds_never_says_more_than_the_curve():
    """Lethality bends down in its logarithm; a line between two holds stays below it."""
    minutes = HOLDS / 60
    true = np.maximum(minutes - 20, 0) ** 1.5 / 10
    read = table(true[None, :]).at(4500.0).f0_total_min[0, 0]

    assert read <= (4500 / 60 - 20) ** 1.5 / 10
    assert read == pytest.approx((4500 / 60 - 20) ** 1.5 / 10, rel=0.06)


def test_reading_at_a_solved_hold_gives_what_was_solved():
    """Also at both ends; beyond them, the end's."""
    solved = table(np.array([[1.0, 5.0, 20.0, 40.0]]))

    for hold, value in zip(HOLDS, (1.0, 5.0, 20.0, 40.0), strict=True):
        assert solved.at(float(hold)).f0_total_min[0, 0] == pytest.approx(value)
    assert between(HOLDS, np.array([[1.0, 5.0, 20.0, 40.0]]), 1e5)[0, 0] == 40.0


def test_the_longest_hold_uses_all_water_but_the_reserve():
    """3 L less 0.5 L reserve and 0.3 L vented, at 0.5 L an hour: 4.4 hours."""
    longest = longest_hold_by_water_s(np.array([0.3]), np.array([0.5 / 3600]), 3.0)

    assert longest == pytest.approx(4.4 * 3600)
    assert longest_hold_by_water_s(np.array([0.3]), np.array([0.5 / 3600]), 0.7) == 0.0


@pytest.mark.parametrize(
    ("volume_l", "minutes"),
    [(0.237, (60, 90)), (0.473, (60, 90)), (0.946, (90, 90)), (1.893, (120, 150))],
)
def test_customary_minutes_by_size(volume_l, minutes):
    """Common practice, no source: pint 60 to 90, quart 90, half-gallon 120 to 150."""
    low, high = customary_hold_s(volume_l / 1000)

    assert (low / 60, high / 60) == minutes
