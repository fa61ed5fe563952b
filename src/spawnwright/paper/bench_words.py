"""The steps in a few words each, for the bench: one page has no room for all that a plan says.

Numbers come from the plan's own steps and from the wish; the words and cautions are the same
matters as the plan's, shorter. A kind of step that is not here keeps its whole text.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from spawnwright import units
from spawnwright.records.plan import Step
from spawnwright.records.wish import Wish


@dataclass(frozen=True)
class Words:
    """What the sheet says of a step."""

    detail: str
    cautions: tuple[str, ...] = ()


def words_of(step: Step, wish: Wish, *, in_full: bool) -> Words:
    """The words of a step: all of the plan's, or those of the bench."""
    short = None if in_full else _SHORT.get(step.kind)
    if short is None:
        return Words(step.detail, step.cautions)
    words = short(step, wish)
    return Words(words.detail[:1].upper() + words.detail[1:], words.cautions)


def _soak(step: Step, wish: Wish) -> Words:
    water = _with(step, "water_l", " in {:.1f} L of cold water", 1)
    return Words(f"{_with(step, 'dry_grain_kg', '{:.2f} kg of dry grain', 1)}{water}; "
                 "no longer than the latest rinse.".lstrip("; "))  # fmt: skip


def _rinse(step: Step, wish: Wish) -> Words:
    return Words("Until the water runs clear.")


def _simmer(step: Step, wish: Wish) -> Words:
    pots = step.amounts.get("portions", 1)
    minutes = _with(step, "simmer_min", "{:.0f} min from the return to a simmer", 1)
    each = f", in {pots:.0f} pots one after another" if pots > 1 else ""
    return Words(
        f"{minutes}{each}; kernels crush soft, no chalky middle, few split.",
        ("Boiling water; pot no more than two thirds full.",),
    )


def _drain(step: Step, wish: Wish) -> Words:
    return Words("Shake now and then.")


def _surface_dry(step: Step, wish: Wish) -> Words:
    trays = wish.kit.trays
    return Words(f"Spread on {trays} tray{'s' if trays != 1 else ''}, stir: until no steam "
                 "rises and a paper towel stays dry.")  # fmt: skip


def _weigh(step: Step, wish: Wish) -> Words:
    low, high = (step.amounts.get(f"wet_grain_{end}_kg") for end in ("low", "high"))
    band = f"{low:.2f} to {high:.2f} kg is right" if low and high else (
        _with(step, "wet_grain_kg", "about {:.2f} kg", 1)
    )  # fmt: skip
    loads = step.amounts.get("portions", 1)
    more = f", in {loads:.0f} loads" if loads > 1 else ""
    gypsum = _with(step, "gypsum_g", "; mix in {:.0f} g gypsum", 1)
    return Words(f"{band}{more}{gypsum}. Wet print on paper: dry longer. Chalky: hot water again.")


def _fill(step: Step, wish: Wish) -> Words:
    grams = _with(step, "jar_grain_kg", "{:.0f} g a jar", 1000)
    depth_cm = step.amounts.get("depth_cm", 100 * wish.kit.jar.bed_depth_m(wish.kit.fill))
    return Words(
        f"{grams}, {depth_cm:.0f} cm deep, loose. Wipe rims; lid, loose foil cap, code on the lid.",
        ("No chipped or cracked jar.",),
    )


def _load(step: Step, wish: Wish) -> Words:
    water = _with(step, "water_l", "{:.1f} L of water; ", 1)
    return Words(
        f"{water}rack in, vent pipe clear, jars off the wall; note which stands where.",
        ("No cold jar into hot water; bands not tight.",),
    )


def _heat_up(step: Step, wish: Wish) -> Words:
    return Words("Vent open, until a steady jet.", ("Stay with it from now to zero pressure.",))


def _vent(step: Step, wish: Wish) -> Words:
    minutes = _with(step, "vent_min", "{:.0f} min", 1) or "10 min"
    return Words(f"{minutes} from the steady jet, then weight on.", ("Steam scalds.",))


