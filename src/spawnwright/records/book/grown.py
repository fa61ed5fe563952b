"""Kinds of record from the jar on: inoculated, looked at, used, harvested, and what it cost."""

from __future__ import annotations

from dataclasses import dataclass

from spawnwright.errors import Unusable
from spawnwright.records.book.codes import read_code
from spawnwright.records.book.form import BookRecord, column

OUTCOMES = ("used", "discarded", "given away", "spoiled")
BACK = ("washed", "binned")
MOLD_SIGNS = ("green", "blue-green", "black", "gray", "pink", "orange")
"""Colors that are spores of mold, or may be: such a jar is never smelled at."""
MEDIA_TYPES = ("image/jpeg", "image/png", "image/webp")
WAYS = ("spread", "top", "wall", "through")
SIGNS = (
    "as expected", "white", "yellow", "green", "blue-green", "black", "gray", "pink", "orange",
    "slime", "drops", "dry", "wet", "nothing yet", "other",
)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class BookJar(BookRecord):
    """One filling of a jar, under a code of its own, until jar and lid are back.

    `jar_kind` is a key of the catalog of jars; `name` is what else is written on it.
    """

    KIND = "jar"
    TABLE = "jars"
    LINKS = (("grain_batch", "id"), ("lid_batch", "id"), ("batch", "id"))

    code: str = column(required=True)
    jar_kind: str = column(required=True)
    filled_at: str = column("instant", required=True)
    name: str | None = column()
    fill: float | None = column("number", low=0, high=1.2)
    grain_kg: float | None = column("number", low=0, high=100)
    tare_kg: float | None = column("number", low=0, high=100)
    grain_batch: str | None = column("reference", of="grain batch")
    lid_batch: str | None = column("reference", of="lid batch")
    batch: str | None = column("reference", of="batch")
    is_control: bool | None = column("flag")
    stored_where: str | None = column()
    shelf_c: float | None = column("number", low=-20, high=60)
    moved_away_at: str | None = column("instant")
    outcome: str | None = column(choices=OUTCOMES)
    outcome_at: str | None = column("instant")
    outcome_note: str | None = column()
    jar_back: str | None = column(choices=BACK)
    jar_back_at: str | None = column("instant")
    lid_back: str | None = column(choices=BACK)
    lid_back_at: str | None = column("instant")
    note: str | None = column()

    def check(self) -> None:
        """The code is one; what is back has its time."""
        if read_code(self.code) != self.code:
            raise Unusable(f"The code {self.code!r} is kept in capitals and without spaces.")
        for what in ("outcome", "jar_back", "lid_back"):
            if (getattr(self, what) is None) != (getattr(self, f"{what}_at") is None):
                raise Unusable(f"The {what.replace('_', ' ')} of a jar and its time go together.")


@dataclass(frozen=True, kw_only=True)
class Inoculation(BookRecord):
    """Culture brought into a jar: from a syringe, or grain-to-grain from another jar.

    `number` is the place in the order of one sitting.
    """

    KIND = "inoculation"
    TABLE = "inoculations"
    LINKS = (("culture", "jar"), ("from_jar", "jar"))

    jar: str = column("reference", of="jar", required=True)
    at: str = column("instant", required=True)
    culture: str | None = column("reference", of="culture")
    from_jar: str | None = column("reference", of="jar")
    number: int | None = column("count", low=1, high=100_000)
    dose_ml: float | None = column("number", low=0, high=1000)
    dose_g: float | None = column("number", low=0, high=100_000)
    who: str | None = column()
    worked_where: str | None = column()
    way: str | None = column(choices=WAYS)
    note: str | None = column()

    def check(self) -> None:
        """It comes from one culture or from one other jar."""
        if (self.culture is None) == (self.from_jar is None):
            raise Unusable("An inoculation is from a culture or from a jar: name one of them.")
        if self.from_jar == self.jar:
            raise Unusable("A jar cannot be inoculated from itself.")


