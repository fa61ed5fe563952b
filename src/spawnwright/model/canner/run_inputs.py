"""What is uncertain about a sterilizer run: one named input each, and what would narrow it.

Spreads are 5th and 95th percentile. `WORDS` says each in the grower's words.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from math import log10

from spawnwright.model.canner.vessel import LOSS_W_M2_K
from spawnwright.model.heat.liquid import LIQUID_FILM_W_M2_K, LIQUID_LOG10_PER_ML
from spawnwright.model.heat.transport import TEXTURE, transport_inputs
from spawnwright.model.scenarios import Floats, Input
from spawnwright.model.sterilizing.survival import SPOILED_LOG10_COUNT, spore_inputs
from spawnwright.records.sterilizing import Hob, SterilizeQuestion
from spawnwright.sources import COMMON, JUDGMENT, Constant, Estimate

MOISTURE = Estimate(
    0.50, "-", low=0.45, high=0.55, source=COMMON, where="grain as it goes into the jar"
)
FILM_W_M2_K = Estimate(
    250.0, "W/(m² K)", low=150.0, high=330.0, source=JUDGMENT,
    where="condensing steam at 300 to 5000 and 3 to 4 mm of glass at 1.0 W/(m K)",
)  # fmt: skip
TOP_FILM_W_M2_K = Estimate(
    5.0, "W/(m² K)", low=3.0, high=15.0, source=JUDGMENT, where="gas under a lid with a filter"
)
BAG_FILM_W_M2_K = Estimate(
    400.0, "W/(m² K)", low=150.0, high=1500.0, source=JUDGMENT,
    where="steam at 300 to 5000 behind 0.1 mm of plastic that wrinkles and traps some gas",
)  # fmt: skip
BAG_TOP_W_M2_K = Estimate(
    20.0, "W/(m² K)", low=5.0, high=150.0, source=JUDGMENT,
    where="folds, filter and gas above the grain of a standing bag",
)  # fmt: skip
AIR_RETAINED = Estimate(
    0.01, "-", low=0.003, high=0.03, source=JUDGMENT, where="share of air left after 10 min of jet"
)
WEATHER_PA = Estimate(
    0.0, "Pa", low=-2000.0, high=2000.0, source=COMMON, where="weather moves air pressure by 2 kPa"
)
BAROMETER_PA = Estimate(
    0.0, "Pa", low=-200.0, high=200.0, source=JUDGMENT, where="a household barometer"
)
START_C = {
    "cold": Estimate(18.0, "°C", low=12.0, high=24.0, source=JUDGMENT, where="cold from the sink"),
    "warm": Estimate(40.0, "°C", low=30.0, high=50.0, source=JUDGMENT, where="warm to the hand"),
    "hot-packed": Estimate(
        72.0, "°C", low=60.0, high=85.0, source=JUDGMENT, where="filled from the pot, water hot"
    ),
}
START_READ_K = Constant(2.0, "K", source=JUDGMENT, where="a temperature read in one spot")
BURNER_W: dict[Hob, Estimate] = {
    "gas": Estimate(
        3000.0, "W", low=2000.0, high=4400.0, source=COMMON, where="large gas burners, full on"
    ),
    "electric": Estimate(
        2100.0, "W", low=1500.0, high=2600.0, source=COMMON, where="large coils and ceramic plates"
    ),
    "induction": Estimate(
        2200.0, "W", low=1800.0, high=3500.0, source=COMMON, where="large induction plates"
    ),
    "unknown": Estimate(
        2300.0, "W", low=1600.0, high=3500.0, source=COMMON, where="the largest burner of a stove"
    ),
}
HOB_EFFICIENCY: dict[Hob, Estimate] = {
    "gas": Estimate(
        0.42, "-", low=0.33, high=0.46, source="DOE2015", where="gas 40 to 44 %; one test 32 %"
    ),
    "electric": Estimate(
        0.77, "-", low=0.70, high=0.82, source="DOE2015", where="coil and ceramic, 74 to 80 %"
    ),
    "induction": Estimate(
        0.84, "-", low=0.74, high=0.90, source="SWEENEY2014", where="84 %; 74 to 90 % by test"
    ),
    "unknown": Estimate(
        0.65, "-", low=0.40, high=0.86, source=JUDGMENT, where="gas or electricity, not said"
    ),
}
SPARE_W = {
    "weight": Estimate(
        300.0, "W", low=150.0, high=500.0, source=JUDGMENT, where="a weight that rocks gently"
    ),
    "dial": Estimate(
        60.0, "W", low=15.0, high=200.0, source=JUDGMENT, where="a dial: only seals and cock leak"
    ),
}
RADIUS = "inner_radius_m"

WORDS = {
    "transport": "whether steam can move between the kernels",
    "diffusivity_m2_s": "how fast heat creeps through packed grain",
    "dry_conductivity_w_mk": "how well the resting grain conducts",
    "narrow_pore_factor": "how easily vapor moves through sticky grain",
    "open_pore_factor": "how easily vapor moves between the kernels",
    "moisture": "the moisture of the grain",
    "wet_void": "how loosely the grain lies",
    "inner_radius_m": "the inner width of the jar",
    "film_w_m2_k": "how well steam heats the glass",
    "top_film_w_m2_k": "how much heat enters from the top",
    "start_c": "the temperature of the grain at the start",
    "gauge_error_pa": "how true the gauge or weight is",
    "weather_pa": "the air pressure that day",
    "air_retained": "air left in the canner after venting",
    "burner_w": "the power of the burner",
    "hob_efficiency": "how much of the burner's heat reaches the pot",
    "loss_w_m2_k": "how fast the canner loses heat to the room",
    "metal_kg": "the mass of the canner",
    "water_m3": "the water put in",
    "spare_w": "how high the burner is left during the hold",
    "spore_log10_per_g": "how many spores the grain carries",
    "spore_d_min": "how hardy those spores are",
    "spore_z_c": "how their hardiness changes with temperature",
}


_MEASURED_WORDS = {"pot_w": "how much heat the burner brings into the pot"}
_LIQUID_WORDS = {
    "film_w_m2_k": "how fast heat gets through the glass into the liquid",
    "spore_log10_per_g": "how many spores the liquid carries",
}
_BAG_WORDS = {
    "inner_radius_m": "how thick the bag stands or lies",
    "film_w_m2_k": "how well steam heats the bag",
    "top_film_w_m2_k": "how much heat enters from above",
}


def words(question: SterilizeQuestion, name: str) -> str:
    """An input in the grower's words, for what is in this canner."""
    if name in _MEASURED_WORDS:
        return _MEASURED_WORDS[name]
    if question.bag is not None and name in _BAG_WORDS:
        return _BAG_WORDS[name]
    if question.contents != "grain" and name in _LIQUID_WORDS:
        return _LIQUID_WORDS[name]
    is_other = name.startswith(f"{RADIUS}_")
    return "the inner width of the other jars" if is_other else WORDS[name]


