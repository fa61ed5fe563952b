"""Forecasts of the jars in the book: one question for all jars that are alike, its answer kept.

This module is known to the server of the pages, so it imports no model; `work_out` does, in the
process beside it. Where a jar's own numbers are not in the book, what is usual stands in.
"""

from __future__ import annotations

import json
from bisect import bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime
from functools import lru_cache
from hashlib import blake2b
from math import isfinite
from typing import TYPE_CHECKING, Any

from spawnwright.errors import SpawnwrightError
from spawnwright.sources import COMMON, Constant

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from spawnwright.records.band import Band
    from spawnwright.store.book.engine import Book

MODEL = "colonization 1"
"""To be raised with every change of the models, so that kept answers are worked out anew."""
USUAL_FILL = Constant(0.67, "-", source=COMMON, where="jars are filled to about two thirds")
USUAL_GRAIN = "rye"
GRAIN_TO_GRAIN = Constant(
    0.1, "-", source=COMMON, where="one jar is emptied into about ten when nothing was weighed"
)
USUAL_SHAKE = Constant(0.30, "-", source=COMMON, where="a jar is shaken at about a third")
_STEPS = {"fill": 0.02, "shelf_c": 0.5, "dose_ml": 0.5, "grain_dose_kg": 0.01, "shake_at": 0.05}


@dataclass(frozen=True)
class Question:
    """What a forecast is made from, rounded so that jars that are alike share one.

    `own` stands for the grower's own catalogs, which change the answer.
    """

    species: str
    jar_kind: str
    fill: float
    grain: str
    shelf_c: float
    way: str
    dose_ml: float | None = None
    grain_dose_kg: float | None = None
    shake_at: float | None = None
    own: str = ""

    @property
    def key(self) -> str:
        """The name that the answer is kept under."""
        return _key(self)


@lru_cache(maxsize=4096)
def _key(question: Question) -> str:
    text = json.dumps(asdict(question), sort_keys=True)
    return f"colonize-{blake2b(text.encode(), digest_size=12).hexdigest()}"


@dataclass(frozen=True)
class JarForecast:
    """A forecast as pages use it: percent of the grain by days since the inoculation.

    Bands are (low, likely, high) in days, none for what may never come. With a `problem`, the
    model refused, and the rest is empty.
    """

    day: tuple[float, ...] = ()
    low: tuple[float, ...] = ()
    likely: tuple[float, ...] = ()
    high: tuple[float, ...] = ()
    colonized: tuple[float | None, ...] = (None, None, None)
    ready: tuple[float | None, ...] = (None, None, None)
    shake: tuple[float | None, ...] = (None, None, None)
    shake_share: float = 0.0
    widest_cause: str | None = None
    narrow_it_with: str = ""
    notes: tuple[str, ...] = ()
    problem: str = ""

    def percent_on(self, day: float) -> tuple[float, float, float] | None:
        """Low, likely and high percent on a day, which may be a fraction; none without a curve."""
        if not self.day or day < 0:
            return None
        after = bisect_right(self.day, day)
        if after == len(self.day):
            return self.low[-1], self.likely[-1], self.high[-1]
        start, end = self.day[after - 1], self.day[after]
        part = (day - start) / (end - start)
        low, likely, high = (
            each[after - 1] + part * (each[after] - each[after - 1])
            for each in (self.low, self.likely, self.high)
        )
        return low, likely, high


@dataclass(frozen=True)
class Asked:
    """A jar's question, or the sentence why there is none; and what was found on the way."""

    question: Question | None
    why_not: str
    species: str | None
    inoculated_at: str | None
    way: str
    is_shaken: bool
    batch_name: str | None


