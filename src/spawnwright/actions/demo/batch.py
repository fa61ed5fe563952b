"""The life of one batch of the demo's season, from the soak to the last flush."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from math import isfinite
from typing import TYPE_CHECKING, Any

from spawnwright.actions.book import end as book_end
from spawnwright.actions.book import inoculate as book_inoculate
from spawnwright.actions.book import jars as book_jars
from spawnwright.actions.book import looks as book_looks
from spawnwright.actions.book import run as book_run
from spawnwright.actions.demo.diary import Diary
from spawnwright.records.book.steps import Entry
from spawnwright.records.season import SeasonBatch

if TYPE_CHECKING:
    from spawnwright.actions.growing.colonize import ColonizeAnswer

LOOK_EVERY_D = 3
STALLS_AT = 35.0
_HEAT = (("heat on", 0), ("steady jet", 15), ("vent closed", 25), ("pressure reached", 31))


@dataclass(frozen=True)
class Fate:
    """What becomes of one jar; `quickness` is its place in the band of the forecast, 0 to 1."""

    number: int
    quickness: float
    spoils_on: float | None = None
    """Days after inoculation."""
    stalls: bool = False
    is_control: bool = False


class BatchLife:
    """Plans the entries of a batch into the diary."""

    def __init__(self, diary: Diary, batch: SeasonBatch, growth: ColonizeAnswer) -> None:
        self.diary, self.batch, self.growth = diary, batch, growth
        self.start = diary.days_ago(batch.days_ago, 19.5)
        self.fates = self._fates()
        self.jars: dict[int, str] = {}

    def _fates(self) -> list[Fate]:
        chance, batch = self.diary.chance, self.batch
        order = list(range(batch.jars - batch.controls))
        chance.shuffle(order)
        spoiled = {number: 4.0 + chance.random() * 3 + place * 0.4
                   for place, number in enumerate(order[: batch.spoiled])}  # fmt: skip
        stalled = set(order[batch.spoiled : batch.spoiled + batch.stalled])
        return [
            Fate(number, chance.uniform(0.1, 0.9), spoiled.get(number), number in stalled,
                 number >= batch.jars - batch.controls)
            for number in range(batch.jars)
        ]  # fmt: skip

    # Made

    def plan(self) -> None:
        """Everything up to now."""
        diary, batch, book = self.diary, self.batch, self.diary.book
        laptop = diary.season.laptop
        filled = self.start - timedelta(hours=29)
        if not batch.planned:
            fields = {"name": batch.name, "started_at": filled - timedelta(days=1),
                      "shelf_c": diary.season.shelf_c, "wanted_jars": batch.jars,
                      "species": diary.known[f"species {batch.key}"]}  # fmt: skip
            diary.at(filled - timedelta(days=1), self._new("batch", fields, batch.name), laptop)
        texture = "sticks" if batch.pressure_lost else "pours"
        grain = {"grain": "rye", "lot": lambda: diary.known["lot grain"],
                 "dry_kg": 0.24 * batch.jars, "dry_moisture": 0.12,
                 "soak_h": 14.0, "water_c": 18.0, "simmer_min": 18.0,
                 "drained_kg": round(0.24 * batch.jars * diary.chance.uniform(1.62, 1.70), 2),
                 "moisture_low": 0.455, "moisture_likely": 0.475, "moisture_high": 0.495,
                 "texture": texture, "gypsum_g": round(1.2 * batch.jars, 1)}  # fmt: skip
        made_at = filled - timedelta(hours=1)
        diary.at(made_at, self._new("grain batch", grain | {"made_at": made_at}, "weigh the grain"))
        diary.at(filled, lambda hand, now: self._fill(book, hand, now))
        self._run(filled + timedelta(minutes=40))
        if batch.days_ago <= 0:
            return
        diary.at(self.start, self._inoculate)
        self._looks()
        for fate in self.fates:
            if fate.spoils_on is not None:
                self._spoils(fate, fate.spoils_on)
        ready = self.growth.ready_day.likely
        if isfinite(ready):
            self._uses(self.start + timedelta(days=ready + 3))

    def _new(self, kind: str, fields: dict[str, Any], title: str) -> Any:
        def entering(hand: book_jars.Hand, now: datetime) -> None:
            record = f"{hand.step[:13]}{kind[0]}"
            self.diary.known[f"{kind} {self.batch.key}"] = record
            said = {name: each() if callable(each) else each for name, each in fields.items()}
            book_jars.enter(self.diary.book, hand, title[:200], (Entry(record, kind, said),), now)

        return entering

    def _fill(self, book: Any, hand: book_jars.Hand, now: datetime) -> None:
        batch, known = self.batch, self.diary.known
        about = {"jar_kind": batch.jar, "fill": batch.fill, "grain_batch":
                 known[f"grain batch {batch.key}"], "lid_batch": known["lid batch"],
                 "stored_where": "shelf", "batch": known[f"batch {batch.key}"]}  # fmt: skip
        jars = book_jars.fill_jars(book, hand, batch.jars, about, now)
        self.jars = dict(enumerate(jars.values()))
        known[f"jars {batch.key}"] = self.jars
        for fate in self.fates:
            if fate.is_control:
                code = list(jars)[fate.number]
                self.diary.at(hand.at + timedelta(minutes=2), self._mark_control(fate.number, code))

    def _mark_control(self, number: int, code: str) -> Any:
        def entering(hand: book_jars.Hand, now: datetime) -> None:
            from spawnwright.store.book.history import seen_of

            jar = self.jars[number]
            with self.diary.book.read() as connection:
                seen = seen_of(connection, jar)
            entry = Entry(jar, "jar", {"is_control": True}, seen)
            book_jars.enter(self.diary.book, hand, f"{code} is the control jar", (entry,), now)

        return entering

    # Sterilized and inoculated

    def _run(self, at: datetime) -> None:
        diary, season = self.diary, self.diary.season
        about = {"gauge_pa": season.gauge_pa, "hold_min": season.hold_min,
                 "elevation_m": season.elevation_m, "vessel": "two-layer"}  # fmt: skip
        is_live = self.batch.days_ago <= 0
        if is_live:
            at = diary.now - timedelta(minutes=80)

        def begin(hand: book_jars.Hand, now: datetime) -> None:
            whole = about | {"batch": diary.known[f"batch {self.batch.key}"]}
            places = {jar: "bottom" if n < 7 else "top" for n, jar in self.jars.items()}
            entered = book_run.begin_run(diary.book, hand, whole, places, now)
            diary.known[f"run {self.batch.key}"] = entered.record

        diary.at(at, begin)
        hold = season.hold_min
        events = [(name, minutes + 1.0) for name, minutes in _HEAT]
        if self.batch.pressure_lost:
            events += [("pressure lost", 62.0), ("back at pressure", 71.0)]
            hold += 9
        events += [("heat off", 32 + hold), ("zero pressure", 75 + hold)]
        for name, minutes in events:
            diary.at(at + timedelta(minutes=minutes), self._event(name))
        diary.at(at + timedelta(minutes=hold + 720), self._opened)

    def _event(self, name: str, lethality: Any = None) -> Any:
        def entering(hand: book_jars.Hand, now: datetime) -> None:
            gauge = 55_000.0 if name == "pressure lost" else None
            event = book_run.event_at(name, hand.at, gauge)
            run = self.diary.known[f"run {self.batch.key}"]
            book_run.note_run_event(self.diary.book, hand, run, event, now, lethality)

        return entering

    def _opened(self, hand: book_jars.Hand, now: datetime) -> None:
        from spawnwright.actions.sterilizing.watch_live import delivered
        from spawnwright.records.kit import Kit

        run = self.diary.known[f"run {self.batch.key}"]
        with self.diary.book.read() as connection:
            head, _ = book_run.setup_of_run(connection, run, Kit())
            events = book_run.run_events(connection, run)
        opened = (*events, book_run.event_at("opened", hand.at))
        key = repr((head, [(e.name, e.at - events[0].at) for e in opened]))
        if key not in self.diary.known:
            self.diary.known[key] = delivered(run, head, opened, now)
        self._event("opened", self.diary.known[key])(hand, now)

    def _inoculate(self, hand: book_jars.Hand, now: datetime) -> None:
        diary, batch = self.diary, self.batch
        jars = [self.jars[each.number] for each in self.fates if not each.is_control]
        about: dict[str, Any] = {"way": "spread", "worked_where": "still air box"}
        if batch.culture is not None:
            culture = diary.known[f"culture {batch.culture}"]
            about |= {"dose_ml": batch.dose_ml or 2.0}
            book_inoculate.inoculate(diary.book, hand, culture, jars, now, about)
            return
        free = diary.known[f"free {batch.from_batch}"]
        source = free.pop(0)
        book_inoculate.grain_to_grain(diary.book, hand, source, jars, now, about | {"dose_g": 70.0})

    # Seen

    def percent(self, fate: Fate, day: float) -> float:
        """How far a jar is on a day after inoculation [%]."""
        curve = self.growth.curve
        whole = min(int(day), len(curve.day) - 2)
        part = min(day - whole, 1.0)

        def at(series: tuple[float, ...]) -> float:
            return series[whole] + part * (series[whole + 1] - series[whole])

        every = (curve.percent_low, curve.percent_likely, curve.percent_high)
        low, likely, high = (at(each) for each in every)
        share = fate.quickness
        grown = low + 2 * share * (likely - low) if share < 0.5 else (
            likely + 2 * (share - 0.5) * (high - likely))  # fmt: skip
        return min(grown, STALLS_AT) if fate.stalls else grown

    def _looks(self) -> None:
        diary = self.diary
        last = min((diary.now - self.start).days, int(self._end_day()))
        shake = self.growth.shake_day.likely
        for day in range(2, last + 1, LOOK_EVERY_D):
            at = self.start + timedelta(days=day, minutes=diary.chance.uniform(0, 50))
            diary.at(at, self._round(day))
        if isfinite(shake) and shake < last:
            diary.at(self.start + timedelta(days=round(shake), hours=1), self._shake)

    def _end_day(self) -> float:
        ready = self.growth.ready_day.high
        return min(ready if isfinite(ready) else 45.0, 45.0) + 4

    def _round(self, day: int) -> Any:
        def entering(hand: book_jars.Hand, now: datetime) -> None:
            there = self._there()
            seen = {
                self.jars[fate.number]: self._seen(fate, day)
                for fate in there
                if fate.stalls or fate.is_control or fate.quickness < 0.35 or day % 2
            }
            jars = [self.jars[fate.number] for fate in there]
            if jars:
                book_looks.round_as_expected(self.diary.book, hand, jars, now, seen)

        return entering

    def _seen(self, fate: Fate, day: int) -> dict[str, Any]:
        if fate.is_control:
            return {"percent": 0.0, "sign": "nothing yet", "note": "control: nothing, as it should"}
        percent = 5 * round(self.percent(fate, day + self.diary.chance.uniform(-0.6, 0.6)) / 5)
        sign = "as expected" if percent or day > 4 else "nothing yet"
        look: dict[str, Any] = {"percent": float(min(max(percent, 0), 100)), "sign": sign}
        if fate.stalls and day > 8:
            look["note"] = "no further than last time"
        return look

    def _there(self) -> list[Fate]:
        from spawnwright.store.book.history import current

        with self.diary.book.read() as connection:
            rows = current(connection, self.jars.values())
        return [each for each in self.fates if rows[self.jars[each.number]]["outcome"] is None]

    def _shake(self, hand: book_jars.Hand, now: datetime) -> None:
        jars = [self.jars[each.number] for each in self._there()
                if not each.is_control and not each.stalls]  # fmt: skip
        if jars:
            book_looks.add_shake(self.diary.book, hand, jars, now)

    # What becomes of them

    def _spoils(self, fate: Fate, day: float) -> None:
        diary, sign = self.diary, self.batch.sign
        at = self.start + timedelta(days=round(day), minutes=7 + fate.number)

        def look(hand: book_jars.Hand, now: datetime) -> None:
            about = {"percent": float(5 * round(self.percent(fate, day) / 5)), "sign": sign,
                     "place": "at the glass, halfway up"}  # fmt: skip
            entered = book_looks.add_look(diary.book, hand, self.jars[fate.number], about, now)
            diary.known[f"look {self.batch.key} {fate.number}"] = entered.record

        def spoiled(hand: book_jars.Hand, now: datetime) -> None:
            book_end.end_jar(
                diary.book, hand, self.jars[fate.number], "spoiled", now, f"{sign} mold"
            )

        def away(hand: book_jars.Hand, now: datetime) -> None:
            book_end.move_away(diary.book, hand, self.jars[fate.number], now)

        diary.at(at, look)
        diary.at(at + timedelta(minutes=1), spoiled)
        is_last = fate.spoils_on == max(each.spoils_on or 0 for each in self.fates)
        if not (self.batch.quarantine and is_last):
            diary.at(at + timedelta(minutes=2), away)

    def _uses(self, at: datetime) -> None:
        """Jars that are ready: a few stay for the next generation, the others are used."""
        diary, batch = self.diary, self.batch

        def sort(hand: book_jars.Hand, now: datetime) -> None:
            good = [each for each in self._there() if not each.stalls and not each.is_control]
            jars = [self.jars[each.number] for each in good]
            diary.known[f"free {batch.key}"] = jars[:2]
            for place, jar in enumerate(jars[2 : 2 + batch.given_away]):
                diary.at(hand.at + timedelta(minutes=5 + place), self._ends(jar, "given away"))
            rest = jars[2 + batch.given_away :]
            for number in range(batch.blocks):
                part = rest[number :: batch.blocks]
                if part:
                    when = hand.at + timedelta(hours=1 + number)
                    diary.at(when, self._block(part, number + 1))
            for fate in self._there():
                if fate.stalls or fate.is_control:
                    later = hand.at + timedelta(days=12)
                    diary.at(later, self._ends(self.jars[fate.number], "discarded"))

        diary.at(at, sort)

    def _ends(self, jar: str, outcome: str) -> Any:
        def entering(hand: book_jars.Hand, now: datetime) -> None:
            from spawnwright.store.book.history import current

            with self.diary.book.read() as connection:
                is_there = current(connection, [jar])[jar]["outcome"] is None
            if is_there:
                book_end.end_jar(self.diary.book, hand, jar, outcome, now)

        return entering

    def _block(self, jars: list[str], number: int) -> Any:
        diary, batch = self.diary, self.batch
        substrate_kg = 3.5 * len(jars)

        def use(hand: book_jars.Hand, now: datetime) -> None:
            about = {"name": f"{batch.name} {number}", "container": "bucket" if number % 2 else
                     "block", "substrate": "wheat straw", "substrate_kg": substrate_kg,
                     "stored_where": "cellar"}  # fmt: skip
            spawn = {jar: round(diary.chance.uniform(0.5, 0.6), 2) for jar in jars}
            entered = book_end.use_jars(diary.book, hand, spawn, about, now)
            picked = hand.at + timedelta(days=diary.chance.uniform(24, 30))
            for flush in range(1, batch.flushes + 1):
                mass = substrate_kg * diary.chance.uniform(0.12, 0.17) / flush
                diary.at(picked, self._harvest(entered.record, round(mass, 2), flush))
                picked += timedelta(days=diary.chance.uniform(9, 14))
            diary.at(picked, self._block_ends(entered.record))

        return use

    def _harvest(self, block: str, mass_kg: float, flush: int) -> Any:
        def entering(hand: book_jars.Hand, now: datetime) -> None:
            book_end.add_harvest(self.diary.book, hand, block, mass_kg, now, flush)

        return entering

    def _block_ends(self, block: str) -> Any:
        def entering(hand: book_jars.Hand, now: datetime) -> None:
            book_end.end_block(self.diary.book, hand, block, now)

        return entering
