"""A plan made by hand for an invented grower: what a good plan looks like, for tests to use.

Every name and number in it is invented. One soak, one run and one inoculation follow each other
day by day, so that a plan of any number of runs can be had.
"""

from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from spawnwright.records.plan import (
    Choice,
    Plan,
    ReadyBand,
    Step,
    SterilizerRun,
)

ZONE = ZoneInfo("Europe/Warsaw")
NOW = datetime(2027, 3, 8, 17, 30, tzinfo=ZONE)
JAR_KG, WET_PER_DRY = 0.46, 0.88 / 0.52 * 0.97
CHANCE_OF_ENOUGH = 0.9
STEAM = "Hot metal, hot steam: gloves, face away, the maker's manual first."
GLASS = "Jars with a chip or a crack break in the canner: leave them out."
FLAME = "Close the alcohol and let it dry on the port before any flame is lit; hair tied back."


def wish_toml(runs: int = 2) -> dict:
    """The wish file of this invented grower, as the TOML reader gives it."""
    jars = 7 * runs
    return {
        "wish": {
            "species": "blue oyster", "jars": jars - 1 - runs, "ready_by": date(2027, 4, 25),
            "chance": "80%",
        },
        "grain": {"kind": "rye", "new_lot": True},
        "kit": {"jar": "quart", "jars_free": jars, "canner": "two-layer", "pot": "12 L"},
        "place": {"elevation": "450 m", "time_zone": "Europe/Warsaw"},
        "free": [{"from": "08:00", "until": "23:00", "days": list(_DAYS)}],
        "culture": {"volume": f"{14 * runs} mL", "dose": "2 mL"},
    }  # fmt: skip


_DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


@dataclass
class _Making:
    steps: list[Step] = field(default_factory=list)

    def add(self, kind: str, day: int, clock: str, minutes: float, title: str, detail: str,
            cautions: tuple[str, ...] = (), hands: bool = True, **more) -> Step:  # fmt: skip
        number = more.get("soak") or more.get("run") or more.pop("number", None)
        midnight = (NOW + timedelta(days=day)).replace(hour=0, minute=0)
        hour, minute = clock.split(":")
        at = midnight.replace(hour=int(hour), minute=int(minute))
        until = (at.astimezone(ZoneInfo("UTC")) + timedelta(minutes=minutes)).astimezone(ZONE)
        key = f"{kind}-{number}" if number else kind
        step = Step(key, kind, at, until, title, detail, cautions, hands, **more)
        self.steps.append(step)
        return step


def plan(runs: int = 2) -> Plan:
    """The plan for `wish_toml(runs)`: seven jars a run, the first of them a control."""
    making = _Making()
    _before(making, runs)
    records = [_batch(making, number, 7 + number - 1, number == 1) for number in range(1, runs + 1)]
    last = 7 + runs + 1
    ready = _after(making, runs, last)
    jars = 7 * runs - 1
    dry = sum(s.amounts["dry_grain_kg"] for s in making.steps if s.kind == "soak")
    return Plan(
        feasible=True, binding=(), jars_wanted=jars - runs, jars_to_make=jars, controls=1,
        dry_grain_kg=dry, water_l=dry * 3, sterilizer_runs=tuple(records),
        steps=tuple(sorted(making.steps, key=lambda step: step.at)), ready=ready,
        chance_of_meeting=0.86,
        choices=(
            Choice(jars - 1, 0.81, runs, 2 + 7.0 * runs, False),
            Choice(jars, 0.86, runs, 2 + 7.0 * runs, True),
            Choice(jars + 6, 0.97, runs + 1, 9 + 7.0 * runs, False),
        ),
        chance_of_enough=CHANCE_OF_ENOUGH, chance_in_time=0.96,
        notes=("The scale, the trays and the burner were not in the file; usual ones were taken.",),
    )  # fmt: skip


def _before(making: _Making, runs: int) -> None:
    making.add(
        "culture_test", 1, "18:00", 20, "Test the culture",
        "One drop on agar or into one small sterile jar, closed, at 22 °C; look on days 3 and 6.",
    )  # fmt: skip
    making.add(
        "wash_jars", 5, "18:00", 45, f"Wash {7 * runs} jars",
        "Hot water and soap, rinse; run a finger round each rim.", (GLASS,),
    )  # fmt: skip
    making.add(
        "make_lids", 5, "19:00", 60, f"Make {7 * runs} lids",
        "Filter hole and port in each, silicone round both; 24 to 48 h, until no smell of vinegar.",
    )  # fmt: skip


