"""A wish asked by a form: from what was typed to the text of a wish file, and back.

The text is read by the reader of wish files, so that both are held to the same rules; what is
wrong with a line is said of the field that it came from.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

from spawnwright.actions.planning.questions import DAYS, GROUPS, QUESTIONS, USUAL_HOURS, Question
from spawnwright.errors import SpawnwrightError, Unusable
from spawnwright.units import fahrenheit, parse, written_mass

if TYPE_CHECKING:
    from spawnwright.records.kit import Kit
    from spawnwright.records.wish import Wish

Typed = Mapping[str, Sequence[str]]
ORIGIN = "the wish"
AMOUNTS = {"jars": "Good jars of spawn", "mushrooms": "Fresh mushrooms"}
FIRST_JARS, FIRST_FREE, FIRST_DAYS = "5", "7", 42
"""A first wish for who has entered nothing yet: one load of a usual canner, six weeks ahead."""
CAUTIOUS_ELEVATION = {"metric": "500", "us": "1600"}
"""Taken where none is known: holds come out rather too long than too short below it."""
_PLACE = re.compile(rf"^{ORIGIN}, line (\d+)(?:, (?:'\w+'|\[\w+\]))?: (.*)$", re.DOTALL)


@dataclass(frozen=True)
class Written:
    """The text of a wish, and which field each of its lines came from."""

    text: str
    field_of_line: dict[int, str]


def written_wish(typed: Typed, units: str = "metric", zone: str = "") -> Written:
    """What was typed as the text of a wish file.

    Parameters
    ----------
    typed : mapping
        What stands in each field, by its name; empty for what was left out.
    units : str
        "metric" or "us": what a bare number is counted in.
    zone : str
        The name of the grower's time zone; left out, this computer's.

    Raises
    ------
    Unusable
        If a field that is needed was left empty.
    """
    lines: list[str] = []
    fields: dict[int, str] = {}

    def add(line: str, name: str = "") -> None:
        lines.append(line)
        if name:
            fields[len(lines)] = name

    tables = dict.fromkeys(each.table for group in GROUPS for each in group.questions)
    for table in tables:
        add(f"[{table}]")
        if table == "wish":
            add(_amount(typed, units), "amount")
        for question in QUESTIONS.values():
            if question.table == table and (line := _line(question, typed, units)):
                add(line, question.name)
        if table == "place" and zone:
            add(f"time_zone = {_quoted(zone)}")
        add("")
    for head, body in _hours(typed):
        add("[[free]]")
        add(head, "hours")
        for line in body:
            add(line, "hours")
        add("")
    return Written("\n".join(lines).strip() + "\n", fields)


def _text(typed: Typed, name: str) -> str:
    found = [each.strip() for each in typed.get(name, ()) if each.strip()]
    return re.sub(r"[\x00-\x1f\x7f]", " ", found[-1]) if found else ""


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)


def _amount(typed: Typed, units: str) -> str:
    amount = _text(typed, "amount")
    if not amount:
        raise Unusable("How much you want is missing; fill it in.")
    if _text(typed, "amount_of") == "mushrooms":
        return f"fresh_mushrooms = {_quoted(_with_unit(amount, 'lb' if units == 'us' else 'kg'))}"
    return f"jars = {_count(amount)}"


def _line(question: Question, typed: Typed, units: str) -> str:
    text = _text(typed, question.name)
    if question.kind == "flag":
        return f"{question.key} = {'true' if text else 'false'}"
    if not text:
        if question.is_needed:
            raise Unusable(f"{question.said}: this is missing; fill it in.")
        return ""
    if question.kind == "count":
        return f"{question.key} = {_count(text)}"
    return f"{question.key} = {_quoted(_with_unit(text, question.unit_in(units)))}"


def _count(text: str) -> str:
    return str(int(text)) if re.fullmatch(r"\d{1,6}", text) else _quoted(text)


def _with_unit(text: str, unit: str) -> str:
    """A bare number with its unit; what carries one already stays."""
    bare = re.fullmatch(r"-?\d+(?:[.,]\d+)?", text)
    if not bare or not unit:
        return text
    return f"{text}%" if unit == "%" else f"{text} {unit}"


def _hours(typed: Typed) -> list[tuple[str, list[str]]]:
    """Each day's hours; days that share them stand together."""
    windows: dict[tuple[str, str], list[str]] = {}
    for day, _ in DAYS:
        for start, until in _pairs(typed, day):
            windows.setdefault((start, until), []).append(day)
    found = [
        (f"days = {json.dumps(days)}", [f"from = {_quoted(start)}", f"until = {_quoted(until)}"])
        for (start, until), days in windows.items()
    ]
    dates = list(typed.get("date", ()))
    for date, (start, until) in zip(dates, _pairs(typed, "date", keep=True), strict=False):
        if date.strip() and start and until:
            body = [f"from = {_quoted(start)}", f"until = {_quoted(until)}"]
            found.append((f"on = {_quoted(date.strip())}", body))
    if not found:
        raise Unusable("Your hours: none are filled in; give at least one day on which you work.")
    return found


