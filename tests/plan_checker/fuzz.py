"""Two hundred invented wishes, always the same: ordinary ones, odd ones, generous and hopeless.

Each is a wish file as a grower would write it, with the instant at which it is asked. Where the
answer can be known beforehand, by generosity or by a limit that nothing frees, it is said.
"""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from random import Random
from zoneinfo import ZoneInfo

import tomli_w

SEED, COUNT = 20261125, 200
DAYS = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
SPECIES = (
    "blue oyster", "Pleurotus ostreatus", "phoenix oyster", "pink oyster", "golden oyster",
    "king oyster", "shiitake", "Hericium erinaceus", "reishi", "enoki", "pioppino", "nameko",
    "wine cap", "maitake", "turkey tail",
)  # fmt: skip
GRAINS = (
    "rye", "wheat", "sorghum", "oats-in-hull", "barley-in-hull", "barley-hulled", "millet-hulled",
    "millet-in-hull", "maize", "popcorn", "brown-rice",
)  # fmt: skip
JARS = ("quart", "pint", "half-pint", "500 mL", "720 mL", "1 L", "half-gallon", "1.5 L")
COMMON_JARS = ("quart", "pint", "500 mL", "1 L")
CANNERS = ("one-layer", "two-layer", "large-cast")
OWN_CANNER = {
    "names": ["shed canner"], "mass": "6.5 kg", "inner_diameter": "32 cm",
    "inside_height": "28 cm", "rack_height": "15 mm", "water": "3 L", "gauge": "dial",
}  # fmt: skip
# Zone, and the night in which its clocks change.
CHANGES = (
    ("Europe/Warsaw", date(2027, 3, 28)), ("Europe/Warsaw", date(2027, 10, 31)),
    ("America/Denver", date(2027, 3, 14)), ("America/Denver", date(2027, 11, 7)),
)  # fmt: skip


@dataclass(frozen=True)
class Fuzzed:
    """A wish file's table, when it is asked, and whether it can be met where that is sure."""

    name: str
    wish: dict
    now: datetime
    can_be_met: bool | None = None

    @property
    def text(self) -> str:
        return tomli_w.dumps(self.wish)


def wishes() -> list[Fuzzed]:
    """The same wishes each time."""
    dice = Random(SEED)
    kinds = (ordinary, ordinary, ordinary, under_way, generous, tight, hopeless, ordinary)
    return [kinds[n % len(kinds)](dice, n) for n in range(COUNT)]


def ordinary(dice: Random, n: int) -> Fuzzed:
    """Any species, grain, jar, canner, place and hours."""
    now = instant(dice)
    wanted = dice.randint(1, 22)
    wish = {
        "wish": amount(dice, wanted) | dates(dice, now) | {
            "species": dice.choice(SPECIES), "chance": dice.choice(["50%", "70%", "80%", "9/10"]),
        },
        "grain": grain(dice),
        "kit": kit(dice, wanted),
        "place": place(dice, now),
        "culture": culture(dice, now, wanted),
    }  # fmt: skip
    hours = free(dice, now)
    if hours is not None:
        wish["free"] = hours
    if dice.random() < 0.3:
        wish["losses"] = losses(dice)
    return Fuzzed(f"ordinary {n}", wish, now)


def under_way(dice: Random, n: int) -> Fuzzed:
    """Something has been begun: grain soaking or drained, lids cured, sterile jars waiting."""
    asked = ordinary(dice, n)
    wish, now = asked.wish, asked.now
    local = now.replace(tzinfo=None)
    begun: dict = {}
    what = dice.choice(("soaking", "drained", "sterile", "lids", "soaking and sterile"))
    if "soaking" in what:
        begun["soaking"] = f"{dice.uniform(0.6, 3):.2f} kg"
        begun["soaking_since"] = local - timedelta(minutes=dice.randint(30, 26 * 60))
    if what == "drained":
        begun["drained"] = f"{dice.uniform(0.8, 4):.2f} kg"
        begun["drained_since"] = local - timedelta(minutes=dice.randint(10, 7 * 60))
        begun["cold"] = dice.random() < 0.4
    if "sterile" in what:
        begun["sterile_jars"] = dice.randint(1, min(7, wish["kit"]["jars_free"]))
        begun["sterile_since"] = local - timedelta(hours=dice.randint(10, 200))
    if what == "lids" or dice.random() < 0.5:
        begun["lids_cured"] = dice.randint(1, wish["kit"].get("lids_free", 5))
        begun["jars_washed"] = dice.randint(0, wish["kit"]["jars_free"])
    return Fuzzed(f"{what} {n}", wish | {"under_way": begun}, now)