def radius_name(place: int) -> str:
    """Name of the radius of a load's kind: `inner_radius_m`, `inner_radius_m_2` and so on."""
    return RADIUS if place == 0 else f"{RADIUS}_{place + 1}"


def turned(draws: Mapping[str, Floats], place: int) -> dict[str, Floats]:
    """Draws for `SterilizeQuestion.turned`: the radii of two kinds change places."""
    first, other = radius_name(0), radius_name(place)
    return {**draws, first: draws[other], other: draws[first]}


def run_inputs(question: SterilizeQuestion) -> list[Input]:
    """All uncertain inputs of a run; a pinned transport holds every one at its central value.

    Parameters
    ----------
    question : SterilizeQuestion
        What the grower said [-].

    Returns
    -------
    list of Input
        By name as in `WORDS`; what was given is fixed or has a small spread.

    Notes
    -----
    Inputs are independent. A weight's half pound above its mark [MISSOURI163]_, weather and air
    left in are taken as nothing with a pinned transport: it asks for the pressure as said.
    """
    if question.pinned is not None:
        return _pinned(question)
    if question.contents != "grain":
        return [
            *_radii(question),
            Input.of("film_w_m2_k", LIQUID_FILM_W_M2_K[question.contents], "lognormal",
                     narrow_with="a thermometer in one jar of it, in steam without pressure"),
            *_canner_inputs(question),
            *_spores(question),
        ]  # fmt: skip
    return [
        *transport_inputs(question.grain_state, question.probe),
        _moisture(question),
        Input.of("wet_void", question.kernels.wet_void, narrow_with="weigh one filled jar"),
        *_radii(question),
        *_films(question),
        *_canner_inputs(question),
        *_spores(question),
    ]


def _radii(question: SterilizeQuestion) -> list[Input]:
    """The inner radius of each kind of jar in the load."""
    narrow = (
        "measure your jar: water to the brim on the scale, a string round it, its height"
        if question.bag is None
        else "measure your bag with its grain in it: width and height as it stands, or how thick "
        "it lies"
    )
    return [
        Input.of(radius_name(place), kind.jar.inner_radius_m, narrow_with=narrow)
        for place, kind in enumerate(question.kinds)
    ]


def _films(question: SterilizeQuestion) -> list[Input]:
    side, top = FILM_W_M2_K, TOP_FILM_W_M2_K
    if question.bag is not None:
        side, top = BAG_FILM_W_M2_K, BAG_FILM_W_M2_K if question.is_lying else BAG_TOP_W_M2_K
    return [
        Input.of("film_w_m2_k", side, "lognormal", narrow_with="vent ten minutes, full jet"),
        Input.of("top_film_w_m2_k", top, "lognormal"),
    ]