def _pairs(typed: Typed, day: str, *, keep: bool = False) -> list[tuple[str, str]]:
    starts, ends = list(typed.get(f"{day}_from", ())), list(typed.get(f"{day}_until", ()))
    found = [(start.strip()[:5], until.strip()[:5]) for start, until in
             zip(starts, ends, strict=False)]  # fmt: skip
    for start, until in found:
        if bool(start) != bool(until):
            name = dict(DAYS).get(day, "another day")
            raise Unusable(f"Your hours, {name}: from and until go together; one is missing.")
    return found if keep else [each for each in found if each[0]]


def read_typed(typed: Typed, units: str, now: datetime) -> tuple[str, Wish]:
    """The text of the wish that was typed, and the wish itself.

    Parameters
    ----------
    typed, units
        As `written_wish`.
    now : datetime
        When the plan is asked for, in the grower's time zone.

    Raises
    ------
    Unusable
        Naming the field as the form does.
    """
    from spawnwright.store.catalog import own_folder
    from spawnwright.store.wish_file import parse_wish

    written = written_wish(typed, units, getattr(now.tzinfo, "key", ""))
    try:
        return written.text, parse_wish(written.text, ORIGIN, now, own_folder())
    except SpawnwrightError as problem:
        raise Unusable(_in_words(str(problem), written)) from problem


def _in_words(problem: str, written: Written) -> str:
    """A sentence about a line as one about the field that it came from."""
    told = _PLACE.match(problem)
    if told is None:
        return problem
    name = written.field_of_line.get(int(told[1]), "")
    said = {"amount": "How much you want", "hours": "Your hours"}.get(name)
    if said is None and name in QUESTIONS:
        said = QUESTIONS[name].said
    text = plainly(told[2])
    return f"{said}: {text}" if said else f"{text[0].upper()}{text[1:]}"


_PLAIN = (
    (re.compile(r"\bjars_free is (\d+)"), r"you have \1 clean jars"),
    (re.compile(r"\blids_free is (\d+)"), r"you have \1 lids"),
    (re.compile(r"\bready_by (?:is|=) (\d\S+)"), r"ready by \1"),
    (re.compile(r"\bready_by is too near"), "That day is too near"),
    (re.compile(r"\bready_by or start is missing"), "a day is missing: ready by, or begin"),
    (re.compile(r'\bchance = "([^"]+)"'), r"\1 for how sure you want to be"),
    (re.compile(r'\bcooling = "opened warm"'), "opening the canner at zero pressure"),
    (re.compile(r'\bjar = "([^"]+)"'), r"jars of the kind \1"),
    (re.compile(r"\bfresh_mushrooms\b"), "mushrooms"),
    (re.compile(r"\bready_by\b"), "ready by"),
    (re.compile(r"\bstart must come before\b"), "the day to begin must come before"),
    (re.compile(r"\bunder \[losses\]"), "among your own losses"),
    (re.compile(r"\b(\w+)_since\b"), r"\1 since"),
    (re.compile(r"\bsterile_jars\b"), "sterile jars"),
)


_TAKEN = "Taken where the wish says nothing: "


def plainly(text: str) -> str:
    """A sentence of the planner without the names of the wish file."""
    if text.startswith(_TAKEN):
        return _taken(text.removeprefix(_TAKEN).rstrip("."))
    for name, words in _PLAIN:
        text = name.sub(words, text)
    return text


def _taken(lines: str) -> str:
    named = {(each.table, each.key): each.said for each in QUESTIONS.values()}
    told = []
    for line in lines.split("; "):
        found = re.match(r"(\w+)\.(\w+) = \"?([^\"]*)", line)
        if found and (said := named.get((found[1], found[2]))):
            told.append(f"{said.lower()}: {found[3]}")
    return f"Taken where nothing was filled in: {'; '.join(told)}." if told else ""


def first_typed(kit: Kit, units: str, now: datetime) -> dict[str, list[str]]:
    """What stands in the form before anything is typed: the kit's values, else usual ones.

    Parameters
    ----------
    kit : Kit
        The grower's kit.
    units : str
        "metric" or "us".
    now : datetime
        In the grower's time zone.
    """
    usual = {
        "amount": FIRST_JARS, "amount_of": "jars", "species": "blue-oyster", "jar": "quart",
        "jars_free": FIRST_FREE, "canner": "two-layer", "elevation": CAUTIOUS_ELEVATION[units],
        "ready_by": (now + timedelta(days=FIRST_DAYS)).date().isoformat(),
    }  # fmt: skip
    for question in QUESTIONS.values():
        if question.usual and question.usual != "false":
            usual[question.name] = _shown(question, question.usual, units)
    found = {name: [text] for name, text in (usual | _of_kit(kit, units)).items()}
    for day, _ in DAYS:
        found[f"{day}_from"], found[f"{day}_until"] = [USUAL_HOURS[0]], [USUAL_HOURS[1]]
    return found


