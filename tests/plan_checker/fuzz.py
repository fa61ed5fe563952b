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
OWN_CANNER = {
    "names": ["shed canner"], "mass": "6.5 kg", "inner_diameter": "32 cm",
    "inside_height": "28 cm", "rack_height": "15 mm", "water": "3 L", "gauge": "dial",
}  # fmt: skip
RATED = OWN_CANNER | {"rated_gauge": "16 psi", "holds": ["quart 5", "pint 12"]}
# Species, grain, jar, fill, canner, gauge, burner, elevation, room, shelf: what heat and growth
# depend on, few enough that the slow models answer each only once.
SETTINGS = (
    ("blue oyster", "rye", "quart", "70%", "two-layer", "15 psi", "2 kW", "450 m", "20 C", "22 C"),
    (
        "phoenix oyster",
        "wheat",
        "pint",
        "2/3",
        "two-layer",
        "15 psi",
        "9000 BTU/h",
        "4900 ft",
        "68 F",
        "24 C",
    ),
    (
        "golden oyster",
        "sorghum",
        "500 mL",
        "70%",
        "one-layer",
        "1 bar",
        "1500 W",
        "0 m",
        "24 C",
        "77 F",
    ),
    (
        "pink oyster",
        "millet-hulled",
        "1 L",
        "60%",
        OWN_CANNER,
        "15 psi",
        "3 kW",
        "120 m",
        "28 C",
        "24 C",
    ),
    (
        "Pleurotus eryngii",
        "barley-in-hull",
        "quart",
        "75%",
        "one-layer",
        "15 psi",
        "2 kW",
        "0 m",
        "19 C",
        "20 C",
    ),
    ("shiitake", "oats-in-hull", "quart", "70%", RATED, "15 psi", "2 kW", "1500 m", "15 C", "20 C"),
    (
        "Hericium erinaceus",
        "popcorn",
        "half-pint",
        "70%",
        RATED,
        "12 psi",
        "2 kW",
        "450 m",
        "20 C",
        "22 C",
    ),
    (
        "enoki",
        "brown-rice",
        "720 mL",
        "2/3",
        "large-cast",
        "15 psi",
        "3 kW",
        "2600 m",
        "15 C",
        "18 C",
    ),
    (
        "wine cap",
        "maize",
        "half-gallon",
        "60%",
        "large-cast",
        "15 psi",
        "3 kW",
        "0 m",
        "20 C",
        "22 C",
    ),
)
DOSES = {1: "1 mL", 2: "1.5 mL", 5: "2 mL", 8: "3 mL"}
EVERY = tuple(range(len(SETTINGS)))
QUICK = (0, 1, 2)  # oysters at an ordinary place, in ordinary jars
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