def questions(connection: Connection, jars: Sequence[Mapping[str, Any]]) -> dict[str, Asked]:
    """What is to be asked for each of some jars, by id.

    Parameters
    ----------
    connection : Connection
        A view of the book.
    jars : sequence of mappings
        Rows of jars.
    """
    from spawnwright.store.book import origins

    ids = [jar["id"] for jar in jars]
    inoculated = origins.first_inoculations(connection, ids)
    species = origins.species_of_jars(connection, inoculated)
    shaken = origins.first_shakes(connection, ids)
    batches = origins.batches_named(connection, _named(jars, "batch"))
    grains = origins.grains_of(connection, _named(jars, "grain_batch"))
    shares = _shares_at(connection, shaken)
    own = _own_catalogs()
    asked = {}
    for jar in jars:
        batch = batches.get(jar["batch"] or "", {})
        about = {
            "species": species.get(jar["id"]) or batch.get("species"),
            "grain": grains.get(jar["grain_batch"] or "", USUAL_GRAIN),
            "shelf_c": batch.get("shelf_c") if jar["shelf_c"] is None else jar["shelf_c"],
            "shake_at": shares.get(jar["id"]),
            "own": own,
            "batch_name": batch.get("name"),
        }
        asked[jar["id"]] = _asked(jar, inoculated.get(jar["id"]), about)
    return asked


def _named(jars: Sequence[Mapping[str, Any]], column: str) -> set[str]:
    return {jar[column] for jar in jars if jar[column]}


def _asked(
    jar: Mapping[str, Any], inoculation: Mapping[str, Any] | None, about: Mapping[str, Any]
) -> Asked:
    why, question = "", None
    way = _way(inoculation)
    if inoculation is None:
        why = "Nothing was put into it yet." if not jar["is_control"] else (
            "A control: nothing should grow in it."
        )  # fmt: skip
    elif about["species"] is None:
        why = "The book does not say which species this is: name the strain of the culture."
    elif about["shelf_c"] is None:
        why = "The temperature of its shelf is not in the book."
    else:
        question = Question(
            species=about["species"], jar_kind=jar["jar_kind"],
            fill=_near("fill", jar["fill"] or float(USUAL_FILL)), grain=about["grain"],
            shelf_c=_near("shelf_c", about["shelf_c"]), way=way,
            dose_ml=_near_if("dose_ml", inoculation["dose_ml"]),
            grain_dose_kg=_grain_dose(jar, inoculation),
            shake_at=_near_if("shake_at", about["shake_at"]), own=about["own"],
        )  # fmt: skip
    return Asked(
        question, why, about["species"], None if inoculation is None else inoculation["at"], way,
        about["shake_at"] is not None, about["batch_name"],
    )  # fmt: skip


def _way(inoculation: Mapping[str, Any] | None) -> str:
    """Grain-to-grain is mixed through the jar; of liquid the way is told, or runs down."""
    if inoculation is None:
        return "spread"
    return str(inoculation["way"] or ("through" if inoculation["from_jar"] else "spread"))


def _grain_dose(jar: Mapping[str, Any], inoculation: Mapping[str, Any]) -> float | None:
    """Grain spawn put in [kg]; zero if it was not weighed, nor the grain; none for liquid."""
    if not inoculation["from_jar"]:
        return None
    if inoculation["dose_g"]:
        return _near("grain_dose_kg", inoculation["dose_g"] / 1000)
    return _near("grain_dose_kg", (jar["grain_kg"] or 0.0) * GRAIN_TO_GRAIN)


def _near(name: str, value: float) -> float:
    step = _STEPS[name]
    return round(round(value / step) * step, 6)


def _near_if(name: str, value: float | None) -> float | None:
    return None if value is None else max(_near(name, value), _STEPS[name])


def _shares_at(connection: Connection, shaken: Mapping[str, str]) -> dict[str, float]:
    """The share that was white when each jar was shaken: of the look before, or the usual one."""
    from spawnwright.store.book.seen import percents_before

    seen = percents_before(connection, shaken)
    return {
        jar: min(0.95, max(0.05, seen[jar] / 100)) if jar in seen else float(USUAL_SHAKE)
        for jar in shaken
    }