def _batch(making: _Making, n: int, day: int, has_control: bool) -> SterilizerRun:
    dry = 7 * JAR_KG * 1.02 / WET_PER_DRY
    wet = dry * WET_PER_DRY
    making.add(
        "soak", day, "18:00", 16 * 60, f"Soak {dry:.2f} kg rye",
        f"{dry:.2f} kg of dry grain in {2 * dry:.1f} L of water at 20 °C, until 10:00.",
        hands=False, soak=n, amounts={"dry_grain_kg": dry, "water_l": 2 * dry},
    )  # fmt: skip
    making.steps[-1] = _with_latest(making.steps[-1])
    day += 1
    making.add("rinse", day, "10:00", 15, "Rinse", "Three changes, until the water is clear.",
               soak=n)  # fmt: skip
    making.add(
        "simmer", day, "10:15", 45, "Simmer 15 min",
        "15 min from the return to a simmer; kernels crush soft, no chalky middle.",
        ("Boiling water: the pot no more than two thirds full.",), soak=n,
        amounts={"simmer_min": 15.0, "portions": 1.0},
    )  # fmt: skip
    making.add("drain", day, "11:00", 15, "Drain", "In a colander, shaken now and then.",
               hands=False, soak=n)  # fmt: skip
    making.add("surface_dry", day, "11:15", 60, "Spread to dry",
               "2 cm deep on 2 trays until no steam rises and paper stays dry.",
               hands=False, soak=n, amounts={"gypsum_g": 0.0})  # fmt: skip
    making.add(
        "weigh", day, "12:15", 15, f"Weigh: {wet:.2f} kg",
        f"{wet * 0.96:.2f} to {wet * 1.04:.2f} kg; {5 * dry:.0f} g gypsum. Above: dry longer.",
        soak=n, amounts={"wet_grain_kg": wet, "portions": 1.0, "gypsum_g": 5 * dry},
    )  # fmt: skip
    making.add(
        "fill", day, "12:30", 60, "Fill 7 jars", f"{JAR_KG * 1000:.0f} g each, about 11 cm deep.",
        (GLASS,), soak=n, amounts={"jars": 7.0, "jar_grain_kg": JAR_KG},
    )  # fmt: skip
    return _run(making, n, day, has_control)


def _run(making: _Making, n: int, day: int, has_control: bool) -> SterilizerRun:
    making.add("load", day, "13:40", 20, "Load 7 jars", "3 L water, rack, jars not touching.",
               run=n, amounts={"jars": 7.0})  # fmt: skip
    heat = making.add("heat_up", day, "14:00", 30, "Heat on", "Until a steady jet, about 30 min.",
                      (STEAM,), run=n)  # fmt: skip
    making.add("vent", day, "14:30", 10, "Vent 10 min", "A steady jet for 10 min, then the weight.",
               (STEAM,), run=n, amounts={"vent_min": 10.0})  # fmt: skip
    making.add(
        "hold", day, "14:45", 90, "Hold 90 min", "90 min from when 15 psi is reached.",
        ("Pressure below the mark: restore it and start the 90 min again.", STEAM), run=n,
        amounts={"hold_min": 90.0, "gauge_kpa": 103.4},
    )  # fmt: skip
    drop = making.add("pressure_drop", day, "16:15", 45, "Heat off", "Wait for zero pressure.",
                      ("No water on the canner, no weight lifted.",), run=n)  # fmt: skip
    making.add(
        "cool_down", day, "17:00", 15.5 * 60, "Cool overnight, shut", "Until 08:30.",
        ("A shut canner draws a vacuum: let air in through a filter or a wipe.",),
        hands=False, run=n,
    )  # fmt: skip
    jars = 6 if has_control else 7
    making.add(
        "inoculate", day + 1, "08:30", 45, f"Inoculate {jars} jars",
        f"2 mL each, {2 * jars} mL in all; first drop wasted; grain at most 28 °C.", (FLAME,),
        run=n, amounts={"jars": float(jars), "dose_ml": 2.0},
    )  # fmt: skip
    return SterilizerRun(heat.at, 7, int(has_control), 90.0, drop.until)


def _with_latest(step: Step) -> Step:
    from dataclasses import replace

    return replace(step, latest=step.at + timedelta(hours=4))


def _after(making: _Making, runs: int, last: int) -> ReadyBand:
    first = last - runs + 1
    making.add("shelf", first, "09:15", 0, "On the shelf", "22 °C, dark, air between the jars.",
               hands=False)  # fmt: skip
    days = {day + wait for day in range(first, last + 1) for wait in (2, 4, 7)}
    days |= set(range(last + 10, last + 21, 3))
    for day in sorted(days):
        making.add("look", day, "08:00", 0, "Look at the jars", "White, and no other color?",
                   hands=False, number=day)  # fmt: skip
    making.add("shake", last + 6, "08:00", 0, "Shake at about a third", "Jars in doubt: not.",
               hands=False)  # fmt: skip
    making.add("ready", last + 18, "08:00", 0, "Ready", "White all round, and four days more.",
               hands=False)  # fmt: skip
    making.add("use_by", last + 75, "08:00", 0, "Use by", "Kept at 4 °C.", hands=False)
    making.add("wash_up", last + 18, "18:00", 60, "Wash up", "Jars and lids back in stock.")
    noon = (NOW + timedelta(days=last)).replace(hour=12, minute=0)
    return ReadyBand(*(noon + timedelta(days=wait) for wait in (13, 18, 26)))
