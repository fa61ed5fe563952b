"""The pages long after: what a book says when nobody has opened it for a year or five."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from spawnwright.web import words
from tests.web.conftest import NOW
from tests.web.planned_book import started


@pytest.mark.parametrize(
    ("later_d", "said"),
    [(0, "Wed 25 Nov"), (180, "Wed 25 Nov"), (181, "Wed 25 Nov 2026"), (1826, "Wed 25 Nov 2026")],
)
def test_a_day_of_another_season_is_said_with_its_year(later_d, said):
    """In 2028 "Wed 25 Nov" would be taken for the November that has just been."""
    with words.shown_at(NOW + timedelta(days=later_d), UTC):
        assert words.day("2026-11-25") == said
        assert words.moment("2026-11-25T14:05:00Z", UTC) == f"{said}, 14:05"


def test_a_page_says_the_year_of_what_was_long_ago(client, desk):
    """The list of costs, as any other."""
    client.post("/costs", data={"what": "rye", "amount": "31", "unit": "EUR"})
    assert "Wed 25 Nov<" in client.get("/costs").text

    desk.clock = lambda: datetime(2031, 11, 25, 9, 30, tzinfo=UTC)
    assert "Tue 25 Nov" not in (page := client.get("/costs").text)
    assert "Wed 25 Nov 2026" in page


def test_a_batch_that_was_left_lying_is_one_matter_with_a_way_to_settle_it(client, desk):
    """Not a dozen steps that are fourteen months late, each to be skipped by itself."""
    batch = started(desk.book)
    assert 'id="late"' in client.get("/").text

    desk.clock = lambda: NOW + timedelta(days=425)
    page = client.get("/").text
    assert 'id="late"' not in page
    assert "open steps, the last of" in page
    way = f"/batches/{batch}?open=end#end"
    assert f'href="{way}"' in page
    shown = client.get(way.partition("#")[0]).text
    assert '<details class="no-print" id="end" open>' in shown

    client.post(f"/batches/{batch}/end", data={"step": "0123456789abcdef"})
    assert "Nothing waits today" in client.get("/").text


def test_a_batch_that_is_a_week_late_keeps_its_steps_on_the_first_page(client, desk):
    """Somebody was away; the steps are still to be done."""
    started(desk.book)
    desk.clock = lambda: NOW + timedelta(days=7)
    page = client.get("/").text

    assert 'id="late"' in page
    assert 'id="left"' not in page
