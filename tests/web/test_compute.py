"""The process that does the sums: what a page waits for goes first, and nothing is lost if it dies.

The functions below run in the worker, which imports this module for them.
"""

from __future__ import annotations

import os
import time

import pytest

from spawnwright.errors import Unusable
from spawnwright.web.compute import Compute


def doubled(number):
    """What most tests ask for."""
    return 2 * number


def slow(seconds):
    """Takes a while."""
    time.sleep(seconds)
    return "done"


def refused():
    """A refusal of the program's own."""
    raise Unusable("There is no such canner.")


def mistaken():
    """A mistake of the program."""
    raise ZeroDivisionError


def dies():
    """As if the machine ended it for want of memory."""
    os._exit(1)


@pytest.fixture(scope="module")
def compute():
    """One worker for all tests here, which start it again where they end it."""
    made = Compute()
    yield made
    made.close()


def came(compute, *keys):
    """The answers of what was asked for later."""
    told = {}
    for _ in range(1000):
        told |= {
            key: found for key in keys if key not in told and (found := compute.taken(key))
        }  # fmt: skip
        if len(told) == len(keys):
            return told
        time.sleep(0.02)
    raise AssertionError(f"only {told} came")


def test_an_answer_and_a_refusal(compute):
    """The sentence of the function is the sentence of the page."""
    assert compute.answer(doubled, 21) == 42
    assert compute.answer("tests.web.test_compute:doubled", 4) == 8
    with pytest.raises(Unusable, match="no such canner"):
        compute.answer(refused)


def test_what_comes_later_is_taken_once(compute):
    """The next page finds it; the one after asks again."""
    compute.later("a", doubled, 1)
    compute.later("a", doubled, 5)

    assert came(compute, "a") == {"a": (True, 2)}
    assert compute.taken("a") is None


def test_what_a_page_waits_for_goes_before_what_comes_later(compute):
    """A running canner does not wait behind the forecasts of a whole shelf."""
    keys = [f"jar {number}" for number in range(6)]
    for key in keys:
        compute.later(key, slow, 0.4)
    compute.answer(doubled, 1)

    assert compute.taken(keys[-1]) is None
    assert set(came(compute, *keys).values()) == {(True, "done")}


def test_a_worker_that_dies_is_started_again(compute):
    """The page says so; what comes later is asked for again, and no page fails for it."""
    with pytest.raises(Unusable, match="stopped; try again"):
        compute.answer(dies)
    compute.later("b", dies)

    assert came(compute, "b")["b"][0] is False
    assert compute.answer(doubled, 2) == 4


def test_a_mistake_behind_a_page_stays_behind_it(compute, caplog):
    """It is written down, and the others still come."""
    compute.later("bad", mistaken)
    compute.later("good", doubled, 3)

    assert came(compute, "bad", "good") == {
        "bad": (False, "It could not be worked out."),
        "good": (True, 6),
    }
    assert "ZeroDivisionError" in caplog.text


def test_what_takes_too_long_does_not_hold_up_what_is_asked_next(monkeypatch):
    """The worker goes on with it, whoever has given it up; so it is stopped, and a new one made."""
    compute = Compute()
    try:
        monkeypatch.setattr("spawnwright.web.compute.LONGEST_S", 1.0)
        with pytest.raises(Unusable, match="given up"):
            compute.answer("time:sleep", 600)
        monkeypatch.setattr("spawnwright.web.compute.LONGEST_S", 30.0)
        assert compute.answer("math:sqrt", 16) == 4
    finally:
        compute.close()


def test_a_worker_that_cannot_be_started_is_a_sentence(monkeypatch):
    """Memory has run out: the page comes, without the sums."""

    def full(*_, **__):
        raise OSError(12, "Cannot allocate memory")

    compute = Compute()
    try:
        monkeypatch.setattr("spawnwright.web.compute.ProcessPoolExecutor", full)
        with pytest.raises(Unusable, match="stopped; try again"):
            compute.answer("math:sqrt", 16)
    finally:
        compute.close()
