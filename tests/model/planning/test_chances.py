"""The chance of a batch: jars, runs and culture, and whether it is ready in time."""

from math import comb, exp, log, sqrt

import pytest

from spawnwright.model.planning.chances import (
    LossShares,
    after_clean_test,
    chance_by,
    chance_of_enough_good,
    most_spoiled_after_clean,
    plus_days,
)
from spawnwright.model.planning.spares import chance_of_enough


def losses(jar: float, run: float, run_kill: float, culture: float) -> LossShares:
    return LossShares(jar, run, run_kill, culture)


def test_even_runs_and_a_sound_culture_are_the_same_as_the_chance_of_spares():
    for jars, runs in ((14, 2), (21, 3), (12, 1)):
        mine = chance_of_enough_good([jars // runs] * runs, 10, losses(0.05, 0.08, 0.7, 0.0))

        assert mine == pytest.approx(chance_of_enough(jars, 10, 0.95, runs, 0.08, 0.7), abs=1e-12)


def test_uneven_runs_against_every_outcome_counted():
    sizes, wanted, (jar, run, kill, culture) = (3, 5), 6, (0.1, 0.2, 0.6, 0.05)

    def exactly(size: int, good: int) -> float:
        sound, bad = 1 - jar, (1 - jar) * (1 - kill)
        return sum(
            weight * comb(size, good) * share**good * (1 - share) ** (size - good)
            for weight, share in ((1 - run, sound), (run, bad))
        )

    expected = (1 - culture) * sum(
        exactly(3, a) * exactly(5, b) for a in range(4) for b in range(6) if a + b >= wanted
    )
    assert chance_of_enough_good(sizes, wanted, losses(jar, run, kill, culture)) == pytest.approx(
        expected, abs=1e-12
    )


def test_a_bad_culture_is_a_ceiling_that_no_number_of_jars_lifts():
    many = chance_of_enough_good([7] * 9, 5, losses(0.05, 0.08, 0.7, 0.05))

    assert many == pytest.approx(0.95, abs=1e-6)


def test_one_clean_control_of_one_proves_little():
    """Bayes by hand: 0.08 × 0.3 / (0.08 × 0.3 + 0.92); and 1 - 0.05 for one of one."""
    assert after_clean_test(0.08, 0.7) == pytest.approx(0.024 / 0.944)
    assert most_spoiled_after_clean(1) == pytest.approx(0.95)
    assert most_spoiled_after_clean(300) == pytest.approx(3 / 300, rel=0.01)


def test_the_chance_of_a_day_is_read_between_the_percentiles():
    days = [float(each) for each in range(1, 100)]

    assert chance_by(0.5, days) == 0.0
    assert chance_by(50.5, days) == pytest.approx(0.505)
    assert chance_by(1000.0, days) == 0.99
    assert chance_by(1000.0, [*days[:60], *([float("inf")] * 39)]) == pytest.approx(0.60)
    assert chance_by(1000.0, [float("inf")] * 99) == 0.0


def test_two_lognormal_times_add_up_like_a_sum_counted_by_chances():
    """The variance of a sum of independent times is the sum of theirs; the mean likewise."""
    one = plus_days([0.0] * 99, 20.0, 20.0 * exp(-0.3), 20.0 * exp(0.3))
    both = plus_days(one.tolist(), 30.0, 30.0 * exp(-0.2), 30.0 * exp(0.2))
    mean = 20 * exp((0.3 / 1.645) ** 2 / 2) + 30 * exp((0.2 / 1.645) ** 2 / 2)
    spread = sqrt((20 * 0.3 / 1.645) ** 2 + (30 * 0.2 / 1.645) ** 2)

    assert one[4] == pytest.approx(20 * exp(-0.3), rel=1e-3)
    assert one[94] == pytest.approx(20 * exp(0.3), rel=1e-3)
    assert both.mean() == pytest.approx(mean, rel=0.005)
    assert both[94] - both[4] == pytest.approx(2 * 1.645 * spread, rel=0.06)
    assert log(both[49] / 50) == pytest.approx(0, abs=0.01)
