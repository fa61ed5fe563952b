"""Every uncertain input of a run moves what it should, the right way, in every kind of load.

A table says for each input a higher value and the sign of its effect on F0 (the core's, cooling
counted), on come-up, on water lost and on the chance of a survivor, and in which loads it acts.
One scenario with everything likely, and one more for each input, are solved together.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest

from spawnwright.model.canner.run_inputs import WORDS, run_inputs, words
from spawnwright.model.canner.sterilizer_run import runs
from spawnwright.model.canner.vessel_history import beginning, cooling_c, vessel_history
from spawnwright.model.heat.liquid import liquid_table
from spawnwright.model.heat.vapor_surrogate import HowFine, by_vapor
from spawnwright.model.sterilizing.hold import mean_chance
from spawnwright.model.sterilizing.run_table import _by_conduction
from spawnwright.model.sterilizing.survival import log10_reduction
from spawnwright.sources import OWN, Estimate
from tests.model.questions import bags, liquid, more, question

CREEPS, OPEN, LIQUID = "creeps", "open", "liquid"
POT_W = Estimate(1500.0, "W", low=1300.0, high=1700.0, source=OWN, where="a test")
LOADS = {
    "jars, heat creeps": (question(), CREEPS, 5400.0),
    "jars, open pores": (question(), OPEN, 5400.0),
    "two kinds, open pores": (question(jars=4, also=(more(4, "pint", 0.6),)), OPEN, 5400.0),
    "lying bags, open pores": (bags(is_lying=True), OPEN, 9000.0),
    "standing bag, heat creeps": (bags(is_lying=False), CREEPS, 9000.0),
    "a burner that was measured": (question(pot_w=POT_W), OPEN, 5400.0),
    "spoiled jars": (question(is_spoiled=True, grain_state="smears"), CREEPS, 5400.0),
    "liquid culture": (liquid(), LIQUID, 1200.0),
    "agar": (liquid("agar"), LIQUID, 1200.0),
}


@dataclass(frozen=True)
class Effect:
    """A higher value, the signs on F0, come-up, water and chance, and where it acts at all."""

    higher: float
    f0: str = ""
    come_up: str = ""
    water: str = ""
    chance: str = ""
    acts_in: tuple[str, ...] = (CREEPS, OPEN, LIQUID)


EFFECTS = {
    "diffusivity_m2_s": Effect(1.5e-7, "+", "+", "", "-", (CREEPS,)),
    "dry_conductivity_w_mk": Effect(0.25, "+", "+", "", "-", (OPEN,)),
    "open_pore_factor": Effect(0.20, "+", "+", "", "-", (OPEN,)),
    "narrow_pore_factor": Effect(0.10, acts_in=()),  # of the third way: its own test below
    "moisture": Effect(0.55, "-", "+", "", "+", (OPEN,)),
    "wet_void": Effect(0.46, "+", "-", "", "-", (OPEN,)),
    "inner_radius_m": Effect(1.05, "-", "", "", "+"),
    "inner_radius_m_2": Effect(1.05, "", "", ""),
    "film_w_m2_k": Effect(1.3, "+", "", "", "-"),
    "top_film_w_m2_k": Effect(3.0, "+", "", "", "-", (CREEPS, OPEN)),
    "start_c": Effect(40.0, "+", "-", "", "-"),
    "gauge_error_pa": Effect(5000.0, "+", "+", "", "-"),
    "weather_pa": Effect(2000.0, "+", "", "", "-"),
    "air_retained": Effect(0.10, "-", "-", "", "+"),
    "burner_w": Effect(3000.0, "-", "-", "+", "+"),
    "pot_w": Effect(2200.0, "-", "-", "+", "+"),
    "hob_efficiency": Effect(0.80, "-", "-", "+", "+"),
    "loss_w_m2_k": Effect(12.0, "-", "+", "-", "+"),
    "metal_kg": Effect(8.0, "+", "+", "", "-"),
    "water_m3": Effect(0.004, "+", "+", "", "-"),
    "spare_w": Effect(500.0, "", "", "+", ""),
    "spore_log10_per_g": Effect(1.0, "", "", "", "+"),
    "spore_d_min": Effect(1.0, "", "", "", "+"),
    "spore_z_c": Effect(10.0, "", "", "", ""),
}
BY_MASS = {
    "wet_void": Effect(0.46, "-", "", "", "+", (OPEN,)),
    "inner_radius_m": Effect(1.05, "+", "", "", "-"),
}
"""In bags, filled by mass: looser grain lies thicker, and a wider disc thinner."""
SHARES = ("inner_radius_m", "inner_radius_m_2", "film_w_m2_k", "top_film_w_m2_k")
"""Times the likely value; `spore_log10_per_g` is added to it."""


@dataclass(frozen=True)
class Solved:
    names: tuple[str, ...]
    f0: np.ndarray
    come_up: np.ndarray
    water: np.ndarray
    chance: np.ndarray


@cache
def solved(load):
    asked, way, hold = LOADS[load]
    likely = {each.name: float(each.likely) for each in run_inputs(asked)}
    if "transport" in likely:
        likely["transport"] = 2.0 if way == OPEN else 0.0
    names = tuple(name for name in likely if name != "transport")
    scenarios = [likely]
    for name in names:
        value = EFFECTS[name].higher
        value = value * likely[name] if name in SHARES else value
        value = value + likely[name] if name == "spore_log10_per_g" else value
        scenarios.append(likely | {name: value})
    draws = {name: np.array([one[name] for one in scenarios]) for name in likely}
    every, hold_s = runs(asked, draws), np.array([hold / 3, hold])
    begun = beginning(asked, every)
    history = vessel_history(asked, every, begun, hold_s)
    table = table_of(asked, way, every, history, hold_s)
    spores = 1000.0 * every.dry_grain_kg * 10.0**every.spores_log10_per_g
    # The logarithm of expected survivors rises and falls with the chance, and never saturates.
    decades = log10_reduction(table.coldest_own_z_min[:, -1], every.spore_d_min)
    return Solved(
        names, table.f0_total_min[:, -1], begun.come_up_s,
        begun.vented_kg + history.boiled_kg[:, -1], np.log10(spores) - decades,
    )  # fmt: skip


def table_of(asked, way, every, history, hold_s):
    rows = np.arange(len(every.grain_kg))
    if way == OPEN:
        return by_vapor(asked, every, history, HowFine((8, 10), 90.0, 2))
    if way == CREEPS:
        return _by_conduction(asked, every, history, rows)
    cooling = cooling_c(asked, every, history, rows)
    return liquid_table(
        every.mixing_rate_s, every.vessel.start_c, every.spore_z_c, history.cycle, hold_s, cooling
    )


CASES = [(load, each.name) for load, (asked, _, _) in LOADS.items() for each in run_inputs(asked)
         if each.name != "transport"]  # fmt: skip


@pytest.mark.parametrize(("load", "name"), CASES)
def test_every_input_moves_the_run_the_right_way(load, name):
    """More power warms sooner and so kills less; more of what conducts kills more; and so on."""
    found, way, effect = solved(load), LOADS[load][1], EFFECTS[name]
    if load.startswith("lying"):
        effect = BY_MASS.get(name, effect)
    if load == "a burner that was measured" and name == "hob_efficiency":
        effect = Effect(0.80)  # what reaches the pot is known: it says only what is paid for
    row = 1 + found.names.index(name)
    acts = way in effect.acts_in

    for values, sign, least in (
        (found.f0, effect.f0 if acts else "", 1e-3),
        (found.come_up, effect.come_up if acts else "", 1e-3),
        (found.water, effect.water, 1e-3),
    ):
        change = values[row] / values[0] - 1
        if sign:
            assert change * (1 if sign == "+" else -1) > least
    if acts and effect.chance:
        change = found.chance[row] - found.chance[0]
        assert change * (1 if effect.chance == "+" else -1) > 0


IDLE = [(load, name) for load, (_, way, _) in LOADS.items()
        for name, effect in EFFECTS.items()
        if name in ("diffusivity_m2_s", "dry_conductivity_w_mk", "open_pore_factor",
                    "narrow_pore_factor") and way not in (*effect.acts_in, LIQUID)]  # fmt: skip


@pytest.mark.parametrize(("load", "name"), IDLE)
def test_what_belongs_to_another_way_changes_nothing(load, name):
    """Pores do not matter where heat creeps, nor its diffusivity where vapor moves."""
    found = solved(load)
    row = 1 + found.names.index(name)

    for values in (found.f0, found.come_up, found.water, found.chance):
        assert values[row] == values[0]


def test_no_input_can_slip_in_unchecked():
    """Each has a line above, and words of the grower's for every load it stands in."""
    named = {each.name for asked, _, _ in LOADS.values() for each in run_inputs(asked)}

    assert named - {"transport"} == set(EFFECTS)
    beside = {"pot_w", "inner_radius_m_2"}
    assert named - beside == set(WORDS)
    for asked, _, _ in LOADS.values():
        for each in run_inputs(asked):
            said = words(asked, each.name)
            assert " " in said
            assert ("jar" not in said) or asked.bag is None


