"""Fill a record book with the season of an invented grower, by the same actions as anybody's."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from spawnwright.actions.book import batches as book_batches
from spawnwright.actions.book import culture as book_culture
from spawnwright.actions.book import jars as book_jars
from spawnwright.actions.book import stock as book_stock
from spawnwright.actions.demo.batch import BatchLife
from spawnwright.actions.demo.diary import Diary
from spawnwright.actions.demo.trouble import plan_trouble
from spawnwright.errors import Contradiction
from spawnwright.records.book.steps import Entry
from spawnwright.records.season import Season, SeasonBatch, SeasonCulture

if TYPE_CHECKING:
    from spawnwright.actions.growing.colonize import ColonizeAnswer

BOOK = "season.db"


@dataclass(frozen=True)
class Filled:
    """The book that was filled, and how much is in it."""

    file: Path
    steps: int
    records: dict[str, int]


def fill_season(folder: Path, now: datetime, say: Callable[[str], None]) -> Filled:
    """Make a book in a demo's folder and enter the whole season.

    Parameters
    ----------
    folder : Path
        A folder with the demo's scenario; the book there is made anew each time.
    now : datetime
        Where the season ends, with its offset.
    say : callable
        Told what is being done.

    Raises
    ------
    BadFile
        If the scenario cannot be used.
    Contradiction
        If the book is open in another process.
    """
    from spawnwright.actions.book.files import export_book
    from spawnwright.store.book.engine import open_book
    from spawnwright.store.season_file import read_season

    season = read_season(folder / "season.toml")
    file = folder / BOOK
    _clear(file)
    with open_book(file) as book:
        say("forecasts and plans of the season ...")
        diary = Diary(book, season, now)
        _plan_all(diary, folder)
        say(f"entering {len(season.batches)} batches ...")
        diary.write()
    counted = export_book(str(file), None, None, False)
    return Filled(file, counted.steps, counted.records)


def _clear(file: Path) -> None:
    from spawnwright.store.book.place import Hold

    if not file.exists():
        return
    try:
        Hold(file, alone=True).release()
    except Contradiction as reason:
        raise Contradiction(
            f"The demo's book {file} is open in another process; close it there first."
        ) from reason
    for end in ("", "-wal", "-shm"):
        Path(f"{file}{end}").unlink(missing_ok=True)


def _plan_all(diary: Diary, folder: Path) -> None:
    season = diary.season
    _plan_stores(diary)
    by_key = {each.key: each for each in season.cultures}
    for culture in season.cultures:
        _plan_culture(diary, culture)
    lives = []
    for batch in season.batches:
        species = _species_of(batch, season, by_key)
        diary.known[f"species {batch.key}"] = species
        if batch.planned:
            _plan_planned(diary, batch, species, folder)
        life = BatchLife(diary, batch, _growth(diary, batch, species))
        life.plan()
        lives.append(life)
    plan_trouble(diary, lives)


def _species_of(batch: SeasonBatch, season: Season, cultures: dict[str, SeasonCulture]) -> str:
    batches = {each.key: each for each in season.batches}
    while batch.from_batch is not None:
        batch = batches[batch.from_batch]
    culture = cultures[batch.culture or ""]
    while culture.species is None and culture.parent is not None:
        culture = cultures[culture.parent]
    return culture.species or "blue-oyster"


def _growth(diary: Diary, batch: SeasonBatch, species: str) -> ColonizeAnswer:
    from spawnwright.actions.catalogs import look_up
    from spawnwright.actions.grain.fill import read_fill
    from spawnwright.actions.growing.colonize import ColonizeQuestion, colonize

    key = f"growth {species} {batch.jar} {batch.fill} {batch.from_batch is None}"
    if key not in diary.known:
        dose = 40.0 if batch.from_batch is not None else batch.dose_ml
        diary.known[key] = colonize(
            ColonizeQuestion(
                species=look_up("species", species),  # type: ignore[arg-type]
                jar=look_up("jars", batch.jar),  # type: ignore[arg-type]
                fill=read_fill(f"{100 * batch.fill:g}%"),
                grain=look_up("grains", "rye"),  # type: ignore[arg-type]
                temperature_c=diary.season.shelf_c,
                dose_m3=None if dose is None or batch.from_batch else dose * 1e-6,
                starting_points=60 if batch.from_batch is not None else None,
            )
        )
    growth: ColonizeAnswer = diary.known[key]
    return growth


def _plan_stores(diary: Diary) -> None:
    """What was bought before the first batch, and what it cost."""
    book, laptop = diary.book, diary.season.laptop
    first = max(each.days_ago for each in diary.season.batches) + 20

    def new(key: str, kind: str, fields: dict[str, Any], title: str) -> Any:
        def entering(hand: book_jars.Hand, now: datetime) -> None:
            record = f"{hand.step[:14]}s"
            diary.known[key] = record
            book_jars.enter(book, hand, title, (Entry(record, kind, fields),), now)

        return entering

    day = diary.days_ago(first, 10).date().isoformat()
    sack = {"name": "Rye, sack of September", "what": "grain", "bought_on": day}
    box = {"name": "Lids, box of 24", "what": "lids", "bought_on": day}
    lids = {"name": "Lids with 0.22 µm filters", "made_on": day, "lids": 24, "cured_on": day,
            "port": "silicone, cured two days", "filter": "disc, 0.22 µm", "uses": 0}  # fmt: skip
    pages: tuple[tuple[str, str, dict[str, Any], str], ...] = (
        ("lot grain", "lot", sack, "a sack of rye"), ("lot lids", "lot", box, "a box of lids"),
        ("lid batch", "lid batch", lids, "lids with port and filter"),
    )  # fmt: skip
    for place, (key, kind, fields, title) in enumerate(pages):
        diary.at(
            diary.days_ago(first - 0.1 * place, 10 + place), new(key, kind, fields, title), laptop
        )

    def bought(what: str, item: str, change: int, reason: str) -> Any:
        about = {"what": what, "item": item, "change": change, "reason": reason}
        return lambda hand, now: book_stock.change_stock(book, hand, about, now)

    def cost(what: str, amount: float, unit: str) -> Any:
        about = {"what": what, "amount": amount, "unit": unit}
        return lambda hand, now: book_stock.add_cost(book, hand, about, now)

    for place, entering in enumerate((
        bought("jar", "quart", 48, "bought"), bought("jar", "pint", 16, "bought"),
        bought("lid", "lid", 72, "bought"), cost("48 quart jars", 71.5, "EUR"),
        cost("rye, 25 kg", 31.0, "EUR"), cost("lids, filters, silicone", 38.2, "EUR"),
    )):  # fmt: skip
        diary.at(diary.days_ago(first - 1, 11 + place / 10), entering, laptop)
    diary.at(diary.days_ago(first / 2, 20), bought("jar", "quart", 1, "broken"))
    for batch in diary.season.batches:
        diary.at(diary.days_ago(batch.days_ago, 22), cost(f"evening: {batch.name}", 3.5, "h"))
        diary.at(diary.days_ago(batch.days_ago, 22.2), cost("gas", 1.1, "EUR"))


def _plan_culture(diary: Diary, culture: SeasonCulture) -> None:
    book, laptop = diary.book, diary.season.laptop
    made = diary.days_ago(culture.days_ago, 18)

    def new(hand: book_jars.Hand, now: datetime) -> None:
        about = {"name": culture.name, "form": culture.form, "volume_ml": culture.volume_ml,
                 "clarity": culture.clarity, "made_on": made.date(), "stored_where": "fridge",
                 "recipe": "4 g honey in 100 mL" if culture.form == "liquid culture" else None,
                 "parent": diary.known.get(f"culture {culture.parent}")}  # fmt: skip
        known = {name: value for name, value in about.items() if value is not None}
        strain = None
        if culture.parent is None:
            strain = {"name": culture.strain or culture.name,
                      "species": culture.species or "blue-oyster"}  # fmt: skip
        entered = book_culture.new_culture(book, hand, known, now, strain)
        diary.known[f"culture {culture.key}"] = entered.record

    def test(hand: book_jars.Hand, now: datetime) -> None:
        record = diary.known[f"culture {culture.key}"]
        book_culture.say_test(book, hand, record, str(culture.test), now)

    def end(hand: book_jars.Hand, now: datetime) -> None:
        book_culture.end_culture(book, hand, diary.known[f"culture {culture.key}"], now)

    diary.at(made, new, laptop)
    if culture.test is not None:
        diary.at(diary.days_ago(max(culture.days_ago - 7, 0.2), 18), test, laptop)
    if culture.ended_days_ago is not None:
        diary.at(diary.days_ago(culture.ended_days_ago, 18), end)


def _plan_planned(diary: Diary, batch: SeasonBatch, species: str, folder: Path) -> None:
    """A batch with a real plan: its tasks are done as their time passes, two are not."""
    from spawnwright.actions.planning.plan import plan, read

    asked = diary.days_ago(batch.days_ago + 3.2, 8)
    text = (folder / "wish.toml").read_text(encoding="utf-8")
    text = re.sub(r'(?m)^species = ".*?"', f'species = "{species}"', text)
    text = re.sub(r'(?m)^jar = ".*?"', f'jar = "{batch.jar}"', text)
    wish_file = folder / f".wish-{batch.key}.toml"
    wish_file.write_text(text, encoding="utf-8")
    try:
        made = plan(read(wish_file, asked))
    finally:
        wish_file.unlink()

    def start(hand: book_jars.Hand, now: datetime) -> None:
        record = book_batches.start_batch(diary.book, hand, batch.name, text, made, now)
        diary.known[f"batch {batch.key}"] = record

    def settle(key: str, is_skipped: bool) -> Any:
        def entering(hand: book_jars.Hand, now: datetime) -> None:
            from spawnwright.store.book.batches import tasks_of

            with diary.book.read() as connection:
                tasks = {row["key"]: row["id"] for row in
                         tasks_of(connection, diary.known[f"batch {batch.key}"])}  # fmt: skip
            act = book_batches.skip_task if is_skipped else book_batches.finish_task
            act(diary.book, hand, tasks[key], now)

        return entering

    diary.at(asked, start, diary.season.laptop)
    past = [step for step in made.steps if step.until <= diary.now]
    for place, step in enumerate(past):
        if place == len(past) - 1:
            continue  # the last one is overdue
        skipped = step.kind == "look" and place == len(past) - 3
        diary.at(max(step.until, asked), settle(step.key, skipped))
