"""Devices whose clocks are wrong: what they enter stands in the book at the time when it was."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from sqlalchemy import text

from spawnwright.actions.book.jars import Hand, fill_jars
from spawnwright.actions.book.run import begin_run
from spawnwright.errors import Unusable
from spawnwright.records.book.form import instant_text
from spawnwright.web.forms import Form
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


@pytest.mark.parametrize(
    ("zone", "typed", "now", "meant"),
    [
        # Summer time ends in Berlin at 01:00 UTC: 02:30 is 00:30 UTC, and again 01:30 UTC.
        ("Europe/Berlin", "2026-10-25T02:30", "2026-10-25T01:31Z", "2026-10-25T01:30Z"),
        ("Europe/Berlin", "2026-10-25T02:30", "2026-10-25T00:45Z", "2026-10-25T00:30Z"),
        ("Europe/Berlin", "2026-10-25T02:30", "2026-10-26T09:00Z", "2026-10-25T01:30Z"),
        # In New York at 06:00 UTC.
        ("America/New_York", "2026-11-01T01:30", "2026-11-01T06:31Z", "2026-11-01T06:30Z"),
        ("America/New_York", "2026-11-01T01:30", "2026-11-01T05:40Z", "2026-11-01T05:30Z"),
        ("America/New_York", "2026-11-01T03:00", "2026-11-01T09:00Z", "2026-11-01T08:00Z"),
    ],
)
def test_a_time_that_the_clocks_show_twice(desk, zone, typed, now, meant):
    """Heat off noted at the second 02:30 is not an hour earlier, before pressure was reached."""
    desk.clock = lambda: datetime.fromisoformat(now)
    desk.zone = lambda: ZoneInfo(zone)

    assert Form({"at": [typed]}).instant("at", desk) == datetime.fromisoformat(meant)


@pytest.mark.parametrize(
    ("typed", "said"),
    [("2027-03-28T02:30", "left out"), ("0001-01-01T00:10", "no calendar"), ("x" * 900, "no date")],
)
def test_a_time_that_never_was(desk, typed, said):
    """A sentence, of a length that can be read."""
    desk.zone = lambda: ZoneInfo("Europe/Berlin")

    with pytest.raises(Unusable, match=said) as refused:
        Form({"at": [typed]}).instant("at", desk)
    assert len(str(refused.value)) < 200


def test_the_box_that_was_left_as_it_is_means_now(client, desk):
    """Opened at 9:30, sent at 9:50: heat off was at 9:50, as the page says."""
    jars = fill_jars(desk.book, Hand("Ada", "phone", NOW), 3, {"jar_kind": "quart"}, NOW)
    about = {"gauge_pa": 103_421.0, "hold_min": 90.0, "elevation_m": 450.0}
    ids = dict.fromkeys(jars.values(), "")
    run = begin_run(desk.book, Hand("Ada", "phone", NOW), about, ids, NOW).record
    page = client.get(f"/runs/{run}").text
    shown = re.search(r'name="at_shown" value="([^"]+)"', page)[1]
    later = NOW + timedelta(minutes=20, seconds=7)
    desk.clock = lambda: later
    client.post(f"/runs/{run}/events", data={"what": "heat on", "at": shown, "at_shown": shown})
    with desk.book.read() as connection:
        events = connection.execute(text("SELECT at FROM events")).scalars().all()

    assert events == [instant_text(later)]


def test_a_computer_whose_clock_is_behind_its_book_says_so(client, desk):
    """Its battery is empty: what is entered now would stand before all that is there."""
    fill_jars(desk.book, Hand("Ada", "phone", NOW), 1, {"jar_kind": "quart"}, NOW)
    assert "clock of the computer is wrong" not in client.get("/").text

    desk.clock = lambda: NOW - timedelta(days=400)
    page = client.get("/").text
    assert "clock of the computer is wrong" in page
    assert "Tuesday, 21 October 2025" in page
    assert "Wednesday, 25 November 2026" in page
