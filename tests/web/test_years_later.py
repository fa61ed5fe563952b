"""The pages long after: what a book says when nobody has opened it for a year or five."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from spawnwright.web import words
from tests.web.conftest import NOW


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