@dataclass(frozen=True, kw_only=True)
class Look(BookRecord):
    """One dated glance at one jar; a smell only if it was noticed without trying."""

    KIND = "look"
    TABLE = "looks"

    jar: str = column("reference", of="jar", required=True)
    at: str = column("instant", required=True)
    percent: float | None = column("number", low=0, high=100)
    sign: str | None = column(choices=SIGNS)
    place: str | None = column()
    smell: str | None = column()
    note: str | None = column()

    def check(self) -> None:
        """It saw something; nobody is to smell at mold."""
        if all(each is None for each in (self.percent, self.sign, self.smell, self.note)):
            raise Unusable("A look says something: how far, a sign, or a note.")
        if self.smell is not None and self.sign in MOLD_SIGNS:
            raise Unusable(
                f"No smell is taken where the sign is {self.sign}: it may be mold. Keep the jar "
                "shut, do not smell at it, and leave the smell out."
            )


@dataclass(frozen=True, kw_only=True)
class Photo(BookRecord):
    """A photo of a jar, taken at a look or by itself; `content` names its picture."""

    KIND = "photo"
    TABLE = "photos"

    jar: str = column("reference", of="jar", required=True)
    look: str | None = column("reference", of="look")
    taken_at: str = column("instant", required=True)
    content: str = column("picture", required=True)
    media_type: str | None = column(choices=MEDIA_TYPES)
    width: int | None = column("count", low=1, high=20_000)
    height: int | None = column("count", low=1, high=20_000)
    note: str | None = column()


@dataclass(frozen=True, kw_only=True)
class Shake(BookRecord):
    """A jar loosened, so that the white kernels spread."""

    KIND = "shake"
    TABLE = "shakes"

    jar: str = column("reference", of="jar", required=True)
    at: str = column("instant", required=True)
    note: str | None = column()


@dataclass(frozen=True, kw_only=True)
class GrowingBlock(BookRecord):
    """A block or a bucket of substrate, on which mushrooms grow."""

    KIND = "block"
    TABLE = "blocks"

    name: str = column(required=True)
    container: str = column(required=True, choices=("block", "bucket"))
    made_at: str = column("instant", required=True)
    substrate: str | None = column()
    substrate_kg: float | None = column("number", low=0, high=100_000)
    stored_where: str | None = column()
    ended_on: str | None = column("day")
    note: str | None = column()


@dataclass(frozen=True, kw_only=True)
class Use(BookRecord):
    """Spawn of a jar put into a block or bucket; into other jars it is an inoculation."""

    KIND = "use"
    TABLE = "uses"
    LINKS = (("jar", "block"),)

    jar: str = column("reference", of="jar", required=True)
    block: str = column("reference", of="block", required=True)
    at: str = column("instant", required=True)
    spawn_kg: float | None = column("number", low=0, high=1000)
    note: str | None = column()


@dataclass(frozen=True, kw_only=True)
class Harvest(BookRecord):
    """Mushrooms picked from a block or bucket."""

    KIND = "harvest"
    TABLE = "harvests"
    LINKS = (("block", "id"),)

    block: str = column("reference", of="block", required=True)
    at: str = column("instant", required=True)
    mass_kg: float = column("number", low=0, high=10_000, required=True)
    flush: int | None = column("count", low=1, high=100)
    note: str | None = column()


@dataclass(frozen=True, kw_only=True)
class Cost(BookRecord):
    """Money or hours spent, on something in particular or on everything."""

    KIND = "cost"
    TABLE = "costs"

    spent_on: str = column("day", required=True)
    what: str = column(required=True)
    amount: float = column("number", required=True)
    unit: str = column(required=True)
    """A currency's three letters, or `h` for hours of work."""
    record: str | None = column("reference")
    note: str | None = column()


@dataclass(frozen=True, kw_only=True)
class StockChange(BookRecord):
    """Jars or lids that came to the household, or broke; fillings and returns count by themselves.

    `item` is a key of the catalog of jars, or the name of a sort of lid.
    """

    KIND = "stock change"
    TABLE = "stock_changes"

    changed_on: str = column("day", required=True)
    what: str = column(required=True, choices=("jar", "lid"))
    item: str = column(required=True)
    change: int = column("count", low=-1_000_000, high=1_000_000, required=True)
    reason: str = column(required=True, choices=("bought", "broken", "given away", "counted"))
    note: str | None = column()


@dataclass(frozen=True, kw_only=True)
class Quarantine(BookRecord):
    """A record in doubt, with all that descends from it, until it is lifted."""

    KIND = "quarantine"
    TABLE = "quarantines"

    record: str = column("reference", required=True)
    at: str = column("instant", required=True)
    why: str = column(required=True)
    lifted_at: str | None = column("instant")
    lifted_why: str | None = column()
