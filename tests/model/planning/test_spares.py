"""How many jars to make, against exact sums and against counting every case."""

from itertools import product
from math import comb, isclose

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from spawnwright.errors import OutOfRange
from spawnwright.model.planning.spares import chance_of_enough, least_jars, most_service


@pytest.mark.parametrize(
    ("good", "survival", "jars", "reached", "one_fewer"),
    [
        (10, 0.90, 13, 0.965839, 0.889130),
        (6, 0.85, 9, 0.966068, 0.894787),
        (24, 0.90, 30, 0.974173, 0.936283),
        (50, 0.95, 56, 0.978848, 0.943995),
    ],
)
def test_the_least_number_for_independent_losses(good, survival, jars, reached, one_fewer):
    """Binomial sums worked apart to six digits; the least N is good plus a negative binomial
    quantile.
    """
    found, service = least_jars(good, survival, 0.95)

    assert found == jars
    assert service == pytest.approx(reached, abs=5e-7)
    assert chance_of_enough(jars - 1, good, survival) == pytest.approx(one_fewer, abs=5e-7)


@pytest.mark.parametrize(
    ("runs", "jars", "printed"),
    [
        (1, 12, "0.902"), (1, 14, "0.920"), (1, 16, "0.9204"), (1, 20, "0.923"),
        (2, 14, "0.883"), (2, 16, "0.934"), (2, 20, "0.9895"),
    ],
)  # fmt: skip
def test_losses_that_come_by_the_run(runs, jars, printed):
    """8 % of runs spoil 70 % of what would be good, 95 % survive else, ten are wanted; worked
    apart by convolution.
    """
    found = chance_of_enough(jars, 10, 0.95, runs, run_loss=0.08, run_kill=0.7)

    assert round(found, len(printed) - 2) == float(printed)


def test_jars_are_no_help_where_a_bad_run_spoils_everything():
    """One run of 8 % loss can never give 95 %; two can, with 21 jars."""
    assert least_jars(10, 0.95, 0.95, runs=1, run_loss=0.08) == (None, pytest.approx(0.92))
    jars, service = least_jars(10, 0.95, 0.95, runs=2, run_loss=0.08)

    assert jars == 21
    assert 0.95 <= service < most_service(10, 0.95, 2, 0.08) == pytest.approx(1 - 0.08**2)


def test_certainty_is_reached_only_where_nothing_is_lost():
    """100 % of service is no number of jars, however near it comes."""
    assert least_jars(10, 1.0, 1.0) == (10, 1.0)
    assert least_jars(10, 0.99, 1.0) == (None, 1.0)
    assert least_jars(10, 0.0, 0.5) == (None, 0.0)
    assert least_jars(0, 0.5, 0.99) == (0, 1.0)


@settings(max_examples=40)
@given(
    jars=st.integers(0, 7),
    good=st.integers(0, 8),
    runs=st.integers(1, 3),
    survival=st.floats(0, 1),
    loss=st.floats(0, 1),
    kill=st.floats(0, 1),
)
def test_the_chance_is_that_of_counting_every_case(jars, good, runs, survival, loss, kill):
    """Every pattern of bad runs, and in each every number of good jars of each run."""
    sizes = [jars // runs + (run < jars % runs) for run in range(runs)]
    total = 0.0
    for bad in product((False, True), repeat=runs):
        weight = 1.0
        for each in bad:
            weight *= loss if each else 1 - loss
        rates = [survival * (1 - kill) if each else survival for each in bad]
        for counts in product(*(range(size + 1) for size in sizes)):
            if sum(counts) < good:
                continue
            chance = weight
            for size, count, rate in zip(sizes, counts, rates, strict=True):
                chance *= comb(size, count) * rate**count * (1 - rate) ** (size - count)
            total += chance

    found = chance_of_enough(jars, good, survival, runs, loss, kill)

    assert isclose(found, total, rel_tol=0, abs_tol=1e-9)


@settings(max_examples=40)
@given(
    good=st.integers(1, 40),
    survival=st.floats(0.3, 0.99),
    service=st.floats(0.5, 0.99),
    runs=st.integers(1, 4),
    loss=st.floats(0, 0.2),
    kill=st.floats(0.1, 0.9),
)
def test_the_found_number_is_the_least(good, survival, service, runs, loss, kill):
    """It reaches the service, one fewer does not, and it is never fewer than are wanted."""
    jars, reached = least_jars(good, survival, service, runs, loss, kill)

    assert jars is not None
    assert jars >= good
    assert reached == chance_of_enough(jars, good, survival, runs, loss, kill)
    assert reached >= service - 1e-9
    assert jars == 0 or chance_of_enough(jars - 1, good, survival, runs, loss, kill) < service


def test_long_lists_are_added_as_exactly_as_short_ones():
    """Above 512 terms a Fourier transform is used: two runs, against the sum of products."""
    n, good, p = 1500, 2400, 0.81
    shared = chance_of_enough(2 * n, good, p, runs=2, run_loss=1e-300, run_kill=0.5)

    assert shared == pytest.approx(chance_of_enough(2 * n, good, p), abs=1e-11)


@pytest.mark.parametrize(
    ("arguments", "complaint"),
    [
        ({"survival": 1.2}, "chance that a jar is good is 1.2"),
        ({"runs": 0}, "number of runs is 0"),
        ({"good": -1}, "number of good jars is -1"),
        ({"jars": 10.5}, "number of jars is 10.5"),
        ({"run_loss": float("nan")}, "chance that a run is bad is nan"),
    ],
)
def test_counts_and_chances_that_cannot_be_are_refused(arguments, complaint):
    """A share above one, no run, half a jar."""
    with pytest.raises(OutOfRange, match=complaint):
        chance_of_enough(**({"jars": 12, "good": 10, "survival": 0.9} | arguments))