def _canner_inputs(question: SterilizeQuestion) -> list[Input]:
    canner = question.canner
    return [
        _start(question),
        _gauge_error(question),
        Input.of(
            "weather_pa", BAROMETER_PA if question.is_ambient_measured else WEATHER_PA,
            narrow_with="read a barometer at home, or a thermometer in boiling water",
        ),
        _air(question),
        _burner(question),
        Input.of("hob_efficiency", HOB_EFFICIENCY[question.hob], "triangular",
                 narrow_with="time how long two liters of cold water take to boil"),
        Input.of("loss_w_m2_k", LOSS_W_M2_K, "lognormal",
                 narrow_with="time the fall of the pressure to zero"),
        Input.of("metal_kg", canner.mass_kg, narrow_with="weigh the empty canner with its lid"),
        Input.of("water_m3", canner.water_m3, narrow_with="measure the water you put in"),
        Input.of("spare_w", SPARE_W[canner.gauge], "lognormal",
                 narrow_with="measure the water before and after a run"),
    ]  # fmt: skip


def _spores(question: SterilizeQuestion) -> list[Input]:
    count, found = question.spores_per_g, spore_inputs()
    if question.contents != "grain":
        found[0] = Input.of(
            "spore_log10_per_g",
            LIQUID_LOG10_PER_ML,
            narrow_with=("a jar of the same liquid, same run, left shut for two weeks"),
        )
    elif question.is_spoiled:
        found[0] = Input.of("spore_log10_per_g", SPOILED_LOG10_COUNT)
    given = {
        "spore_log10_per_g": None if count is None else log10(count),
        "spore_d_min": question.spore_d_min,
        "spore_z_c": question.spore_z_c,
    }
    return [
        each if given[each.name] is None else Input.fixed(each.name, given[each.name], each.unit)  # type: ignore[arg-type]
        for each in found
    ]


def _moisture(question: SterilizeQuestion) -> Input:
    if question.moisture is not None:
        return Input.fixed("moisture", question.moisture, "-")
    return Input.of(
        "moisture", MOISTURE, narrow_with="weigh the grain dry and again when drained",
        cut=(0.35, 0.65),
    )  # fmt: skip


def _start(question: SterilizeQuestion) -> Input:
    narrow = "a thermometer in the grain before the burner is lit"
    if isinstance(question.start, str):
        return Input.of("start_c", START_C[question.start], narrow_with=narrow, cut=(1.0, 95.0))
    start, spread = float(question.start), float(START_READ_K)
    return Input(
        "start_c", "normal", start, start - spread, start + spread, "°C",
        f"given; {START_READ_K.where}", narrow, cut=(0.1, 99.0),
    )  # fmt: skip


def _gauge_error(question: SterilizeQuestion) -> Input:
    error = question.canner.gauge_error_pa
    have = "have the dial checked" if question.canner.gauge == "dial" else "a second, tested gauge"
    made = Input.of("gauge_error_pa", error, narrow_with=have)
    return replace(made, cut=(-question.gauge_pa * 0.5, question.gauge_pa * 0.5))


def _air(question: SterilizeQuestion) -> Input:
    if question.air_retained is not None:
        return Input.fixed("air_retained", question.air_retained, "-")
    return Input.of(
        "air_retained", AIR_RETAINED, "lognormal",
        narrow_with="vent ten minutes by the clock, from a full jet", cut=(0.0, 0.2),
    )  # fmt: skip


def _burner(question: SterilizeQuestion) -> Input:
    if question.pot_w is not None:  # in the burner's place, so that all other draws stay
        return Input.of(
            "pot_w", question.pot_w, "lognormal",
            narrow_with="time two liters once more, lid on, from ice-cold water",
        )  # fmt: skip
    if question.burner_w is not None:
        return Input.fixed("burner_w", question.burner_w, "W")
    return Input.of(
        "burner_w", BURNER_W[question.hob], "lognormal",
        narrow_with="read the power on the plate of the stove",
    )  # fmt: skip


def _pinned(question: SterilizeQuestion) -> list[Input]:
    pinned = question.pinned
    assert pinned is not None
    free = run_inputs(replace(question, pinned=None, air_retained=question.air_retained or 0.0))
    values = {
        "transport": 0.0 if pinned.kind == "conduction" else 2.0,
        "diffusivity_m2_s": pinned.diffusivity_m2_s,
        "open_pore_factor": pinned.pore_factor,
        "dry_conductivity_w_mk": pinned.dry_conductivity_w_mk,
        "gauge_error_pa": 0.0,
    }
    held = []
    for each in free:
        value = values.get(each.name)
        if value is None:
            held.append(Input.fixed(each.name, each.likely, each.unit, each.source))
        else:
            held.append(Input.fixed(each.name, value, each.unit))
    return held


__all__ = ["TEXTURE", "WORDS", "radius_name", "run_inputs", "turned", "words"]
