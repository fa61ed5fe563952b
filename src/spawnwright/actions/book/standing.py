"""How a jar stands: what was seen last against its forecast, and what that asks for.

The last look is compared with the forecast of the day of that look. A jar below the low end is
behind: of jars like it, one in twenty is. What cannot be compared is said to be so.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

from spawnwright.actions.book.forecast import Asked, JarForecast
from spawnwright.records.book.signs import HARM, QUIET, SIGN_NAMED, WATCH, WELL, how_worrying
from spawnwright.sources import COMMON, JUDGMENT, Constant

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from spawnwright.store.book.seen import Seen

WHITE_ALL_ROUND = Constant(99.0, "%", source=JUDGMENT, where="what a look calls white all round")
LOOK_EVERY_D = Constant(4.0, "d", source=COMMON, where="a growing jar is seen every couple of days")
KEPT_LOOK_EVERY_D = Constant(14.0, "d", source=JUDGMENT, where="a ready jar, kept cool or not")
USUAL_INSIDE_D = Constant(4.0, "d", source=COMMON, where="from white all round to white inside")
EYE = Constant(10.0, "%", source=JUDGMENT, where="points by which an eye may misjudge the white")
DAY_S = 86_400.0

TROUBLE, DOUBTFUL, BEHIND, UNSEEN = "trouble", "doubtful", "behind", "unseen"
READY, WHITE, GROWING, CANNOT_TELL = "ready", "white", "growing", "cannot tell"
EMPTY, CONTROL, GONE = "empty", "control", "gone"
ASKING = (TROUBLE, DOUBTFUL, BEHIND, UNSEEN)
"""States that ask for somebody."""


@dataclass(frozen=True)
class Standing:
    """A jar as the shelf shows it.

    `state` is one of the words above and `said` the sentence of it; `how` is how it is shown.
    `day` counts from the inoculation. `expected` is the forecast percent of today, `ready_in` the
    days until ready; both low, likely, high. `doubts` are the quarantines that hold for it.
    """

    jar: Mapping[str, Any]
    asked: Asked
    day: float | None
    state: str
    how: str
    said: str
    expected: tuple[float, float, float] | None
    ready_in: tuple[float | None, ...] | None
    percent: float | None
    sign: str | None
    sign_how: str
    seen_at: str | None
    forecast: JarForecast | None
    is_waiting: bool
    doubts: tuple[str, ...] = ()

    @property
    def asks(self) -> bool:
        """Whether somebody should see to it."""
        return self.state in ASKING or bool(self.doubts)


def standings(
    connection: Connection,
    jars: Sequence[Mapping[str, Any]],
    asked: Mapping[str, Asked],
    forecasts: Mapping[str, JarForecast],
    now: datetime,
) -> list[Standing]:
    """How some jars stand, in their order.

    Parameters
    ----------
    connection : Connection
        A view of the book.
    jars : sequence of mappings
        Rows of jars.
    asked : mapping
        From `book_forecast.questions`.
    forecasts : mapping
        By the keys of the questions, as far as they are worked out.
    now : datetime
        With an offset.
    """
    from spawnwright.store.book import origins
    from spawnwright.store.book.seen import seen_of

    ids = [jar["id"] for jar in jars]
    seen = seen_of(connection, ids, float(WHITE_ALL_ROUND))
    doubts = origins.doubted(connection, ids)
    found = []
    for jar in jars:
        told = asked[jar["id"]]
        forecast = forecasts.get(told.question.key) if told.question else None
        over = tuple(doubts.get(jar["id"], ()))
        found.append(_standing(jar, told, forecast, seen.get(jar["id"]), over, now))
    return found


def _standing(
    jar: Mapping[str, Any],
    asked: Asked,
    forecast: JarForecast | None,
    seen: Seen | None,
    doubts: tuple[str, ...],
    now: datetime,
) -> Standing:
    day = days_since(asked.inoculated_at, now)
    state, how, said = _judged(jar, asked, forecast, seen, now)
    expected, ready_in = None, None
    if forecast is not None and not forecast.problem and day is not None:
        expected = forecast.percent_on(day)
        ready_in = tuple(None if each is None else each - day for each in forecast.ready)
    sign = seen.sign if seen else None
    return Standing(
        jar=jar, asked=asked, day=day, state=state, how=how, said=said, expected=expected,
        ready_in=ready_in, percent=seen.percent if seen else None, sign=sign,
        sign_how=how_worrying(sign, asked.species), seen_at=seen.last_at if seen else None,
        forecast=forecast, is_waiting=asked.question is not None and forecast is None,
        doubts=doubts,
    )  # fmt: skip


def days_since(at: str | None, now: datetime) -> float | None:
    """Days from an instant of the book to now, fractions counted; none without one [d]."""
    if at is None:
        return None
    return (now - datetime.fromisoformat(at)).total_seconds() / DAY_S


def _judged(
    jar: Mapping[str, Any],
    asked: Asked,
    forecast: JarForecast | None,
    seen: Seen | None,
    now: datetime,
) -> tuple[str, str, str]:
    """State, how it is shown, and the sentence."""
    if jar["outcome"] is not None:
        how = HARM if jar["outcome"] == "spoiled" else QUIET
        return GONE, how, jar["outcome"].capitalize()
    sign = seen.sign if seen else None
    worry = how_worrying(sign, asked.species)
    if worry == HARM:
        return TROUBLE, HARM, f"{str(sign).capitalize()} seen: keep it shut, take it away"
    if worry == WATCH:
        return DOUBTFUL, WATCH, f"{str(sign).capitalize()} seen: look again soon"
    if asked.inoculated_at is None:
        return _not_inoculated(jar, seen)
    return _growing(asked, forecast, seen, now)


def _not_inoculated(jar: Mapping[str, Any], seen: Seen | None) -> tuple[str, str, str]:
    if jar["is_control"]:
        if seen is not None and (seen.percent or 0) > 0:
            return TROUBLE, HARM, "A control, and something grows in it"
        clean = "clean so far" if seen is not None else "not looked at yet"
        return CONTROL, QUIET, f"Control, {clean}"
    return EMPTY, QUIET, "Waits for its culture"


def _growing(
    asked: Asked, forecast: JarForecast | None, seen: Seen | None, now: datetime
) -> tuple[str, str, str]:
    unseen = days_since(seen.last_at if seen else asked.inoculated_at, now) or 0.0
    if seen is not None and seen.white_at is not None:
        return _white(forecast, days_since(seen.white_at, now) or 0.0, unseen)
    verdict = compare(asked, forecast, seen)
    if verdict == BEHIND:
        return BEHIND, WATCH, "Behind the forecast"
    if unseen > LOOK_EVERY_D:
        return UNSEEN, WATCH, f"Not looked at for {unseen:.0f} days"
    if verdict == "ahead":
        return GROWING, WELL, "Quicker than forecast"
    if verdict == "as forecast":
        return GROWING, WELL, "As forecast"
    if verdict == "as expected":
        return GROWING, WELL, "Seen as expected"
    if seen is None:
        return CANNOT_TELL, QUIET, "Not looked at yet"
    if seen.percent is None and asked.question:
        return CANNOT_TELL, QUIET, "Cannot tell yet: no look says how far"
    if asked.question and forecast is None:
        return CANNOT_TELL, QUIET, "Cannot tell yet: the forecast is being worked out"
    return CANNOT_TELL, QUIET, "Cannot tell: there is no forecast"


def _white(forecast: JarForecast | None, white: float, unseen: float) -> tuple[str, str, str]:
    inside = float(USUAL_INSIDE_D)
    if forecast and forecast.ready[1] is not None and forecast.colonized[1] is not None:
        inside = forecast.ready[1] - forecast.colonized[1]
    if white < inside:
        left = max(1, round(inside - white))
        return (
            WHITE,
            WELL,
            f"White all round; ready in about {left} {'day' * (left == 1) or 'days'}",
        )
    if unseen > KEPT_LOOK_EVERY_D:
        return UNSEEN, WATCH, f"Ready, and not looked at for {unseen:.0f} days"
    return READY, WELL, "Ready to use"


def compare(asked: Asked, forecast: JarForecast | None, seen: Seen | None) -> str | None:
    """The last percentage against the forecast of its day; none: it cannot be told.

    "behind" is below the low end, which one of twenty such jars is, by more than an eye may be
    off; "ahead" is above the high end by as much; else "as forecast". Where the last look says
    "as expected" without a share, so is the jar.
    """
    if (
        seen is not None
        and seen.sign == "as expected"
        and (seen.sign_at == seen.last_at != seen.percent_at)
    ):
        return "as expected"
    if forecast is None or seen is None or seen.percent is None or seen.percent_at is None:
        return None
    day = days_since(asked.inoculated_at, datetime.fromisoformat(seen.percent_at))
    band = forecast.percent_on(day) if day is not None else None
    if band is None:
        return None
    low, _, high = band
    if seen.percent < low - EYE:
        return BEHIND
    return "ahead" if seen.percent > high + EYE else "as forecast"


def sign_words(sign: str | None) -> str:
    """What a sign looks like and usually is, in a sentence; empty for none."""
    if sign is None:
        return ""
    told = SIGN_NAMED[sign]
    return f"{told.looks[0].upper()}{told.looks[1:]}. {told.means}".strip()