def _own_catalogs() -> str:
    """A text that changes with the grower's own files."""
    from spawnwright.store.catalog import own_folder

    told = []
    for name in ("species", "jars", "grains"):
        file = own_folder() / f"{name}.toml"
        if file.is_file():
            at = file.stat()
            told.append(f"{name} {at.st_mtime_ns} {at.st_size}")
    return "; ".join(told)


def kept_forecasts(connection: Connection, keys: Iterable[str]) -> dict[str, JarForecast]:
    """The answers that are there, by key, if they were made by the models as they are now."""
    from spawnwright.store.book.forecasts import get_forecasts

    found = get_forecasts(connection, sorted(set(keys)))
    return {key: _read(each.answer) for key, each in found.items() if each.model == MODEL}


@lru_cache(maxsize=256)
def _read(answer: str) -> JarForecast:
    told: dict[str, Any] = json.loads(answer)
    kept: dict[str, Any] = {
        name: tuple(each) if isinstance(each, list) else each for name, each in told.items()
    }
    return JarForecast(**kept)


def keep_forecast(book: Book, key: str, answer: str, now: datetime) -> JarForecast:
    """Keep an answer of `work_out` for the next time; gives it back, read."""
    from spawnwright.store.book.forecasts import put_forecast

    with book.write() as connection:
        put_forecast(connection, key, MODEL, answer, now)
    return _read(answer)


def work_out(question: Question) -> str:
    """The forecast for a question, as JSON; what the models refuse is an answer as well.

    Takes about a quarter of a second, and loads the models: not for the server itself.
    """
    try:
        return json.dumps(_worked_out(question))
    except SpawnwrightError as problem:
        return json.dumps({"problem": str(problem)})


def _worked_out(question: Question) -> dict[str, Any]:
    from spawnwright.actions.catalogs import look_up
    from spawnwright.actions.growing.colonize import ColonizeQuestion, colonize
    from spawnwright.records.fill import Fill

    grain: Any = look_up("grains", question.grain)
    jar: Any = look_up("jars", question.jar_kind)
    species: Any = look_up("species", question.species)
    asked = ColonizeQuestion(
        species, jar, Fill("share", question.fill), grain, question.shelf_c,
        dose_m3=None if question.dose_ml is None else question.dose_ml * 1e-6,
        pattern=question.way,  # type: ignore[arg-type]
        starting_points=_kernels(question, grain, jar), shake_at=question.shake_at,
    )  # fmt: skip
    found = colonize(asked)
    return {
        "day": found.curve.day, "low": found.curve.percent_low,
        "likely": found.curve.percent_likely, "high": found.curve.percent_high,
        "colonized": _days(found.days_to_colonized), "ready": _days(found.ready_day),
        "shake": _days(found.shake_day), "shake_share": found.shake_share,
        "widest_cause": found.widest_cause, "narrow_it_with": found.narrow_it_with,
        "notes": found.notes,
    }  # fmt: skip


def _kernels(question: Question, grain: Any, jar: Any) -> int | None:
    """Starting points of grain-to-grain: the kernels put in; none for liquid culture."""
    if question.grain_dose_kg is None:
        return None
    from spawnwright.model.grain.swelling import wet_bulk_density_kg_m3
    from spawnwright.model.growing.colonization import SOAKED_MOISTURE, kernels_input

    density = float(wet_bulk_density_kg_m3(grain, float(SOAKED_MOISTURE)))
    volume = question.fill * float(jar.nominal_volume_m3)
    dose = question.grain_dose_kg / density if question.grain_dose_kg else volume * GRAIN_TO_GRAIN
    return max(1, round(kernels_input(grain, dose).likely))


def _days(found: Band) -> list[float | None]:
    return [float(each) if isfinite(each) else None for each in
            (found.low, found.likely, found.high)]  # fmt: skip