def test_the_other_kind_s_width_acts_through_the_load_alone():
    """Wider pints hold their share of the nominal volume shallower: the quarts hardly notice."""
    found = solved("two kinds, open pores")
    row = 1 + found.names.index("inner_radius_m_2")

    assert 0 < abs(found.come_up[row] / found.come_up[0] - 1) < 0.02
    assert found.f0[row] == pytest.approx(found.f0[0], rel=0.01)


@pytest.mark.parametrize(
    ("count", "d", "grain"), [(3.0, 0.5, 0.2), (2.0, 1.0, 0.2), (2.0, 0.5, 0.4)]
)
def test_more_hardier_or_more_widely_spread_spores_survive_more_often(count, d, grain):
    """More a gram, a higher D, more grain: each alone raises the average chance in a jar."""
    own = np.array([[2.5]])
    usual = mean_chance(own, np.array([0.5]), np.array([2.0]), np.array([0.2]))

    changed = mean_chance(own, np.array([d]), np.array([count]), np.array([grain]))
    assert changed[0] > usual[0]


@pytest.mark.parametrize("z_c", [7.0, 9.0])
def test_a_higher_z_kills_more_below_the_reference_and_less_above(z_c):
    """At 115 °C spores of high z die faster, at 125 °C slower: the sign turns at 121.11 °C."""
    below, above = (10.0 ** ((np.array([115.0, 125.0]) - 121.11) / z_c)).tolist()
    less, more_ = (10.0 ** ((np.array([115.0, 125.0]) - 121.11) / (z_c + 1))).tolist()

    assert less > below
    assert more_ < above


