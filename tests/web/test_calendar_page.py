"""The calendar: a month of all batches."""

from __future__ import annotations

import re
from datetime import UTC, datetime

import pytest

from spawnwright.actions.book.batches import end_batch, finish_task, skip_task
from tests.web.conftest import NOW
from tests.web.planned_book import days, hand, started, tasks


def day(page: str, number: int) -> str:
    """What stands on a day of the month."""
    found = re.findall(r'<li class="col-\d.*?(?=<li class="col-|</ol>)', page, re.DOTALL)
    return found[number - 1]


def test_a_month_has_all_its_days(client, desk):
    """In order, the first under its weekday."""
    started(desk.book)
    for month, first, count in (("2026-11", 7, 30), ("2027-02", 1, 28), ("2028-02", 2, 29)):
        page = client.get("/calendar", params={"month": month}).text
        columns = [int(each) for each in re.findall(r'<li class="col-(\d)', page)]

        assert columns[0] == first
        assert columns == [(first + number - 1) % 7 + 1 for number in range(count)]


def test_months_lead_to_each_other(client):
    """Across the year's end too; this month is where one begins."""
    page = client.get("/calendar", params={"month": "2026-12"}).text

    assert 'href="/calendar?month=2026-11" rel="prev"' in page
    assert 'href="/calendar?month=2027-01" rel="next"' in page
    assert "<h1>November 2026</h1>" in client.get("/calendar").text
    assert "Nothing is planned in this month" in page


@pytest.mark.parametrize("month", ["soon", "2026-13", "0000-01", "9999-12", "2026-1-1"])
def test_what_is_no_month_is_said(client, month):
    """No trace, no crash at the ends of what a date can be."""
    answer = client.get("/calendar", params={"month": month})

    assert answer.status_code == 422
    assert "month" in answer.text


def test_steps_stand_on_their_days(client, desk):
    """With their time and batch; the steps of one run are one."""
    batch = started(desk.book)

    page = client.get("/calendar").text

    assert "Make 7 lids" in day(page, 24)
    assert "09:15" in day(page, 24)
    assert "Oyster for the market" in day(page, 24)
    assert "Load run A, 7 jars" in day(page, 25)
    assert "Hold 135 min" not in page
    assert f'href="/batches/{batch}?open=' in day(page, 26)
    assert 'aria-current="date"' in day(page, 25)
    assert "more" in day(page, 25)


def test_done_late_and_skipped_are_told_in_words(client, desk):
    """Never by color alone."""
    batch = started(desk.book)
    there = tasks(desk.book, batch, NOW)
    finish_task(desk.book, hand(NOW), there["make-lids"].id, NOW)
    skip_task(desk.book, hand(NOW), there["wash-jars"].id, NOW)

    page = day(client.get("/calendar").text, 24)

    assert re.search(r"done: </span>\s*Make 7 lids", page)
    assert re.search(r"skipped: </span><s>Wash 7 jars</s>", page)
    assert re.search(r"late: </span></span> ?Soak 1.99 kg", page)


def test_when_a_batch_is_ready_is_a_bar_and_a_sentence(client, desk):
    """On the month that it touches, and on the likely day."""
    started(desk.book)

    december = client.get("/calendar", params={"month": "2026-12"}).text
    november = client.get("/calendar").text

    words = "Oyster for the market, ready Sat 5 Dec to Wed 16 Dec, likely Wed 9 Dec"
    assert f'aria-label="{words}"' in december
    assert "Likely ready: Oyster for the market" in day(december, 9)
    assert "Ready this month" not in november
    reach = re.search(r'class="reach" x="([\d.]+)" y="1" width="([\d.]+)"', december)
    assert float(reach[1]) == pytest.approx(100 * 4 / 31, abs=0.01)
    assert float(reach[2]) == pytest.approx(100 * 12 / 31, abs=0.01)


def test_an_ended_batch_leaves_what_was_done(client, desk):
    """Its open steps are off the calendar."""
    batch = started(desk.book)
    lids = tasks(desk.book, batch, NOW)["make-lids"]
    finish_task(desk.book, hand(NOW), lids.id, NOW)
    end_batch(desk.book, hand(NOW), batch, NOW + days(0.1))

    page = client.get("/calendar").text

    assert "Make 7 lids" in page
    assert "Wash 7 jars" not in page


def test_a_day_is_the_growers(client, desk, monkeypatch):
    """An evening by UTC is the next morning in Tokyo, at the ends of a month too."""
    from spawnwright.actions.own_kit.kit import change_kit

    change_kit({"time_zone": "Asia/Tokyo"})
    started(desk.book)
    shelf_record(desk.book, datetime(2026, 11, 30, 22, tzinfo=UTC))
    monkeypatch.setattr(desk, "clock", lambda: datetime(2026, 11, 24, 23, tzinfo=UTC))

    page = client.get("/calendar").text
    december = client.get("/calendar", params={"month": "2026-12"}).text

    assert "Wash 7 jars" not in day(page, 24)
    assert "06:30" in day(page, 25)
    assert 'aria-current="date"' in day(page, 25)
    assert "An early thing" not in page
    assert "An early thing" in day(december, 1)


def shelf_record(book, at: datetime) -> None:
    """A task of another batch at an instant."""
    from tests.web.shelf_book import record

    batch = record(book, "batch", {"name": "Other", "started_at": NOW})
    fields = {"batch": batch, "key": "x", "title": "An early thing", "at": at, "until": at}
    record(book, "task", fields)


def test_a_crowded_month_is_cut_and_says_so(client, desk, monkeypatch):
    """Rather than a page that nobody can load."""
    monkeypatch.setattr("spawnwright.actions.book.calendar.MOST", 5)
    started(desk.book)

    assert "There are more steps in this month than are shown" in client.get("/calendar").text
