"""The surrogate: it goes through what it knows, and its own error is an honest one."""

import numpy as np
import pytest

from spawnwright.errors import Unusable
from spawnwright.model.surrogate import fit


def truth(inputs):
    """A bent surface in six inputs, of which two matter much and one not at all."""
    a, b, c, d, e, _ = inputs.T
    first = np.tanh(a) + 0.3 * a * b + 0.8 * b + 0.3 * c + 0.1 * d
    return np.stack([first, np.exp(0.5 * a) + 0.2 * e], axis=1)


@pytest.fixture(scope="module")
def fitted():
    inputs = np.random.default_rng(3).uniform(-2, 2, size=(240, 6))
    return fit(inputs, truth(inputs)), inputs


def test_straight_results_are_met_exactly(fitted):
    """The trend alone holds them, also far outside."""
    inputs = fitted[1]
    straight = (2.0 + inputs @ np.arange(6.0))[:, None]

    far = np.full((1, 6), 9.0)

    assert fit(inputs, straight)(far)[0, 0] == pytest.approx(2.0 + 9.0 * 15.0)


def test_the_error_it_states_is_the_error_it_makes(fitted):
    """Left-one-out against 2,000 fresh scenarios: within a quarter of each other."""
    surrogate, _ = fitted
    fresh = np.random.default_rng(4).uniform(-2, 2, size=(2000, 6))

    made = np.sqrt(np.mean((surrogate(fresh) - truth(fresh)) ** 2, axis=0))
    stated = np.sqrt(np.mean(surrogate.left_out**2, axis=0))
    assert stated == pytest.approx(made, rel=0.25)
    assert np.all(made < 0.15 * truth(fresh).std(axis=0))


def test_left_out_errors_are_those_of_fitting_without_the_point(fitted):
    """Dubrule's formula against doing it, for three points; the weights shift a little."""
    surrogate, inputs = fitted
    results = truth(inputs)
    for place in (0, 17, 101):
        kept = np.delete(np.arange(240), place)
        without = fit(inputs[kept], results[kept])

        error = results[place] - without(inputs[place : place + 1])[0]

        assert surrogate.left_out[place] == pytest.approx(error, rel=0.05, abs=0.005)


def test_errors_are_told_apart_along_the_first_input():
    """Noise on one side only is not spread over the other."""
    generator = np.random.default_rng(5)
    inputs = generator.normal(size=(300, 3))
    noise = np.where(inputs[:, 0] > 0, 0.3, 0.0) * generator.normal(size=300)
    surrogate = fit(inputs, (inputs.sum(axis=1) + noise)[:, None])

    quiet, loud = surrogate.error(np.array([[-1.5, 0.0, 0.0], [1.5, 0.0, 0.0]]))[:, 0]

    assert loud > 3 * quiet
    assert loud == pytest.approx(0.3, rel=0.4)


def test_an_input_that_never_changes_is_borne(fitted):
    """A step has no come-up, for any scenario."""
    inputs = np.hstack([fitted[1], np.full((240, 1), 4.0)])

    assert np.isfinite(fit(inputs, truth(fitted[1]))(inputs[:3])).all()


def test_too_few_scenarios_are_refused():
    """Nothing can be fitted to ten points in six inputs."""
    with pytest.raises(Unusable, match="10 solved scenarios are too few for 6 inputs"):
        fit(np.zeros((10, 6)), np.zeros((10, 1)))
