"""A catalog on a page: every entry, and each number with its spread and its source."""

from __future__ import annotations

from typing import TYPE_CHECKING

from spawnwright import units
from spawnwright.cli.answer import Answer

if TYPE_CHECKING:
    from spawnwright.actions.catalogs import ListedEntry, ListedNumber

_WORDS = {
    "COMMON": "common practice",
    "JUDGMENT": "our own estimate",
    "OWN": "your own",
}


def catalog_page(name: str, wanted: str | None, headline: tuple[str, ...]) -> Answer:
    """The whole of catalog `name` in brief, or the entry that `wanted` names in full.

    `headline` are the numbers, by their names in code, that the brief list shows. The JSON object
    holds every number in both cases.
    """
    from spawnwright.actions.catalogs import entries

    listed = entries(name, wanted)
    answer = Answer({name: [_as_dict(each) for each in listed]})
    if wanted is None:
        return _brief(answer, name, listed, headline)
    return _full(answer, listed[0])


def _as_dict(listed: ListedEntry) -> dict[str, object]:
    return {
        "key": listed.key,
        "names": list(listed.names),
        **listed.words,
        "values": {each.name: each.as_dict() for each in listed.numbers},
    }


def _brief(
    answer: Answer, name: str, listed: list[ListedEntry], headline: tuple[str, ...]
) -> Answer:
    labels = {each.name: each.label for entry in listed for each in entry.numbers}
    rows = []
    for entry in listed:
        numbers = {each.name: each for each in entry.numbers}
        shown = [_value(numbers[each]) if each in numbers else "" for each in headline]
        rows.append([entry.key, ", ".join(entry.names[:2]), *shown, _sources(entry)])
    heads = ["name", "also called", *(labels.get(each, each) for each in headline), "sources"]
    answer.table(heads, rows)
    return answer.text(
        f"`./run {name} {listed[0].key if listed else 'NAME'}` shows each number of an entry with "
        f"its spread and source. Your own go into a file {name}.toml, in the same form as the "
        "shipped one; docs/catalogs.md says where."
    )


def _full(answer: Answer, entry: ListedEntry) -> Answer:
    called = f", also called {', '.join(entry.names)}" if entry.names else ""
    answer.text(f"{entry.key}{called}")
    answer.table(
        ["number", "value", "likely from", "to", "source", "where"],
        [[each.label, _value(each), *_spread(each), each.work.key, each.number.where]
         for each in entry.numbers],
    )  # fmt: skip
    said = [str(value) for value in entry.words.values() if isinstance(value, str) and value]
    sentences = [each for each in said if " " in each]
    if sentences:
        answer.text("\n".join(sentences))
    works = {each.work.key: each.work for each in entry.numbers}
    answer.table(
        ["source", "what it is", "how it was read"],
        [[key, _WORDS[key], ""] if key in _WORDS else
         [key, f"{' '.join((work.author, work.year)).strip()}: {work.title}", work.read]
         for key, work in works.items()],
    )  # fmt: skip
    return answer


def _value(listed: ListedNumber) -> str:
    return units.written(float(listed.number), listed.kind, listed.number.unit)


def _spread(listed: ListedNumber) -> tuple[str, str]:
    spread = listed.as_dict()
    ends = (spread["low"], spread["high"])
    return tuple(  # type: ignore[return-value]
        "" if end is None else units.written(float(end), listed.kind, listed.number.unit)  # type: ignore[arg-type]
        for end in ends
    )


def _sources(entry: ListedEntry) -> str:
    keys = dict.fromkeys(each.work.key for each in entry.numbers)
    return ", ".join(_WORDS.get(key, key) for key in keys)
