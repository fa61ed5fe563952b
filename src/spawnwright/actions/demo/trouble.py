"""What goes wrong in the demo's season, and how it is dealt with; photos, a trace, a dispute."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from io import BytesIO
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from spawnwright.actions.book import doubt as book_doubt
from spawnwright.actions.book import jars as book_jars
from spawnwright.actions.book import looks as book_looks
from spawnwright.actions.book import run as book_run
from spawnwright.actions.demo.diary import Diary
from spawnwright.records.book.steps import Entry, Step

if TYPE_CHECKING:
    from spawnwright.actions.demo.batch import BatchLife

_MOLD = {"green": (70, 120, 60), "black": (40, 40, 40)}


def plan_trouble(diary: Diary, lives: Sequence[BatchLife]) -> None:
    """Plan all of it into the diary."""
    old = [life for life in lives if life.batch.spoiled and not life.batch.quarantine]
    for life in old:
        _spoiled_run(diary, life)
    for life in lives:
        if life.batch.quarantine:
            _quarantine(diary, life)
        if life.batch.spoiled:
            _photo(diary, life)
    sources = [life for life in lives if life.batch.days_ago > 0]
    if sources:
        _doubted_sack(diary)
        _trace(diary, sources[0])
        _undone_look(diary, sources[-1])
        _disputed_place(diary, sources[-1])


def _spoiled_run(diary: Diary, life: BatchLife) -> None:
    """Spoiled jars, shut, in a run of their own; then jar and lid go back or into the bin."""
    spoiled = [each for each in life.fates if each.spoils_on is not None]
    day = max(each.spoils_on or 0.0 for each in spoiled) + 2
    at = life.start + timedelta(days=round(day))
    known = diary.known

    def begin(hand: book_jars.Hand, now: datetime) -> None:
        about = {"purpose": "spoiled jars", "gauge_pa": diary.season.gauge_pa, "hold_min": 120.0,
                 "elevation_m": diary.season.elevation_m, "vessel": "two-layer"}  # fmt: skip
        jars = {life.jars[each.number]: "" for each in spoiled}
        entered = book_run.begin_run(diary.book, hand, about, jars, now)
        known[f"spoiled run {life.batch.key}"] = entered.record

    def event(name: str) -> Any:
        def entering(hand: book_jars.Hand, now: datetime) -> None:
            run = known[f"spoiled run {life.batch.key}"]
            noted = book_run.event_at(name, hand.at)
            book_run.note_run_event(diary.book, hand, run, noted, now)

        return entering

    diary.at(at, begin)
    for name, minutes in (("heat on", 5), ("pressure reached", 36), ("heat off", 156),
                          ("zero pressure", 200), ("opened", 900)):  # fmt: skip
        diary.at(at + timedelta(minutes=minutes), event(name))
    for place, fate in enumerate(spoiled):
        glass = "washed" if place % 2 == 0 else "binned"
        diary.at(at + timedelta(days=1, minutes=place), _back(diary, life, fate.number, glass))


def _back(diary: Diary, life: BatchLife, number: int, glass: str) -> Any:
    def entering(hand: book_jars.Hand, now: datetime) -> None:
        from spawnwright.store.book.history import seen_of

        jar = life.jars[number]
        with diary.book.read() as connection:
            seen = seen_of(connection, jar)
        book_jars.put_back(diary.book, hand, jar, glass, "binned", seen, now)

    return entering


def _quarantine(diary: Diary, life: BatchLife) -> None:
    last = max(each.spoils_on or 0.0 for each in life.fates)
    at = life.start + timedelta(days=round(last), hours=1)

    def entering(hand: book_jars.Hand, now: datetime) -> None:
        culture = diary.known[f"culture {life.batch.culture}"]
        book_doubt.quarantine(diary.book, hand, culture, str(life.batch.quarantine), now)

    diary.at(at, entering)


def _doubted_sack(diary: Diary) -> None:
    """A quarantine that was lifted again."""

    def doubt(hand: book_jars.Hand, now: datetime) -> None:
        book_doubt.quarantine(diary.book, hand, diary.known["lot grain"],
                              "smelled musty when it was opened", now)  # fmt: skip

    def lift(hand: book_jars.Hand, now: datetime) -> None:
        book_doubt.lift(diary.book, hand, diary.known["lot grain"],
                        "the control jar stayed clean for ten days", now)  # fmt: skip

    first = max(each.days_ago for each in diary.season.batches)
    diary.at(diary.days_ago(first + 15, 10), doubt)
    diary.at(diary.days_ago(max(first - 11, 1), 10), lift)


def _photo(diary: Diary, life: BatchLife) -> None:
    fate = min(
        (each for each in life.fates if each.spoils_on), key=lambda each: each.spoils_on or 0
    )
    at = life.start + timedelta(days=round(fate.spoils_on or 0), minutes=9 + fate.number)

    def entering(hand: book_jars.Hand, now: datetime) -> None:
        look = diary.known.get(f"look {life.batch.key} {fate.number}")
        picture = drawn_jar(life.percent(fate, fate.spoils_on or 0), life.batch.sign)
        book_looks.add_photo(diary.book, hand, life.jars[fate.number], look, picture, now)

    diary.at(at, entering)


def drawn_jar(percent: float, sign: str) -> bytes:
    """A small drawing that stands for a photo of a jar [%]; PNG."""
    from PIL import Image, ImageDraw

    image = Image.new("RGB", (360, 480), (206, 212, 206))
    draw = ImageDraw.Draw(image)
    draw.rounded_rectangle((70, 70, 290, 450), 30, (150, 112, 60), (90, 100, 95), 4)
    white = 440 - 3.6 * percent
    draw.rounded_rectangle((76, max(white, 110), 284, 444), 24, (240, 238, 230))
    draw.rectangle((86, 30, 274, 70), (120, 128, 124))
    draw.ellipse((230, 220, 280, 290), _MOLD.get(sign, (120, 120, 120)))
    packed = BytesIO()
    image.save(packed, "PNG")
    return packed.getvalue()


def _trace(diary: Diary, life: BatchLife) -> None:
    """What a logger wrote in the first run: the steam, every two minutes."""
    at = life.start + timedelta(hours=2)

    def entering(hand: book_jars.Hand, now: datetime) -> None:
        from spawnwright.store.book.history import current

        run = diary.known[f"run {life.batch.key}"]
        with diary.book.read() as connection:
            began = current(connection, [run])[run]["started_at"]
        hold = diary.season.hold_min
        minutes = [float(each) for each in range(0, int(hold) + 80, 2)]
        steam = [_steam_c(minute, hold, diary.chance.gauss(0, 0.15)) for minute in minutes]
        fields = {"run": run, "probe": "vessel_c", "began_at": began, "file": "run.csv",
                  "time_s": [60 * each for each in minutes], "temperature_c": steam}  # fmt: skip
        entry = Entry(f"{hand.step[:14]}t", "trace", fields)
        book_jars.enter(diary.book, hand, "logger of the run", (entry,), now)

    diary.at(at, entering, diary.season.laptop)


def _steam_c(minute: float, hold: float, noise: float) -> float:
    """Steam of an invented run [°C]: to boiling in 15 min, vented, held, cooling."""
    knots = ((0.0, 18.0), (15.0, 98.5), (25.0, 98.6), (31.0, 120.2), (31.0 + hold, 120.3),
             (80.0 + hold, 97.0))  # fmt: skip
    for (start, low), (end, high) in pairwise(knots):
        if minute <= end:
            return round(low + (high - low) * (minute - start) / (end - start) + noise, 2)
    return round(knots[-1][1] + noise, 2)


def _undone_look(diary: Diary, life: BatchLife) -> None:
    """A look at the wrong jar, undone a minute later."""
    at = life.start + timedelta(days=2, hours=2)

    def look(hand: book_jars.Hand, now: datetime) -> None:
        about = {"percent": 80.0, "sign": "as expected", "note": "wrong jar"}
        book_looks.add_look(diary.book, hand, life.jars[0], about, now)
        diary.at(hand.at + timedelta(minutes=1), undo(hand.step))

    def undo(step: str) -> Any:
        return lambda hand, now: book_jars.undo(diary.book, hand, step, now)

    diary.at(at, look)


def _disputed_place(diary: Diary, life: BatchLife) -> None:
    """Phone and laptop move one jar to two places without having seen each other."""
    at = life.start + timedelta(days=3, hours=3)

    def entering(hand: book_jars.Hand, now: datetime) -> None:
        from spawnwright.store.book.history import seen_of
        from spawnwright.store.book.journal import keep

        jar = life.jars[1]
        with diary.book.read() as connection:
            seen = seen_of(connection, jar)
        for device, place in ((diary.season.phone, "top shelf"),
                              (diary.season.laptop, "wardrobe")):  # fmt: skip
            entry = Entry(jar, "jar", {"stored_where": place}, seen)
            step = Step(f"{hand.step[:14]}{place[0]}", hand.at.isoformat(), hand.who, device,
                        "move a jar", (entry,))  # fmt: skip
            keep(diary.book, step, now)

    diary.at(at, entering)