def test_spores_of_higher_z_survive_less_often_in_a_jar_that_lags():
    """The core is below 121.11 °C all the time, so z works for the grower."""
    for load in ("jars, heat creeps", "standing bag, heat creeps", "liquid culture"):
        found = solved(load)
        row = 1 + found.names.index("spore_z_c")
        assert found.chance[row] < found.chance[0]


def test_the_three_ways_are_in_their_order():
    """No pores, narrow ones at their likely factor, open ones: F0 rises; wider narrow pores too."""
    asked = question()
    likely = {each.name: float(each.likely) for each in run_inputs(asked)}
    narrow, wide = {"transport": 1.0}, {"narrow_pore_factor": 0.1}
    scenarios = [likely | narrow, likely | narrow | wide, likely | {"transport": 2.0}]
    draws = {name: np.array([one[name] for one in scenarios]) for name in likely}
    every, hold_s = runs(asked, draws), np.array([5400.0])
    history = vessel_history(asked, every, beginning(asked, every), hold_s)
    little, more_, all_ = by_vapor(asked, every, history, HowFine((8, 10), 90.0, 1)).f0_total_min

    assert solved("jars, heat creeps").f0[0] < little[0] < more_[0] < all_[0]


# What is said instead of left uncertain


@pytest.mark.parametrize(
    ("worse", "better"),
    [
        (bags(is_lying=False, jars=1), bags(is_lying=True, jars=1)),
        (bags("3-kg", is_lying=False), bags("2-kg", is_lying=False)),
        (question("quart"), question("pint")),
        (question(fill=0.8), question(fill=0.5)),
        (liquid("agar"), liquid("liquid-culture")),
        (liquid(fill=0.65), liquid(fill=0.3)),
        (liquid("agar", jar="quart"), liquid("agar", jar="half-pint")),
    ],
    ids=["standing", "heavier", "larger", "fuller", "agar", "fuller liquid", "larger liquid"],
)
def test_thicker_loads_get_less_heat_in_the_middle(worse, better):
    """At their likely values, everything else alike."""

    def f0(asked):
        draws = {each.name: np.array([float(each.likely)]) for each in run_inputs(asked)}
        draws |= {"transport": np.array([0.0])} if "transport" in draws else {}
        every, hold_s = runs(asked, draws), np.array([1800.0, 5400.0])
        history = vessel_history(asked, every, beginning(asked, every), hold_s)
        way = CREEPS if asked.contents == "grain" else LIQUID
        return table_of(asked, way, every, history, hold_s).f0_off_min[0, -1]

    assert f0(worse) < 0.999 * f0(better)