def ordinary(dice: Random, n: int, settings: tuple[int, ...] = EVERY) -> Fuzzed:
    """Any species, grain, jar, canner, place and hours."""
    now = instant(dice)
    wanted = dice.randint(1, 22)
    wish = set_up(settings[n // 8 % len(settings)], now)
    of_jars = dice.random() < 0.8
    wish["wish"] |= dates(dice, now, late_enough=40 if of_jars else 120)
    wish["wish"] |= {"jars": wanted} if of_jars else {
        "fresh_mushrooms": f"{dice.uniform(0.5, 6):.1f} kg"
    }  # fmt: skip
    wish["wish"]["chance"] = dice.choice(["40%", "50%", "60%", "70%", "80%", "9/10"])
    wish["grain"] |= grain(dice, is_warm=wish["place"]["room_temperature"] in ("24 C", "28 C"))
    wish["kit"] |= kit(dice, wanted)
    wish["culture"] |= culture(dice, now, wanted)
    hours = free(dice, now)
    if hours is not None:
        wish["free"] = hours
    if dice.random() < 0.3:
        wish["losses"] = losses(dice)
    return Fuzzed(f"ordinary {n}", wish, now)


def set_up(number: int, now: datetime) -> dict:
    """The tables of a wish in one of the settings."""
    species, kind, jar, fill, canner, gauge, burner, elevation, room, shelf = SETTINGS[number]
    return {
        "wish": {"species": species},
        "grain": {"kind": kind},
        "kit": {"jar": jar, "fill": fill, "canner": canner, "gauge": gauge, "burner": burner},
        "place": {
            "elevation": elevation, "room_temperature": room, "shelf_temperature": shelf,
            "time_zone": str(now.tzinfo),
        },
        "culture": {"dose": DOSES[number]} if number in DOSES else {},
    }  # fmt: skip


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
    wish = set_up(QUICK[n // 8 % len(QUICK)], now)
    wish["wish"] |= {
        "jars": dice.randint(1, 10), "chance": "60%",
        "ready_by": (now + timedelta(days=85)).date(),
    }  # fmt: skip
    wish["kit"] |= {"jars_free": 60}
    wish["free"] = [{"days": DAYS, "from": time(7), "until": time(23, 30)}]
    return Fuzzed(f"generous {n}", wish, now, can_be_met=True)


def tight(dice: Random, n: int) -> Fuzzed:
    """Little of something: hours, jars, culture, grain, pot, scale or time."""
    what = ("hours", "jars", "culture", "grain", "pot", "time")[n // 8 % 6]
    asked = ordinary(dice, n, QUICK if what == "time" else EVERY)
    wish, now = asked.wish, asked.now
    wanted = wish["wish"].get("jars", 4)
    if what == "hours":
        hours = [{"days": ["tue", "thu"], "from": time(18), "until": time(dice.randint(20, 23))}]
        wish["free"] = [*hours, {"days": ["sun"], "from": time(9), "until": time(16)}]
    elif what == "jars":
        wish["kit"] |= {"jars_free": wanted, "lids_free": wanted}
    elif what == "culture":
        dose = wish["culture"].setdefault("dose", "2 mL")
        wish["culture"]["volume"] = f"{wanted * float(dose.split()[0]):g} mL"
    elif what == "grain":
        wish["grain"]["in_stock"] = f"{0.25 * wanted + 0.3:.2f} kg"
    elif what == "pot":
        wish["kit"] |= {"pot": "3 L", "scale_max": "1 kg", "trays": 1}
    else:
        wish["wish"] = {
            "species": wish["wish"]["species"], "jars": wanted, "chance": "70%",
            "ready_by": (now + timedelta(days=dice.randint(22, 32))).date(),
        }  # fmt: skip
    return Fuzzed(f"little {what} {n}", wish, now)


def hopeless(dice: Random, n: int) -> Fuzzed:
    """A limit that nothing in the file frees: no plan may be found."""
    what = ("hours", "jars", "lids", "culture", "grain", "time")[n // 8 % 6]
    asked = ordinary(dice, n, (5,) if what == "time" else EVERY)
    wish, now = asked.wish, asked.now
    wish["wish"].pop("fresh_mushrooms", None)
    wanted = wish["wish"]["jars"] = dice.randint(4, 12)
    if what == "hours":  # too short for heat on to zero pressure
        wish["free"] = [{"days": DAYS, "from": time(18), "until": time(19, 15)}]
    elif what in ("jars", "lids"):
        wish["kit"][f"{what}_free"] = wanted - 1
    elif what == "culture":
        dose = wish["culture"].setdefault("dose", "2 mL")
        wish["culture"]["volume"] = f"{wanted * float(dose.split()[0]) - 0.5:g} mL"
    elif what == "grain":
        wish["grain"]["in_stock"] = "150 g"
    else:
        wish["wish"] |= {"chance": "90%", "ready_by": (now + timedelta(days=11)).date()}
        wish["wish"].pop("start", None)
    return Fuzzed(f"no {what} {n}", wish, now, can_be_met=False)


def instant(dice: Random) -> datetime:
    """A time of asking; two in three a few weeks before the clocks change."""
    zone, change = dice.choice(CHANGES)
    day = change - timedelta(days=dice.randint(1, 24))
    if dice.random() < 0.33:
        day += timedelta(days=dice.randint(30, 100))
    clock = time(dice.randint(6, 22), dice.choice([0, 7, 30, 45]))
    return datetime.combine(day, clock, ZoneInfo(zone))


def dates(dice: Random, now: datetime, *, late_enough: int) -> dict:
    late = now + timedelta(days=late_enough + dice.randint(0, 60))
    by = late.date() if dice.random() < 0.7 else late.replace(tzinfo=None, minute=0)
    soon = (now + timedelta(days=dice.randint(-3, 12))).date()
    return dice.choice([{"ready_by": by}, {"ready_by": by}, {"start": soon},
                        {"start": soon, "ready_by": by}])  # fmt: skip


def grain(dice: Random, *, is_warm: bool) -> dict:
    lines: dict = {}
    if dice.random() < 0.3:
        lines["moisture"] = dice.choice(["10%", "12%", "13.5%"])
    if dice.random() < 0.3:
        lines["gypsum"] = dice.choice(["0%", "0.4%", "2%"])
    if dice.random() < 0.2:
        lines["soak"] = dice.choice(["12 h", "14 h"] if is_warm else ["12 h", "16 h", "18 h"])
    if dice.random() < 0.2:
        lines["simmer"] = dice.choice(["10 min", "20 min"])
    lines["new_lot"] = dice.random() < 0.3
    return lines


def kit(dice: Random, wanted: int) -> dict:
    spare = dice.randint(2, 8 + wanted)
    lines: dict = {
        "jars_free": wanted + spare,
        "pot": dice.choice(["6 L", "12 L", "20 qt"]),
        "scale_max": dice.choice(["2 kg", "5 kg", "11 lb"]),
        "cold_place": dice.random() < 0.4,
        "cooling": dice.choice(["overnight shut", "opened warm"]),
        "new_routine": dice.random() < 0.2,
    }
    if dice.random() < 0.4:
        lines["lids_free"] = wanted + dice.randint(0, spare)
    if dice.random() < 0.2:
        lines["still_place"] = False
    return lines


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
        lines["volume"] = f"{dice.randint(3 * wanted, 6 * wanted + 10)} mL"
    if dice.random() < 0.4:
        lines["tested"] = (now - timedelta(days=dice.randint(1, 20))).date()
    if dice.random() < 0.3:
        lines["made"] = (now - timedelta(days=dice.randint(21, 60))).date()
    return lines


def losses(dice: Random) -> dict:
    return {
        "jar": f"{dice.randint(1, 8)}%", "run": f"{dice.randint(0, 8)}%",
        "run_kill": f"{dice.randint(20, 90)}%", "culture": f"{dice.randint(0, 4)}%",
    }  # fmt: skip
