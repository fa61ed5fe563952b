"""Lethality against textbook examples, a measured run, and sums done in other ways."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.interpolate import CubicSpline, PchipInterpolator

from spawnwright.errors import Unusable
from spawnwright.model.sterilizing.lethality import (
    lethal_rate,
    lethality_curve_min,
    lethality_min,
    minutes_above,
)
from spawnwright.model.sterilizing.survival import log10_reduction
from tests.published import half_last_digit, rows


def celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32.0) * 5.0 / 9.0


F250 = celsius(250.0)


def held(steps: list[tuple[float, float, float]]) -> tuple[np.ndarray, np.ndarray]:
    """A history that jumps between held temperatures: times [s], temperatures [°C]."""
    times = [60.0 * instant for start, end, _ in steps for instant in (start, end)]
    return np.array(times), np.array([value for *_, value in steps for _ in (0, 1)])


@pytest.mark.parametrize("rule", ["exact", "trapezoid"])
def test_geankoplis_9_12_1(rule):
    """Held steps: both rules must give the book's 2.68 min (250 °F, z 18 °F)."""
    steps = [
        (float(row["from_min"]), float(row["to_min"]), celsius(float(row["temperature_f"])))
        for row in rows("geankoplis_9_12_1")
    ]

    assert lethality_min(*held(steps), F250, 10.0, rule) == pytest.approx(
        2.68, rel=0, abs=half_last_digit("2.68")
    )


def _example_2() -> tuple[np.ndarray, np.ndarray]:
    table = rows("geankoplis_9_12_2")
    minutes = np.array([float(row["time_min"]) for row in table])
    return minutes, celsius(np.array([float(row["temperature_f"]) for row in table]))


def test_geankoplis_9_12_2_lethal_rates():
    """The rates that the book prints beside its readings."""
    for row in rows("geankoplis_9_12_2")[1:]:
        printed = row["lethal_rate"]
        computed = lethal_rate(celsius(float(row["temperature_f"])), F250)

        assert computed == pytest.approx(float(printed), rel=0, abs=half_last_digit(printed))


@pytest.mark.parametrize(
    "row", rows("geankoplis_9_12_2_by_rule"), ids=lambda row: row["rule"].replace(" ", "-")
)
def test_geankoplis_9_12_2_by_four_rules(row):
    """Two rules are the model's own; the others show how far the choice of a rule matters."""
    minutes, temperatures = _example_2()
    rates = lethal_rate(temperatures, F250)
    spline = PchipInterpolator(minutes, temperatures)
    computed = {
        "trapezoid on the rate": lambda: lethality_min(
            60 * minutes, temperatures, F250, 10.0, "trapezoid"
        ),
        "cubic on the rate": lambda: CubicSpline(minutes, rates).integrate(0.0, 64.0),
        "straight lines in temperature": lambda: lethality_min(60 * minutes, temperatures, F250),
        "monotone spline in temperature": lambda: quad(
            lambda t: lethal_rate(float(spline(t)), F250), 0.0, 64.0, points=list(minutes[1:-1])
        )[0],
    }[row["rule"]]()

    printed = row["lethality_min"]
    assert computed == pytest.approx(float(printed), rel=0, abs=half_last_digit(printed))
    assert computed == pytest.approx(2.5, rel=0, abs=0.12)  # the book's, read off a graph


def test_earle_6_2():
    """13 held steps; the book rounds its rates, so its 2.64 is met to 1 % only."""
    start, steps = 0.0, []
    for row in rows("earle_6_2"):
        steps.append((start, start + float(row["held_min"]), float(row["temperature_c"])))
        start = steps[-1][1]
    times, temperatures = held(steps)

    assert lethality_min(times, temperatures, 121.0) == pytest.approx(2.657, rel=0, abs=0.0005)
    assert lethality_min(times, temperatures, 121.0) == pytest.approx(2.64, rel=0.01)
    assert lethality_min(times, temperatures) == pytest.approx(2.590, rel=0, abs=0.0005)


@pytest.mark.parametrize(
    ("minutes", "temperature_c", "expected"), [(15, 111.0, "1.5"), (15, 124.0, "29.9")]
)
def test_constant_temperature(minutes, temperature_c, expected):
    """Fifteen minutes at 111 and at 124 °C, reference 121 °C, from a published note on F0."""
    computed = lethality_min(np.array([0.0, 60.0 * minutes]), np.array([temperature_c] * 2), 121.0)

    assert computed == pytest.approx(float(expected), rel=0, abs=half_last_digit(expected))


def _laterosporus() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    table = rows("garre2017_laterosporus_dynamic")
    columns = ("time_min", "temperature_c", "log10_count")
    minutes, temperatures, counts = (
        np.array([float(row[name]) for row in table]) for name in columns
    )
    return 60 * minutes, temperatures, counts


def test_laterosporus_predicted_and_measured():
    """A run with counted survivors: 3.49 predicted from isothermal counts, 3.66 measured."""
    times, temperatures, counts = _laterosporus()
    predicted = log10_reduction(float(lethality_min(times, temperatures, z_c=8.2)), 3.59)
    measured = np.mean(counts[:3]) - counts[-1]

    assert predicted == pytest.approx(3.49, rel=0, abs=half_last_digit("3.49"))
    assert measured == pytest.approx(3.66, rel=0, abs=half_last_digit("3.66"))
    assert abs(predicted - measured) < 0.37  # the isothermal counts scatter by as much


