"""Scenarios: draws that spread evenly, bands from them, and what makes a band wide.

Expected values are exact: quantiles of the named distributions (NIST/SEMATECH e-Handbook of
Statistical Methods, section 1.3.6, from memory) and limiting cases.
"""

from __future__ import annotations

from math import exp, log, sqrt
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import ndtri

from spawnwright.errors import Unusable
from spawnwright.model.scenarios import (
    Input,
    band,
    draw,
    lognormal_about,
    unit_cube,
    widest,
)
from spawnwright.records.band import Band
from spawnwright.sources import COMMON, Constant, Estimate

COUNT = 2000
SHARES = np.array([0.05, 0.25, 0.5, 0.75, 0.95])


def made(shape, likely, low, high, **more):
    return Input("an input", shape, likely, low, high, "m", "a test", **more)


@pytest.mark.parametrize(
    ("shape", "likely", "low", "high"),
    [
        ("normal", 10.0, 8.0, 12.0),
        ("normal", 10.0, 9.0, 14.0),
        ("lognormal", 10.0, 5.0, 20.0),
        ("lognormal", 10.0, 8.0, 40.0),
        ("uniform", 10.0, 8.0, 12.0),
    ],
)
def test_low_likely_and_high_are_the_percentiles_that_they_say(shape, likely, low, high):
    """5th, 50th and 95th, also where one side is wider than the other."""
    values = made(shape, likely, low, high).at(np.array([0.05, 0.5, 0.95]))

    assert values == pytest.approx([low, likely, high], rel=1e-12)


def test_a_normal_input_has_normal_quantiles():
    """Against the standard library's own normal distribution."""
    sigma = 1.5
    spread = NormalDist().inv_cdf(0.95) * sigma

    values = made("normal", 7.0, 7.0 - spread, 7.0 + spread).at(SHARES)

    assert values == pytest.approx([NormalDist(7.0, sigma).inv_cdf(x) for x in SHARES], rel=1e-12)


def test_a_lognormal_input_is_stated_by_its_median_and_factor():
    """One standard deviation is a factor of three: 84 % lie below three times the median."""
    stated = lognormal_about("D", 0.5, 3.0, "min", "a test")
    one_sd = NormalDist().cdf(1.0)

    assert stated.at(np.array([1 - one_sd, 0.5, one_sd])) == pytest.approx([0.5 / 3, 0.5, 1.5])


def test_a_triangular_input_has_its_ends_and_its_peak():
    """The share below the peak is its place between the ends."""
    triangle = made("triangular", 3.0, 1.0, 9.0)

    assert triangle.at(np.array([0.0, 0.25, 1.0])) == pytest.approx([1.0, 3.0, 9.0])
    assert triangle.at(np.array([0.5])) == pytest.approx([9 - sqrt(0.5 * 8 * 6)])


def test_a_choice_comes_as_often_as_it_weighs():
    """Three options, weights 1, 2, 1."""
    chosen = made("choice", 2.0, 1.0, 3.0, options=(1.0, 2.0, 3.0), weights=(1.0, 2.0, 1.0))

    values = chosen.at((np.arange(1000) + 0.5) / 1000)

    assert [int((values == option).sum()) for option in (1, 2, 3)] == [250, 500, 250]
    assert chosen.at(np.array([0.0, 1.0])) == pytest.approx([1.0, 3.0])


def test_a_cut_moves_a_draw_to_the_limit():
    """As z of spores is held to 6 to 12."""
    cut = made("normal", 8.0, 6.0, 10.0, cut=(6.5, 9.0))

    values = cut.at(np.linspace(0.001, 0.999, 999))

    assert (values.min(), values.max()) == (6.5, 9.0)


def test_an_unknown_shape_is_refused():
    """A slip of the pen is no distribution."""
    with pytest.raises(Unusable, match="'norml'"):
        made("norml", 1.0, 0.5, 2.0).at(np.array([0.5]))


def test_a_known_input_has_one_value():
    """Given, or held at its likely value."""
    fixed = Input.fixed("elevation", 1500.0, "m")

    assert fixed.at(SHARES).tolist() == [1500.0] * 5
    assert made("normal", 10.0, 8.0, 12.0).held().at(SHARES).tolist() == [10.0] * 5


def test_an_input_of_a_sourced_number_has_its_spread_and_names_its_source():
    """An estimate brings its spread; a constant is taken as known."""
    estimate = Estimate(2.0, "d", low=1.0, high=3.0, source=COMMON, where="a test")
    constant = Constant(2.0, "d", source=COMMON, where="a test")

    uncertain, known = Input.of("lag", estimate), Input.of("lag", constant)

    assert (uncertain.shape, uncertain.low, uncertain.likely, uncertain.high) == (
        "normal", 1.0, 2.0, 3.0,
    )  # fmt: skip
    assert known.shape == "fixed"
    assert COMMON in uncertain.source