def generous(dice: Random, n: int) -> Fuzzed:
    """Every day free, months of time, jars and culture in plenty: a plan must be found."""
    now = instant(dice)
    wanted = dice.randint(1, 10)
    wish = {
        "wish": {
            "species": dice.choice(["blue oyster", "phoenix oyster", "golden oyster"]),
            "jars": wanted, "chance": "60%", "ready_by": (now + timedelta(days=85)).date(),
        },
        "grain": {"kind": dice.choice(["rye", "wheat", "sorghum"])},
        "kit": {"jar": dice.choice(COMMON_JARS), "jars_free": 60, "canner": dice.choice(CANNERS)},
        "place": {
            "elevation": f"{dice.randint(0, 800)} m", "room_temperature": "20 C",
            "shelf_temperature": "23 C", "time_zone": str(now.tzinfo),
        },
        "free": [{"days": DAYS, "from": time(7), "until": time(23, 30)}],
    }  # fmt: skip
    return Fuzzed(f"generous {n}", wish, now, can_be_met=True)


def tight(dice: Random, n: int) -> Fuzzed:
    """Little of something: hours, jars, culture, grain, pot, scale or time."""
    asked = ordinary(dice, n)
    wish, now = asked.wish, asked.now
    wanted = wish["wish"].get("jars", 4)
    what = dice.choice(("hours", "jars", "culture", "grain", "pot", "time"))
    if what == "hours":
        hours = [{"days": ["tue", "thu"], "from": time(18), "until": time(dice.randint(20, 23))}]
        wish["free"] = [*hours, {"days": ["sun"], "from": time(9), "until": time(16)}]
    elif what == "jars":
        wish["kit"] |= {"jars_free": wanted, "lids_free": wanted}
    elif what == "culture":
        wish["culture"] = {"volume": f"{2 * wanted} mL", "dose": "2 mL"}
    elif what == "grain":
        wish["grain"]["in_stock"] = f"{0.25 * wanted + 0.3:.2f} kg"
    elif what == "pot":
        wish["kit"] |= {"pot": "3 L", "scale_max": "1 kg", "trays": 1}
    else:
        wish["wish"].pop("start", None)
        wish["wish"]["ready_by"] = (now + timedelta(days=dice.randint(24, 32))).date()
    return Fuzzed(f"little {what} {n}", wish, now)


def hopeless(dice: Random, n: int) -> Fuzzed:
    """A limit that nothing in the file frees: no plan may be found."""
    asked = ordinary(dice, n)
    wish, now = asked.wish, asked.now
    wish["wish"].pop("fresh_mushrooms", None)
    wanted = wish["wish"]["jars"] = dice.randint(4, 12)
    what = dice.choice(("hours", "jars", "lids", "culture", "grain", "time"))
    if what == "hours":  # too short for heat on to zero pressure
        wish["free"] = [{"days": DAYS, "from": time(18), "until": time(19, 15)}]
    elif what in ("jars", "lids"):
        wish["kit"][f"{what}_free"] = wanted - 1
    elif what == "culture":
        wish["culture"] = {"volume": f"{2 * wanted - 1} mL", "dose": "2 mL"}
    elif what == "grain":
        wish["grain"]["in_stock"] = "150 g"
    else:
        wish["wish"] |= {"species": "shiitake", "chance": "90%"}
        wish["wish"].pop("start", None)
        wish["wish"]["ready_by"] = (now + timedelta(days=11)).date()
        wish["place"]["shelf_temperature"] = "16 C"
    return Fuzzed(f"no {what} {n}", wish, now, can_be_met=False)


def instant(dice: Random) -> datetime:
    """A time of asking; two in three a few weeks before the clocks change."""
    zone, change = dice.choice(CHANGES)
    day = change - timedelta(days=dice.randint(1, 24))
    if dice.random() < 0.33:
        day += timedelta(days=dice.randint(30, 100))
    clock = time(dice.randint(6, 22), dice.choice([0, 7, 30, 45]))
    return datetime.combine(day, clock, ZoneInfo(zone))


def amount(dice: Random, wanted: int) -> dict:
    if dice.random() < 0.2:
        return {"fresh_mushrooms": f"{dice.uniform(0.5, 6):.1f} kg"}
    return {"jars": wanted}


def dates(dice: Random, now: datetime) -> dict:
    late = now + timedelta(days=dice.randint(30, 110))
    by = late.date() if dice.random() < 0.7 else late.replace(tzinfo=None, minute=0)
    soon = (now + timedelta(days=dice.randint(-3, 12))).date()
    return dice.choice([{"ready_by": by}, {"ready_by": by}, {"start": soon},
                        {"start": soon, "ready_by": by}])  # fmt: skip


