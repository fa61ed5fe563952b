"""The core from a logged vessel: a long log is thinned without moving it in time."""

from __future__ import annotations

import numpy as np
import pytest

from spawnwright.model.heat import core_of_vessel
from spawnwright.model.heat.core_of_vessel import core_f0_min
from tests.model.watched_run import question

MINUTES = np.arange(181.0)
VESSEL = np.interp(MINUTES, [0, 15, 25, 30, 120, 180], [20.0, 99.97, 99.97, 120.95, 120.95, 85.0])


def test_readings_each_second_are_worth_what_readings_each_minute_are():
    """10,801 readings are taken as 240 means; shifted by half a span, F0 would be off by 2 %."""
    seconds = np.arange(0.0, 180 * 60 + 1)
    by_minute = core_f0_min(question(), MINUTES * 60, VESSEL, 24)
    by_second = core_f0_min(question(), seconds, np.interp(seconds, MINUTES * 60, VESSEL), 24)

    for name in ("by_conduction", "by_vapor", "by_state"):
        ratio = np.median(getattr(by_second, name)) / np.median(getattr(by_minute, name))
        assert ratio == pytest.approx(1.0, abs=0.006), name


def test_a_short_fall_is_worth_the_same_when_thinned(monkeypatch):
    """A minute 20 °C colder, read each twenty seconds, against every reading solved."""
    twenties = np.arange(0.0, 180 * 60 + 1, 20)
    dip = np.interp(twenties, MINUTES * 60, VESSEL)
    plain = core_f0_min(question(), twenties, dip, 8).by_state
    dip[250:253] -= 20.0

    thinned = core_f0_min(question(), twenties, dip, 8).by_state
    monkeypatch.setattr(core_of_vessel, "_MOST_KNOTS", len(twenties))
    whole = core_f0_min(question(), twenties, dip, 8).by_state
    assert np.median(whole) < 0.97 * np.median(plain)
    assert np.median(thinned) == pytest.approx(np.median(whole), rel=0.02)