def _hold(step: Step, wish: Wish) -> Words:
    minutes = _with(step, "hold_min", "{:.0f} min", 1)
    gauge = f"{units.psi(wish.kit.gauge_pa):.3g} psi"
    return Words(
        f"{minutes} from the moment {gauge} is reached.",
        (f"Below {gauge}: bring it back, start the {minutes} again. Never run dry.",),
    )


def _pressure_drop(step: Step, wish: Wish) -> Words:
    return Words("Wait for zero pressure.", ("No water on it, weight and valve untouched.",))


def _cool_down(step: Step, wish: Wish) -> Words:
    if wish.kit.cooling == "overnight shut":
        return Words(
            "Stays shut; vent guarded with a wipe wet with alcohol, no flame near.",
            ("It can draw a vacuum: let air in slowly, never force the lid.",),
        )
    return Words("On the towel, out of draughts, until cold.")


def _unload(step: Step, wish: Wish) -> Words:
    return Words(
        "Open as the manual says; jars onto a towel, none touching.",
        ("Lid away from your face. Jars are hotter inside than they look.",),
    )


def _inoculate(step: Step, wish: Wish) -> Words:
    dose = _with(step, "dose_ml", "{:.3g} mL a jar", 1)
    limit = max(28.0, wish.place.room_c + 3)
    return Words(
        f"{dose}, first drop wasted, into loosened grain at most {limit:.0f} °C; fans off; wipe "
        "port, let dry. Roll; label: date, species, syringe.",
        ("Alcohol dry and closed before any flame.",),
    )


def _culture_test(step: Step, wish: Wish) -> Words:
    return Words("A drop on agar or in one small sterile jar, beside the spawn shelf.")


def _wash_jars(step: Step, wish: Wish) -> Words:
    return Words("Hot, with soap; feel every rim.", ("Chipped or cracked: out.",))


def _make_lids(step: Step, wish: Wish) -> Words:
    return Words("Filter hole and port, silicone; 24–48 h until no vinegar smell.")


def _shelf(step: Step, wish: Wish) -> Words:
    return Words(f"{wish.place.shelf_c:.0f} °C, dark, air between the jars.")


def _shake(step: Step, wish: Wish) -> Words:
    return Words(
        f"The day is a guess: look first. {wish.goal.species.shake_note}",
        ("A jar in doubt is not shaken.",),
    )


def _ready(step: Step, wish: Wish) -> Words:
    inside = wish.goal.species.inside_days
    return Words(f"White all round, then {inside:.0f} days more for the inside.")


def _use_by(step: Step, wish: Wish) -> Words:
    species = wish.goal.species
    return Words(
        f"It keeps about {species.use_by_cold_days:.0f} days at {species.cold_storage_c:.0f} °C, "
        f"{species.use_by_room_days:.0f} at 20 °C; the oldest first."
    )


def _use(step: Step, wish: Wish) -> Words:
    return Words("Break the grain up and mix it into the substrate, hands and bench clean.",
                 ("A jar with any odd color or smell is not used.",))  # fmt: skip


def _first_harvest(step: Step, wish: Wish) -> Words:
    return Words("The likely day; pick before the caps flatten and drop spores.")


def _wash_up(step: Step, wish: Wish) -> Words:
    return Words(
        "Jars and lids back in stock.", ("A spoiled jar is sterilized shut, then emptied.",)
    )


_SHORT: dict[str, Callable[[Step, Wish], Words]] = {
    "soak": _soak, "rinse": _rinse, "simmer": _simmer, "drain": _drain,
    "surface_dry": _surface_dry, "weigh": _weigh, "fill": _fill, "load": _load,
    "heat_up": _heat_up, "vent": _vent, "hold": _hold, "pressure_drop": _pressure_drop,
    "unload": _unload,
    "cool_down": _cool_down, "inoculate": _inoculate, "culture_test": _culture_test,
    "wash_jars": _wash_jars, "make_lids": _make_lids, "shelf": _shelf, "shake": _shake,
    "ready": _ready, "use_by": _use_by, "use": _use, "first_harvest": _first_harvest,
    "wash_up": _wash_up,
}  # fmt: skip


def _with(step: Step, name: str, form: str, times: float) -> str:
    """A number of the step in a phrase; nothing where the step does not have it."""
    value = step.amounts.get(name)
    return form.format(value * times) if value else ""