def grain(dice: Random) -> dict:
    lines: dict = {"kind": dice.choice(GRAINS)}
    if dice.random() < 0.3:
        lines["moisture"] = dice.choice(["10%", "12%", "13.5%"])
        lines["target"] = dice.choice(["45%", "48%", "50%", "52%"])
    if dice.random() < 0.3:
        lines["gypsum"] = dice.choice(["0%", "0.4%", "2%"])
    if dice.random() < 0.2:
        lines["soak"] = dice.choice(["12 h", "16 h", "18 h", "24 h"])
    if dice.random() < 0.2:
        lines["simmer"] = dice.choice(["10 min", "20 min"])
    lines["new_lot"] = dice.random() < 0.3
    return lines


def kit(dice: Random, wanted: int) -> dict:
    spare = dice.randint(0, 8)
    lines: dict = {
        "jar": dice.choice(JARS if dice.random() < 0.3 else COMMON_JARS),
        "fill": dice.choice(["2/3", "70%", "60%", "75%"]),
        "jars_free": wanted + spare,
        "canner": dice.choice(CANNERS),
        "gauge": dice.choice(["15 psi", "15 psi", "15 psi", "1 bar", "12 psi"]),
        "burner": dice.choice(["1500 W", "2 kW", "3 kW", "9000 BTU/h"]),
        "pot": dice.choice(["6 L", "12 L", "20 qt"]),
        "scale_max": dice.choice(["2 kg", "5 kg", "11 lb"]),
        "cold_place": dice.random() < 0.4,
        "cooling": dice.choice(["overnight shut", "opened warm"]),
        "new_routine": dice.random() < 0.2,
    }
    if dice.random() < 0.3:
        holds = dice.choice([[], ["quart 5", "pint 12"]])
        lines["canner"] = OWN_CANNER | ({"holds": holds} if holds else {})
        if dice.random() < 0.5:
            lines["canner"]["rated_gauge"] = "15 psi"
    if dice.random() < 0.4:
        lines["lids_free"] = wanted + dice.randint(0, spare)
    if dice.random() < 0.2:
        lines["still_place"] = False
    return lines


def place(dice: Random, now: datetime) -> dict:
    return {
        "elevation": dice.choice(["0 m", "120 m", "450 m", "1500 m", "4900 ft", "2600 m"]),
        "room_temperature": dice.choice(["15 C", "19 C", "68 F", "24 C", "28 C"]),
        "shelf_temperature": dice.choice(["18 C", "20 C", "22 C", "24 C", "77 F"]),
        "time_zone": str(now.tzinfo),
    }


def free(dice: Random, now: datetime) -> list[dict] | None:
    """Hours as people have them; none at all means the file leaves them out."""
    weekend = {"days": ["sat", "sun"], "from": "09:00", "until": dice.choice(["21:00", "23:30"])}
    evenings = {"days": DAYS[:5], "from": time(17, 30), "until": time(22, 30)}
    some_day = (now + timedelta(days=dice.randint(1, 10))).date()
    return dice.choice(
        [
            None,
            [evenings, weekend],
            [evenings, weekend, {"on": some_day, "from": time(8), "until": time(20)}],
            [{"days": DAYS, "from": time(19), "until": time(1, 30)}],
            [{"days": DAYS, "from": time(22), "until": time(6)}],
            [{"days": DAYS, "from": time(6), "until": time(9)}, evenings, weekend],
            [weekend],
            [weekend | {"until": "00:00"}, {"days": ["wed"], "from": time(12), "until": time(22)}],
            [{"from": "00:00", "until": "00:00"}],
        ]
    )


def culture(dice: Random, now: datetime, wanted: int) -> dict:
    lines: dict = {}
    if dice.random() < 0.5:
        lines["volume"] = f"{dice.randint(2 * wanted, 5 * wanted + 10)} mL"
        lines["dose"] = dice.choice(["1 mL", "1.5 mL", "2 mL"])
    if dice.random() < 0.4:
        lines["tested"] = (now - timedelta(days=dice.randint(1, 20))).date()
    if dice.random() < 0.3:
        lines["made"] = (now - timedelta(days=dice.randint(21, 60))).date()
    return lines


def losses(dice: Random) -> dict:
    return {
        "jar": f"{dice.randint(1, 12)}%", "run": f"{dice.randint(0, 10)}%",
        "run_kill": f"{dice.randint(20, 90)}%", "culture": f"{dice.randint(0, 6)}%",
    }  # fmt: skip
