"""Roots and coefficients of slab and cylinder."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import j0, j1, jn_zeros

from spawnwright.errors import OutOfRange
from spawnwright.model.heat.eigenvalues import cylinder_modes, slab_modes
from tests.published import half_last_digit, rows

biots = st.floats(-8, 8).map(lambda power: 10.0**power)


@pytest.mark.parametrize("row", rows("incropera_5_1"), ids=lambda row: f"Bi {row['biot']}")
def test_first_roots_and_coefficients(row):
    """Table 5.1 of INCROPERA2007, to its four digits; the slab there is half of one here."""
    biot = float(row["biot"])
    whole = min(2 * biot, 1e8)

    slab, cylinder = slab_modes(whole, whole, 1), cylinder_modes(biot, 1)

    found = {
        "slab_root": slab.root[0] / 2,
        "slab_coefficient": slab.at(0.5)[0],
        "cylinder_root": cylinder.root[0],
        "cylinder_coefficient": cylinder.weight[0],
    }
    for name, value in found.items():
        assert value == pytest.approx(float(row[name]), abs=1.01 * half_last_digit(row[name])), name


@given(biots, biots)
def test_slab_roots_solve_their_condition_one_in_each_branch(bottom, top):
    """The condition tan μ (μ² − B b) = μ (B + b), multiplied out so that no pole is met."""
    root = slab_modes(bottom, top, 30).root

    wrong = (root**2 - bottom * top) * np.sin(root) - root * (bottom + top) * np.cos(root)
    scale = root**2 + bottom * top + root * (bottom + top)
    branch = np.floor(root / np.pi)
    assert np.abs(wrong / scale).max() < 1e-11
    assert branch.tolist() == list(range(30))


@given(biots)
def test_cylinder_roots_solve_their_condition_one_in_each_bracket(biot):
    """β J1(β) = Bi J0(β), between the zeros of J1 and of J0."""
    root = cylinder_modes(biot, 30).root

    wrong = root * j1(root) - biot * j0(root)
    scale = np.hypot(root, biot) * np.hypot(j0(root), j1(root))
    assert np.abs(wrong / scale).max() < 1e-11
    assert np.all(np.r_[0.0, jn_zeros(1, 29)] < root)
    assert np.all(root < jn_zeros(0, 30))


@settings(max_examples=20, deadline=None)
@given(biots, biots, st.floats(0.05, 0.95))
def test_modes_add_up_to_a_uniform_temperature(bottom, top, height):
    """The sum of all weighted modes is 1 inside, and so is the sum of their means."""
    slab, cylinder = slab_modes(bottom, top, 1000), cylinder_modes(max(bottom, 1e-6), 1000)

    # The series alternates: the mean of its last two hundred partial sums is its limit.
    assert np.cumsum(slab.at(height))[-200:].mean() == pytest.approx(1, abs=2e-3)
    assert np.cumsum(cylinder.at(height))[-200:].mean() == pytest.approx(1, abs=2e-2)
    assert slab.mean().sum() == pytest.approx(1, abs=1e-3)
    assert cylinder.mean.sum() == pytest.approx(1, abs=1e-3)


def test_modes_of_many_scenarios_are_those_of_each():
    """Vectorized over any shape."""
    bottom, top = np.array([[0.3, 40.0], [1e5, 2e-3]]), np.array([2.0, 5.0])

    slab, cylinder = slab_modes(bottom, top, 5), cylinder_modes(bottom, 5)

    for place in np.ndindex(2, 2):
        alone = slab_modes(bottom[place], top[place[1]], 5)
        assert slab.root[:, *place] == pytest.approx(alone.root, rel=1e-12)
        assert cylinder.weight[:, *place] == pytest.approx(
            cylinder_modes(bottom[place], 5).weight, rel=1e-12
        )


@pytest.mark.parametrize("biot", [0.0, -1.0, 1e9, float("nan")])
def test_biot_numbers_out_of_range_are_refused(biot):
    """Zero would have no roots to scale by; nothing is computed from it."""
    with pytest.raises(OutOfRange, match="Biot"):
        slab_modes(1.0, biot, 3)
    with pytest.raises(OutOfRange, match="Biot"):
        cylinder_modes(biot, 3)
