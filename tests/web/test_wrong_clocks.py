"""Devices whose clocks are wrong: what they enter stands in the book at the time when it was."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from sqlalchemy import text

from spawnwright.records.book.form import instant_text
from tests.web.conftest import NOW

YEAR = timedelta(days=365)


def _entered(desk) -> datetime:
    with desk.book.read() as connection:
        at = connection.execute(text("SELECT at FROM steps ORDER BY number DESC LIMIT 1")).scalar()
    return datetime.fromisoformat(at)


def _sent(client, at: datetime, **headers: str):
    said = {"what": "rye", "amount": "31", "unit": "EUR", "at_device": at.isoformat()}
    return client.post("/costs", data=said, headers=headers)


@pytest.mark.parametrize("wrong", [YEAR, -YEAR, timedelta(hours=2), -timedelta(hours=2)])
def test_a_form_sent_at_once_has_the_time_of_the_book(client, desk, wrong):
    """A look of next year would be the last one seen for a year."""
    assert _sent(client, NOW + wrong).status_code == 200

    assert _entered(desk) == NOW


def test_a_clock_that_is_nearly_right_is_believed(client, desk):
    """A page that took a minute to arrive."""
    _sent(client, NOW - timedelta(minutes=1))

    assert _entered(desk) == NOW - timedelta(minutes=1)


@pytest.mark.parametrize("wrong", [timedelta(), YEAR, -YEAR, timedelta(days=9000)])
def test_what_waited_on_a_device_is_dated_by_how_long_it_waited(client, desk, wrong):
    """Entered two days ago by a clock that is as wrong now as it was then."""
    told, sent = NOW + wrong - timedelta(days=2), NOW + wrong
    answer = _sent(client, told, **{"x-outbox": "1", "x-sent-at": sent.isoformat()})

    assert answer.status_code == 200
    assert instant_text(_entered(desk)) == instant_text(NOW - timedelta(days=2))


def test_nothing_is_entered_in_the_future(client, desk):
    """A clock that was put right in between; and a script that does not tell its time."""
    for headers in ({"x-outbox": "1", "x-sent-at": NOW.isoformat()}, {"x-outbox": "1"}):
        _sent(client, NOW + YEAR, **headers)
        assert _entered(desk) <= NOW + timedelta(seconds=1)


@pytest.mark.parametrize("told", ["0001-01-01T00:00:00+00:00", "9999-12-31T23:59:59-12:00"])
def test_times_at_the_ends_of_the_calendar(client, desk, told):
    """No mistake of the program, whatever is sent."""
    headers = {"x-outbox": "1", "x-sent-at": told}
    said = {"what": "rye", "amount": "31", "unit": "EUR", "at_device": told}

    assert client.post("/costs", data=said, headers=headers).status_code == 200
    assert client.post("/costs", data=said).status_code == 200
    other = "9999-12-31T23:59:59+00:00" if told.startswith("0") else "0001-01-01T00:00:00+00:00"
    answer = client.post("/costs", data=said | {"at_device": other}, headers=headers)
    assert answer.status_code == 200