def test_laterosporus_f0():
    """The same run as F0, z 10 °C, reckoned apart from this program."""
    times, temperatures, _ = _laterosporus()

    assert lethality_min(times, temperatures) == pytest.approx(11.85, rel=0, abs=0.005)


readings = st.lists(
    st.tuples(st.floats(0.1, 600.0), st.floats(0.0, 140.0)), min_size=2, max_size=12
)


def _history(steps: list[tuple[float, float]]) -> tuple[np.ndarray, np.ndarray]:
    return np.cumsum([step for step, _ in steps]), np.array([value for _, value in steps])


@given(readings, st.floats(5.0, 20.0))
def test_exact_equals_a_fine_trapezoid(steps, z):
    """The closed form against brute force on the same straight lines.

    A trapezoid over a step of d degrees errs by (d ln 10 / z)² / 12: here by less than 0.06 %.
    """
    times, temperatures = _history(steps)
    fine = np.unique(np.concatenate([np.linspace(*pair, 800) for pair in pairwise(times)]))
    by_force = lethality_min(fine, np.interp(fine, times, temperatures), z_c=z, rule="trapezoid")

    assert lethality_min(times, temperatures, z_c=z) == pytest.approx(by_force, rel=6e-4)


@given(readings, st.floats(5.0, 20.0))
def test_trapezoid_is_never_less_than_exact(steps, z):
    """The rate is convex in temperature: the chord lies above it."""
    history = _history(steps)
    exact = lethality_min(*history, z_c=z)

    assert lethality_min(*history, z_c=z, rule="trapezoid") >= exact * (1 - 1e-12)


@given(
    readings, st.floats(0.0, 10.0), st.floats(5.0, 20.0), st.sampled_from(["exact", "trapezoid"])
)
def test_hotter_is_never_less_lethal(steps, warmer, z, rule):
    """At every instant, not only at the end."""
    times, temperatures = _history(steps)
    cool = lethality_curve_min(times, temperatures, z_c=z, rule=rule)
    hot = lethality_curve_min(times, temperatures + warmer, z_c=z, rule=rule)

    assert np.all(hot >= cool * (1 - 1e-12))
    assert np.all(np.diff(cool) >= 0)


@pytest.mark.parametrize("difference", [1e-300, 1e-15, 1e-12, 1e-9, 1e-6, 1e-3])
def test_a_slope_that_vanishes_keeps_its_digits(difference):
    """A naive (b - a) / ln(b / a) loses all of them below 1e-9."""
    computed = lethality_min(np.array([0.0, 60.0]), np.array([121.11, 121.11 + difference]))
    expected = 1.0 + 0.5 * difference * np.log(10) / 10

    assert computed == pytest.approx(expected, rel=1e-7 if difference == 1e-3 else 1e-13)


def test_leading_axes_and_own_z():
    """Two histories, each with its own z, come out as if reckoned one by one."""
    times = np.array([0.0, 300.0, 900.0])
    histories, z = np.array([[20.0, 100.0, 121.0], [95.0, 118.0, 90.0]]), np.array([8.0, 12.0])
    together = lethality_curve_min(times, histories, z_c=z)
    one_history = lethality_curve_min(times, histories[0], z_c=z)

    assert together.shape == one_history.shape == (2, 3)
    for place in (0, 1):
        alone = lethality_curve_min(times, histories[place], z_c=float(z[place]))
        np.testing.assert_allclose(together[place], alone, rtol=1e-14)
    np.testing.assert_allclose(one_history[0], together[0], rtol=1e-14)


def test_minutes_above_crosses_on_the_straight_line():
    """Up through 120 at a half, down through it at a quarter."""
    times, temperatures = np.array([0.0, 60.0, 120.0]), np.array([119.0, 121.0, 117.0])

    assert minutes_above(times, temperatures, 120.0) == pytest.approx(0.75, rel=1e-14)
    assert minutes_above(times, temperatures, 121.5) == 0.0
    assert minutes_above(times, temperatures, 110.0) == pytest.approx(2.0)


def test_a_temperature_held_at_the_threshold_counts():
    """Held at 121.11 °C exactly is at the reference."""
    assert minutes_above(np.array([0.0, 600.0]), np.array([121.11, 121.11]), 121.11) == 10.0


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        (lambda: lethality_min(np.array([0.0, 1.0]), np.array([1.0])), "same length"),
        (lambda: lethality_min(np.array([]), np.array([])), "no readings"),
        (lambda: lethality_min(np.array([1.0, 0.0]), np.array([1.0, 1.0])), "must not fall"),
        (lambda: lethality_min(np.array([0.0, np.nan]), np.array([1.0, 1.0])), "must not fall"),
        (lambda: lethal_rate(100.0, z_c=0.0), "above zero"),
        (
            lambda: lethality_min(np.arange(2.0), np.arange(2.0), rule="simpson"),
            "no rule 'simpson'",
        ),
    ],
)
def test_histories_that_are_none(wrong, message):
    """Each says what is wrong."""
    with pytest.raises(Unusable, match=message):
        wrong()
