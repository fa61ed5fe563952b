"""What a plan asks, in the grower's words: each question is one line of a wish file."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

QuestionKind = Literal["quantity", "count", "share", "word", "catalog", "flag", "day", "instant"]


@dataclass(frozen=True)
class Question:
    """One line of a wish, as a form asks for it.

    `name` is the field's, `table` and `key` say where it stands in the wish file. A bare number is
    taken to be in `unit`, or in `us_unit` for a grower who counts so. `usual` is what the reader of
    the file takes where the line is missing; an empty one means that nothing is.
    """

    name: str
    table: str
    key: str
    kind: QuestionKind
    said: str
    hint: str = ""
    unit: str = ""
    us_unit: str = ""
    usual: str = ""
    is_needed: bool = False
    catalog: str = ""
    choices: tuple[tuple[str, str], ...] = ()

    def unit_in(self, system: str) -> str:
        """The unit of a bare number, for "metric" or "us"."""
        return self.us_unit if system == "us" and self.us_unit else self.unit


@dataclass(frozen=True)
class Group:
    """Questions that belong together; `is_first` ones are asked openly, the rest on demand."""

    key: str
    title: str
    questions: tuple[Question, ...]
    is_first: bool = False


WANTED = Group("wanted", "What you would like", (
    Question("species", "wish", "species", "catalog", "Species", is_needed=True,
             catalog="species"),
    Question("ready_by", "wish", "ready_by", "day", "Ready by",
             "For mushrooms: the day of the first harvest."),
), is_first=True)  # fmt: skip

MEANS = Group("means", "With what", (
    Question("jar", "kit", "jar", "catalog", "Kind of jar", is_needed=True, catalog="jars"),
    Question("jars_free", "kit", "jars_free", "count", "Clean jars that you have",
             "All that this plan may use.", is_needed=True),
    Question("grain", "grain", "kind", "catalog", "Grain", usual="rye", catalog="grains"),
    Question("canner", "kit", "canner", "catalog", "Pressure canner", is_needed=True,
             catalog="canners"),
    Question("elevation", "place", "elevation", "quantity", "Your elevation above the sea",
             "The higher, the cooler the steam. If you do not know it, guess rather too high.",
             "m", "ft", is_needed=True),
), is_first=True)  # fmt: skip

WHEN = Group("when", "How sure, and from when", (
    Question("chance", "wish", "chance", "share", "How sure you want to be",
             "The chance that enough jars are good, and in time.", "%", usual="80%"),
    Question("start", "wish", "start", "day", "Do not begin before"),
))  # fmt: skip

JARS = Group("jars", "Jars and grain", (
    Question("fill", "kit", "fill", "word", "How full the jars are",
             "A share of the jar, like 70%; or 3 cm below the rim; or 480 g of wet grain.",
             usual="70%"),
    Question("lids_free", "kit", "lids_free", "count", "Lids with filter and port",
             "Left empty: as many as jars."),
    Question("moisture", "grain", "moisture", "share", "Moisture of the grain as bought",
             unit="%", usual="12%"),
    Question("target", "grain", "target", "share", "Moisture to reach", unit="%", usual="48%"),
    Question("gypsum", "grain", "gypsum", "share", "Gypsum, of the dry grain",
             "0 for none.", "%", usual="0.5%"),
    Question("soak", "grain", "soak", "quantity", "Soak",
             "Left empty: 12 to 24 h, as it suits your hours.", "h"),
    Question("simmer", "grain", "simmer", "quantity", "Simmer",
             "Left empty: the usual for this grain.", "min"),
    Question("in_stock", "grain", "in_stock", "quantity", "Dry grain in the house",
             "Left empty: enough.", "kg", "lb"),
    Question("new_lot", "grain", "new_lot", "flag", "The sack is a new one"),
    Question("new_routine", "kit", "new_routine", "flag", "New lids, or a new way of working"),
))  # fmt: skip

KITCHEN = Group("kitchen", "Canner and kitchen", (
    Question("gauge", "kit", "gauge", "quantity", "Pressure",
             "As the weight is marked, or as the dial is held. Never above what the canner's "
             "manual allows. Left empty: 15 psi, or the rating if that is less.", "psi"),
    Question("cooling", "kit", "cooling", "word", "How the canner cools",
             usual="overnight shut",
             choices=(("overnight shut", "Shut until the next day"),
                      ("opened warm", "Opened at zero pressure, as its manual says"))),
    Question("burner", "kit", "burner", "quantity", "Burner", "", "kW", usual="2 kW"),
    Question("pot", "kit", "pot", "quantity", "Largest pot", "", "L", "qt", usual="12 L"),
    Question("trays", "kit", "trays", "count", "Trays to dry grain on", usual="2"),
    Question("scale_max", "kit", "scale_max", "quantity", "Most that your scale weighs", "",
             "kg", "lb", usual="5 kg"),
    Question("still_place", "kit", "still_place", "flag",
             "There is a still-air box, or a room without draught", usual="true"),
    Question("cold_place", "kit", "cold_place", "flag",
             "The refrigerator has room for one load of jars"),
))  # fmt: skip

SHELF = Group("shelf", "Shelf and room", (
    Question("shelf", "place", "shelf_temperature", "quantity", "Temperature of the shelf", "",
             "C", "F", usual="22 C"),
    Question("room", "place", "room_temperature", "quantity", "Temperature where you cook", "",
             "C", "F", usual="20 C"),
))  # fmt: skip

CULTURE = Group("culture", "Liquid culture", (
    Question("volume", "culture", "volume", "quantity", "How much you have",
             "Left empty: the plan says how much it needs.", "mL"),
    Question("dose", "culture", "dose", "quantity", "For each jar",
             "Left empty: 2 mL for a liter of jar.", "mL"),
    Question("made", "culture", "made", "day", "Made on"),
    Question("tested", "culture", "tested", "day", "Tested clean on", "Left empty: not tested."),
))  # fmt: skip

LOSSES = Group("losses", "What you lose, by your own count", (
    Question("loss_jar", "losses", "jar", "share", "Jars lost one by one", unit="%"),
    Question("loss_run", "losses", "run", "share", "Runs that go wrong", unit="%"),
    Question("loss_kill", "losses", "run_kill", "share", "Jars that such a run spoils", unit="%"),
    Question("loss_culture", "losses", "culture", "share", "Cultures that are bad", unit="%"),
))  # fmt: skip

UNDER_WAY = Group("under_way", "What has been done already", (
    Question("lids_cured", "under_way", "lids_cured", "count", "Lids ready to use"),
    Question("jars_washed", "under_way", "jars_washed", "count", "Jars washed"),
    Question("soaking", "under_way", "soaking", "quantity", "Dry grain that is soaking", "",
             "kg", "lb"),
    Question("soaking_since", "under_way", "soaking_since", "instant", "Soaking since"),
    Question("drained", "under_way", "drained", "quantity", "Grain that is cooked and drained", "",
             "kg", "lb"),
    Question("drained_since", "under_way", "drained_since", "instant", "Drained since"),
    Question("cold", "under_way", "cold", "flag", "The drained grain stands in the cold"),
    Question("sterile_jars", "under_way", "sterile_jars", "count", "Sterile jars that wait"),
    Question("sterile_since", "under_way", "sterile_since", "instant", "Sterile since"),
))  # fmt: skip

GROUPS = (WANTED, MEANS, WHEN, JARS, KITCHEN, SHELF, CULTURE, LOSSES, UNDER_WAY)
QUESTIONS: dict[str, Question] = {each.name: each for group in GROUPS for each in group.questions}
DAYS = (
    ("mon", "Monday"), ("tue", "Tuesday"), ("wed", "Wednesday"), ("thu", "Thursday"),
    ("fri", "Friday"), ("sat", "Saturday"), ("sun", "Sunday"),
)  # fmt: skip
USUAL_HOURS = ("08:00", "22:00")