@pytest.mark.parametrize("dimensions", [1, 2, 5, 16])
def test_draws_are_even_in_each_input_and_uncorrelated_between_them(dimensions):
    """Each of 2,000 equal slices is met once; columns are uncorrelated as normal scores.

    Independent draws would be correlated by up to 0.06 in one of 120 pairs.
    """
    cube = unit_cube(COUNT, dimensions)

    middles = (np.arange(COUNT) + 0.5) / COUNT
    correlations = np.corrcoef(ndtri(cube), rowvar=False) - np.eye(dimensions)
    assert cube.shape == (COUNT, dimensions)
    assert all(np.array_equal(np.sort(column), middles) for column in cube.T)
    assert np.abs(correlations).max() < 0.001


def test_the_same_question_gets_the_same_answer():
    """An answer never changes by luck; another seed gives other draws."""
    assert np.array_equal(unit_cube(100, 3), unit_cube(100, 3))
    assert not np.array_equal(unit_cube(100, 3), unit_cube(100, 3, seed=21))


@given(count=st.integers(1, 60), dimensions=st.integers(1, 40))
def test_few_draws_of_many_inputs_still_work(count, dimensions):
    """No question is too small."""
    cube = unit_cube(count, dimensions)

    assert cube.shape == (count, dimensions)
    assert ((cube > 0) & (cube < 1)).all()


def test_the_band_of_a_sum_agrees_with_the_exact_one():
    """Sum of 16 normal inputs is normal; ends to 5 % of the width, as the module's head says."""
    inputs = [
        Input(f"x{place}", "normal", 1.0, 1.0 - (1 + place) / 10, 1.0 + (1 + place) / 10, "", "")
        for place in range(16)
    ]

    found = band(sum(draw(inputs, COUNT).values()))

    half = sqrt(sum(((1 + place) / 10) ** 2 for place in range(16)))
    assert found.low == pytest.approx(16 - half, abs=0.05 * 2 * half)
    assert found.likely == pytest.approx(16, abs=0.02 * 2 * half)
    assert found.high == pytest.approx(16 + half, abs=0.05 * 2 * half)


def test_the_band_of_a_product_agrees_with_the_exact_one():
    """Product of lognormals is lognormal."""
    inputs = [lognormal_about(f"x{place}", 2.0, 1.5, "", "") for place in range(3)]

    values = draw(inputs, COUNT)
    found = band(values["x0"] * values["x1"] * values["x2"])

    reach = NormalDist().inv_cdf(0.95) * sqrt(3) * log(1.5)
    assert found.likely == pytest.approx(8.0, rel=0.03)
    assert found.low == pytest.approx(8.0 * exp(-reach), rel=0.05)
    assert found.high == pytest.approx(8.0 * exp(reach), rel=0.05)


def test_holding_an_input_changes_nothing_about_the_others():
    """Or the difference between two bands would be partly luck."""
    inputs = [made("normal", 1.0, 0.5, 1.5), Input("other", "uniform", 2.0, 1.0, 3.0, "", "")]

    full, held = draw(inputs, 50), draw([inputs[0].held(), inputs[1]], 50)

    assert np.array_equal(full["other"], held["other"])


def test_the_widest_cause_is_the_one_whose_knowledge_narrows_most():
    """Of two normal inputs in a sum, the wider one; what is left is the other's own width."""
    wide = Input("wide", "normal", 0.0, -3.0, 3.0, "", "", narrow_with="weigh it")
    narrow = Input("narrow", "normal", 0.0, -1.0, 1.0, "", "")

    cause, left = widest([narrow, wide], lambda x: x["wide"] + x["narrow"], COUNT)

    assert cause is wide
    assert left["wide"] == pytest.approx(1 / sqrt(10), rel=0.05)
    assert left["narrow"] == pytest.approx(3 / sqrt(10), rel=0.05)


def test_nothing_is_widest_where_nothing_is_uncertain():
    """All given, or a result that no input moves."""
    assert widest([Input.fixed("x", 1.0, "")], lambda x: x["x"], 10) == (None, {})
    assert widest([made("normal", 1.0, 0.5, 1.5)], lambda _: np.ones(10), 10) == (None, {})


def test_explain_lists_what_a_band_is_drawn_from():
    """The keys of `inputs` in JSON."""
    shown = made("normal", 10.0, 8.0, 12.0).as_dict()

    assert shown == {
        "name": "an input", "shape": "normal", "low": 8.0, "likely": 10.0, "high": 12.0,
        "unit": "m", "source": "a test",
    }  # fmt: skip


def test_a_band_rises_or_does_not_exist():
    """Its ends are percentiles of one distribution."""
    assert Band(1.0, 2.0, 4.0).width == 3.0
    assert Band(1.0, 2.0, 4.0).times(2.0) == Band(2.0, 4.0, 8.0)
    assert Band.exactly(3.0).width == 0.0
    with pytest.raises(Unusable, match="must rise"):
        Band(2.0, 1.0, 3.0)