_KIND_OF_UNIT = {"C": "temperature", "m": "elevation", "kg": "mass", "L": "volume"}


def _shown(question: Question, text: Any, units: str) -> str:
    """A value of a wish file as its field shows it: a bare number in the unit of the box."""
    unit, written = question.unit_in(units), str(text).strip()
    if not unit or written.endswith(unit):
        return written.removesuffix(unit).rstrip() if unit else written
    try:
        kind = _KIND_OF_UNIT[question.unit]
        found = parse(written, kind)
    except (KeyError, SpawnwrightError):
        return written
    if kind == "temperature":
        return f"{fahrenheit(found) if unit == 'F' else found:.3g}"
    number = found / parse(f"1 {unit}", kind)
    return f"{number:.3g}" if abs(number) < 1000 else f"{number:.0f}"


def in_boxes(told: Mapping[str, str], units: str) -> dict[str, list[str]]:
    """Quantities with their units as the boxes of the form show them, by the fields' names."""
    return {name: [_shown(QUESTIONS[name], text, units)] for name, text in told.items()}


def _of_kit(kit: Kit, units: str) -> dict[str, str]:
    return {
        line: _shown(QUESTIONS[line], text, units)
        for line, text in kit.typed.items()
        if line in QUESTIONS and line not in ("name", "units")
    }


_MASS = Question("amount", "wish", "fresh_mushrooms", "quantity", "", unit="kg", us_unit="lb")


def typed_of(text: str, units: str) -> dict[str, list[str]]:
    """A wish as the form shows it, from its text.

    Parameters
    ----------
    text : str
        The TOML of a wish that a plan was made from.
    units : str
        "metric" or "us".
    """
    import tomllib

    content = tomllib.loads(text)
    wish = content.get("wish", {})
    is_mushrooms = "fresh_mushrooms" in wish
    amount = wish.get("fresh_mushrooms", wish.get("jars", ""))
    found = {
        "amount": [_shown(_MASS, amount, units) if is_mushrooms else str(amount)],
        "amount_of": ["mushrooms" if is_mushrooms else "jars"],
    }
    for question in QUESTIONS.values():
        value = content.get(question.table, {}).get(question.key)
        if question.kind == "flag":
            found[question.name] = ["true"] * bool(value)
        elif value is not None and not isinstance(value, dict):
            found[question.name] = [_shown(question, value, units)]
    return found | _typed_hours(content.get("free", []))


def _typed_hours(entries: list[dict[str, Any]]) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}

    def add(day: str, entry: Mapping[str, Any]) -> None:
        found.setdefault(f"{day}_from", []).append(str(entry["from"])[:5])
        found.setdefault(f"{day}_until", []).append(str(entry["until"])[:5])

    for entry in entries:
        if "on" in entry:
            found.setdefault("date", []).append(str(entry["on"]))
            add("date", entry)
        else:
            days = entry.get("days", [day for day, _ in DAYS])
            for day in days if isinstance(days, list) else [days]:
                add(str(day).lower()[:3], entry)
    return found


def offered(question: Question, current: str) -> list[tuple[str, str]]:
    """What a field with a list offers, as (value, words); what stands there now is among it."""
    from spawnwright.actions import choices

    lists = {
        "species": choices.species_choices, "jars": choices.jar_choices,
        "grains": choices.grain_choices, "canners": choices.canner_choices,
    }  # fmt: skip
    found = lists[question.catalog]() if question.catalog else list(question.choices)
    if current and current not in [value for value, _ in found]:
        found.append((current, current))
    return found


def batch_name(wish: Wish) -> str:
    """A name for the batch of a wish: "Blue oyster for 6 Jan"."""
    common = wish.goal.species.common
    day = wish.goal.ready_by or wish.goal.start
    assert day is not None  # a wish has one of the two
    return f"{common[0].upper()}{common[1:]} for {day.day} {day:%b}"


def wanted_words(wish: Wish, jars: int) -> str:
    """What a wish asks for: "5 good jars of blue oyster"."""
    good = f"{jars} good jar{'s' * (jars != 1)} of {wish.goal.species.common}"
    if wish.goal.fresh_kg is None:
        return good
    return f"{written_mass(wish.goal.fresh_kg)} of {wish.goal.species.common}, from {good}"
