"""What pages say of jars: forecasts in days, ages, what was seen."""

from __future__ import annotations

from datetime import datetime, tzinfo

from spawnwright.actions.book.standing import Standing
from spawnwright.web import drawings, words


def days(count: float) -> str:
    """A number of days: "1 day", "5 days"."""
    whole = max(0, round(count))
    return f"{whole} {'day' if whole == 1 else 'days'}"


def ready_words(ready_in: tuple[float | None, ...] | None) -> str:
    """When a jar is ready by its forecast, from low, likely and high days from now."""
    if ready_in is None:
        return ""
    low, likely, high = ready_in
    if low is None:
        return "By the forecast it never gets ready on this shelf"
    if likely is None or high is None:
        return f"Ready in {days(low)} at the soonest; perhaps never on this shelf"
    if high < 0.5:
        return f"By the forecast it was ready {days(-high)} ago at the latest"
    if likely < 0.5:
        return f"Ready any day by the forecast, in {days(high)} at the latest"
    if low < 0.5:
        return f"Ready within {days(high)}, likely in {days(likely)}"
    return f"Ready in {round(low)} to {days(high)}, likely in {round(likely)}"


def colonized_words(band: tuple[float | None, ...], what: str) -> str:
    """A band of days since the inoculation: "white all round: day 8 to 24, likely 13"."""
    low, likely, high = band
    if low is None:
        return f"{what}: never on this shelf"
    if likely is None or high is None:
        return f"{what}: day {low:.0f} at the soonest, perhaps never"
    return f"{what}: day {low:.0f} to {high:.0f}, likely {likely:.0f}"


def seen_words(standing: Standing, now: datetime, zone: tzinfo) -> str:
    """What was seen last, and when: "Seen 3 days ago: 35 %, drops"."""
    if standing.seen_at is None:
        return "Not seen yet"
    told = [] if standing.percent is None else [f"{standing.percent:.0f}\u00a0%"]
    if standing.sign and not (standing.sign == "as expected" and told):
        told.append(standing.sign)
    what = f": {', '.join(told)}" if told else ""
    return f"Seen {words.ago(standing.seen_at, now, zone)}{what}"


def expected_words(standing: Standing) -> str:
    """What the forecast expects today."""
    if standing.expected is None:
        return ""
    return f"Today {drawings.said(standing.expected)}"


def age_words(standing: Standing, now: datetime, zone: tzinfo) -> str:
    """How old it is: "day 14" since the inoculation, else days since it was filled."""
    if standing.day is not None:
        return f"Day {max(0, int(standing.day))}"
    return f"Filled {words.ago(standing.jar['filled_at'], now, zone)}"


def way_drawn(standing: Standing) -> str:
    """How growth is drawn: once shaken, all through the jar."""
    return "through" if standing.asked.is_shaken else standing.asked.way


def expected_drawn(standing: Standing) -> drawings.Drawn:
    """The drawing of how such a jar should look today; without a forecast, without white."""
    percent = drawings.rounded(standing.expected or (0.0, 0.0, 0.0))
    return drawings.drawn(way_drawn(standing), drawings.rounded_fill(standing.jar["fill"]), percent)


def seen_drawn(standing: Standing, place: str = "") -> drawings.Drawn:
    """The drawing of what was seen last."""
    percent = 5.0 * round((standing.percent or 0.0) / 5)
    fill = drawings.rounded_fill(standing.jar["fill"])
    return drawings.drawn(way_drawn(standing), fill, (percent, percent, percent), place)
