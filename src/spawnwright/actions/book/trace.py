"""A logger's file into the book: the traces of a run, and the lethality that it delivered."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from datetime import datetime
from hashlib import blake2b
from pathlib import Path
from typing import TYPE_CHECKING, Any

from spawnwright.actions.book.hand import change_entry
from spawnwright.errors import Contradiction, Unusable
from spawnwright.records.book.form import LONGEST_SERIES
from spawnwright.records.book.steps import Entry
from spawnwright.records.readings import ReadingChoices

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from spawnwright.records.run_record import RunRecord
    from spawnwright.records.sterilizing import SterilizeQuestion


@dataclass(frozen=True)
class TraceChoices:
    """What a person says about a logger's file: of which run it is, and how it is to be read."""

    run: str
    """ "last", the day of a run, or its id."""
    began_at: datetime | None = None
    """When its first row was written; without it, when the heat was put on."""
    core: str | None = None
    vessel: str | None = None
    reading: ReadingChoices = field(default_factory=ReadingChoices)


@dataclass(frozen=True)
class Taken:
    """What a logger's file adds to the book, as entries of one step, and what was found."""

    entries: tuple[Entry, ...]
    record: RunRecord
    notes: tuple[str, ...]


def is_notebook(source: Path) -> bool:
    """Whether a CSV is a notebook: its head line names jar, date and note."""
    from spawnwright.errors import BadFile

    try:
        with source.open("rb") as file:
            head = file.readline(2000).decode("utf-8-sig", "replace")
    except OSError as reason:
        raise BadFile(f"{source} cannot be read: {reason.strerror or reason}.") from reason
    names = {name.strip(" \"'").casefold() for name in head.replace(";", ",").replace(
        "\t", ",").strip().split(",")}  # fmt: skip
    return {"jar", "date", "note"} <= names


def entries_of_log(connection: Connection, source: Path, choices: TraceChoices) -> Taken:
    """What a logger's file says of a run: a trace for each sensor, and the lethality at the core.

    The lethality is what a sensor in the core of a jar measured; else a band that follows from
    the vessel's temperature, if the book knows which jars stood in the run and where. The same
    file again adds nothing.

    Raises
    ------
    BadFile
        If the file cannot be read.
    Contradiction
        If the run is no sterilizer run, or nothing says what any column measures.
    """
    from spawnwright.actions.sterilizing.run_record import Roles, run_record
    from spawnwright.store.book.history import current

    row = _run_meant(connection, choices.run)
    question, lacking = question_of_run(connection, row)
    record = run_record(source, choices.reading, Roles(choices.core, choices.vessel), question)
    began = choices.began_at or datetime.fromisoformat(row["started_at"])
    digest = blake2b(source.read_bytes(), digest_size=16).hexdigest()
    traces = {}
    for channel in record.channels:
        readings = channel.readings
        if len(readings.time_s) > LONGEST_SERIES:
            raise Unusable(
                f"{source} has {len(readings.time_s)} readings of {readings.column}; up to "
                f"{LONGEST_SERIES} are kept. Keep every second one, or fewer."
            )
        traces[_id(row["id"], readings.column, digest)] = {
            "run": row["id"], "probe": readings.column, "began_at": began, "file": source.name,
            "time_s": readings.time_s.tolist(),
            "temperature_c": readings.temperature_c.tolist(),
        }  # fmt: skip
    there = current(connection, traces)
    entries = [Entry(i, "trace", said) for i, said in traces.items() if i not in there]
    notes = [record.why]
    delivered = _delivered(row, record)
    if delivered and _is_measured(row) and not record.is_measured:
        notes.append("The run has a measured lethality; this estimate does not replace it.")
    elif delivered:
        entries.append(change_entry(row, delivered))
    if record.core_f0_min is None and lacking:
        notes.append(f"No lethality was put on the run: the book lacks {', '.join(lacking)}.")
    if choices.began_at is None:
        notes.append("Its first row is taken to be when the heat was put on; --began says else.")
    return Taken(tuple(entries), record, tuple(notes))


def _id(*parts: str) -> str:
    from spawnwright.store.book.notebook import hashed

    return hashed("\x1f".join(("trace", *parts)))


def _run_meant(connection: Connection, said: str) -> dict[str, Any]:
    import tzlocal

    from spawnwright.store.book.history import current
    from spawnwright.store.book.names import record_named

    record = record_named(connection, said, tzlocal.get_localzone())
    row = current(connection, [record])[record]
    if row["kind_of_record"] != "sterilizer run":
        raise Contradiction(
            f"{said!r} is a {row['kind_of_record']}, not a run; name one as last, by its day or id."
        )
    return row


def _delivered(row: dict[str, Any], record: RunRecord) -> dict[str, Any]:
    """What the run is to say of its lethality, as far as it does not say so already."""
    band = record.core_f0_min
    if band is None:
        return {}
    wanted = {f"f0_{name}_min": float(getattr(band, name)) for name in ("low", "likely", "high")}
    return {} if all(row[name] == value for name, value in wanted.items()) else wanted


def _is_measured(row: dict[str, Any]) -> bool:
    """Whether the lethality of a run has no band, as only a measured one has."""
    return row["f0_low_min"] is not None and row["f0_low_min"] == row["f0_high_min"]


def question_of_run(
    connection: Connection, run: dict[str, Any]
) -> tuple[SterilizeQuestion | None, list[str]]:
    """The jar whose core is to be worked out, of which most stood in the run; or what lacks."""
    from spawnwright.store.book.story import jars_in_run

    jars = jars_in_run(connection, run["id"])
    kinds = Counter((jar["jar_kind"], jar["fill"], jar["grain"]) for jar in jars)
    kind, fill, grain = kinds.most_common(1)[0][0] if kinds else (None, None, None)
    known = {
        "which jars stood in the run": kind, "how full they were": fill,
        "what grain was in them": grain, "the elevation": run["elevation_m"],
    }  # fmt: skip
    lacking = [what for what, value in known.items() if value is None]
    if lacking:
        return None, lacking
    textures = {jar["texture"] for jar in jars if jar["grain"] == grain} - {None}
    return _asked(run, str(kind), float(fill or 0), str(grain), textures), []


def _asked(
    run: dict[str, Any], kind: str, fill: float, grain: str, textures: set[str]
) -> SterilizeQuestion:
    from spawnwright.actions.catalogs import look_up
    from spawnwright.actions.steam import outside_air
    from spawnwright.actions.sterilizing.sterilize_load import assumed_canner
    from spawnwright.records.fill import Fill
    from spawnwright.records.grain import Grain
    from spawnwright.records.jar import Jar
    from spawnwright.records.sterilizing import SterilizeQuestion
    from spawnwright.units import PSI_PA

    jar, grown = look_up("jars", kind), look_up("grains", grain)
    assert isinstance(jar, Jar)
    assert isinstance(grown, Grain)
    ambient, _ = outside_air(run["elevation_m"], None, None)
    state: Any = textures.pop() if len(textures) == 1 else "unknown"
    return SterilizeQuestion(
        jar=jar, fill=Fill("share", fill, f"{fill:.0%}"), jars=1, grain=grown,
        canner=assumed_canner(jar, 1), gauge_pa=run["gauge_pa"] or 15 * PSI_PA,
        ambient_pa=ambient, grain_state=state,
    )  # fmt: skip
