"""Sterilize: bags, liquids, several kinds of jars in one load, spoiled jars."""

from dataclasses import replace

import numpy as np
import pytest

from spawnwright.actions.sterilizing.sterilize import sterilize
from spawnwright.actions.sterilizing.sterilize_curve import likely_curve
from spawnwright.actions.sterilizing.sterilize_load import assumed_canner, read_jars, usual_target
from spawnwright.errors import Contradiction, Unusable
from spawnwright.records.bag import Bag
from spawnwright.records.fill import Fill
from spawnwright.records.sterilizing import PinnedTransport
from spawnwright.store.catalog import find
from tests.model.questions import bags, conduction, liquid, more, question, vapor

CREEPING = PinnedTransport("conduction", diffusivity_m2_s=1.6e-7)
PINNED = {"pinned": CREEPING, "moisture": 0.5}
QUICK = {"effort": "quick", "wants_causes": False}


# Bags


@pytest.fixture(scope="module")
def lying():
    return sterilize(bags(is_lying=True, grain_state="pours", **QUICK))


def test_a_bag_has_its_own_customary_mark_and_wide_bands(lying):
    """150 min for 2 to 3 kg, common practice; the model puts orders of magnitude about it."""
    assert lying.customary.low_s == lying.customary.high_s == 150 * 60
    assert 0.001 < lying.customary.chance_at_low < 0.2
    assert lying.f0_total_min.high > 4 * lying.f0_total_min.low
    assert lying.grain_kg_per_jar == pytest.approx(2.5)
    assert any("vent" in each for each in lying.cautions)
    assert any("cooled by itself" in each for each in lying.cautions)


def test_a_standing_bag_is_far_slower_than_a_lying_one(lying):
    """Twice the way to the middle: more chance of a survivor, and it says to lay it down."""
    standing = sterilize(bags(is_lying=False, grain_state="pours", **QUICK))

    assert standing.customary.chance_at_low > 3 * lying.customary.chance_at_low
    assert standing.f0_total_min.likely < lying.f0_total_min.likely
    assert standing.recommended_hold_s is None
    assert any("lay the bags down" in each for each in standing.advice)


def test_the_error_of_reading_bags_off_the_surface_is_said(lying):
    """Larger than for jars, and counted; still far inside the band."""
    assert 0.02 < lying.interpolation_error < 0.5


def test_an_own_bag_measured_thinner_heats_faster(tmp_path):
    """Its thickness is its own, with a small spread."""
    file = tmp_path / "thin.toml"
    text = '[thin]\nnames = []\ngrain = "2.5 kg"\ngrain_width = "20 cm"\ngrain_height = "15 cm"\n'
    file.write_text(f'{text}lying_thickness = "6.5 cm"\n')
    thin = find(Bag, "bags", str(file))
    usual = bags(is_lying=True, jars=1, canner="large-cast", **PINNED, hold_s=7200.0)
    own = replace(usual, bag=thin, jar=thin.as_jar(True))

    assert sterilize(own).f0_total_min.likely > 1.5 * sterilize(usual).f0_total_min.likely


def test_an_overfull_bag_is_warned_of(tmp_path):
    """More than half."""
    usual = find(Bag, "bags", "3-kg")
    full = replace(usual, bag_volume_m3=type(usual.bag_volume_m3)(
        0.006, "m³", low=0.006, high=0.007, source="OWN", where="a test"))  # fmt: skip
    asked = bags("3-kg", is_lying=False, **PINNED)

    found = sterilize(replace(asked, bag=full, jar=full.as_jar(False)))
    assert any("more than half" in each for each in found.warnings)


# Several kinds


@pytest.fixture(scope="module")
def mixed():
    return sterilize(question(jars=4, also=(more(4),), grain_state="pours", **QUICK))


def test_the_hold_is_that_of_the_slowest_kind(mixed):
    """Each kind has its own numbers, and the page's are those of the one that fares worst."""
    quart, pint = mixed.kinds

    assert mixed.slowest == 0
    assert mixed.recommended_hold_s == quart.recommended_hold_s > pint.recommended_hold_s
    assert mixed.chance_of_survivor == quart.chance_of_survivor > pint.chance_of_survivor
    assert mixed.coldest_f0_total_min == quart.coldest_f0_total_min
    assert pint.coldest_f0_total_min.likely > quart.coldest_f0_total_min.likely
    assert (quart.grain_kg_per_jar, pint.share) == pytest.approx((0.463, 0.6), abs=0.001)


def test_whoever_is_named_first_the_answer_is_the_same(mixed):
    """Pints first: the slowest is then the second; the same hold within a twentieth."""
    asked = question("pint", fill=0.6, jars=4, also=(more(4, "quart", 0.7),), grain_state="pours")
    other = sterilize(replace(asked, **QUICK))

    assert other.slowest == 1
    assert other.recommended_hold_s == pytest.approx(mixed.recommended_hold_s, rel=0.05)
    assert other.come_up_s.likely == pytest.approx(mixed.come_up_s.likely, rel=0.01)
    assert other.water_lost_kg.likely == pytest.approx(mixed.water_lost_kg.likely, rel=0.03)
    assert other.water_depth_m == pytest.approx(mixed.water_depth_m, rel=0.05)


def test_two_parts_of_one_kind_are_the_whole_load():
    """Three and four quarts are seven: exactly, where nothing is drawn."""
    whole = sterilize(question(**PINNED, hold_s=5400.0))
    parts = sterilize(question(jars=3, also=(more(4, "quart", 0.7),), **PINNED, hold_s=5400.0))

    for name in ("f0_total_min", "water_lost_kg", "water_needed_kg", "energy_j", "to_zero_s"):
        assert getattr(parts, name).likely == pytest.approx(getattr(whole, name).likely, rel=1e-6)
    assert parts.kinds[0].f0_total_min == parts.kinds[1].f0_total_min
    assert parts.water_depth_m == pytest.approx(whole.water_depth_m)


def test_all_jars_draw_heat():
    """Pints beside four quarts: later at pressure, more energy, and the quarts notice."""
    alone = sterilize(question(jars=4, **QUICK, hold_s=5400.0))
    beside = sterilize(question(jars=4, also=(more(4),), **QUICK, hold_s=5400.0))

    assert beside.come_up_s.likely > 1.05 * alone.come_up_s.likely
    assert beside.energy_j.likely > 1.05 * alone.energy_j.likely


def test_with_vapor_pinned_each_kind_is_solved_for_itself():
    """No width, and the pints ahead."""
    found = sterilize(vapor(0.1, jars=4, also=(more(3),)))

    assert all(each.f0_total_min.width == 0 for each in found.kinds)
    assert found.kinds[1].f0_total_min.likely > found.kinds[0].f0_total_min.likely


def test_three_kinds_and_what_knowing_the_grain_is_worth():
    """The hold by state is that of the slowest kind, too."""
    asked = question(jars=2, also=(more(3), more(4, "half-pint", 0.5)), effort="quick")
    found = sterilize(asked)

    assert [each.kind.jar.key for each in found.kinds] == ["quart", "pint", "half-pint"]
    chances = [each.chance_of_survivor for each in found.kinds]
    assert chances == sorted(chances, reverse=True)
    assert found.hold_by_state_s["pours"] < found.recommended_hold_s


# Liquids


@pytest.fixture(scope="module")
def culture():
    return sterilize(liquid(target=usual_target("liquid-culture"), effort="quick"))


def test_a_liquid_needs_less_than_grain_and_more_than_the_custom(culture):
    """Mixed by currents: tens of minutes; custom has 15 to 20 for up to half a liter."""
    assert 20 * 60 < culture.recommended_hold_s < 70 * 60
    assert (culture.customary.low_s, culture.customary.high_s) == (900, 1200)
    assert culture.customary.chance_at_low > culture.customary.chance_at_high > 0.01
    assert culture.coldest_f0_total_min == culture.f0_total_min
    assert culture.interpolation_error == 0
    assert culture.widest_input == "film_w_m2_k"
    assert not culture.hold_by_state_s
    assert any("boil" in each and "shut" in each for each in culture.cautions)


def test_a_liquid_has_a_stricter_target_of_its_own():
    """One jar of it goes into many."""
    assert usual_target("agar") < usual_target("grain")


def test_causes_of_a_liquid_s_width_are_worked_out_anew(culture):
    """Known film: narrower; known spores do not enter F0."""
    left = culture.left_if_known

    assert left["film_w_m2_k"] == min(left.values()) < 0.9
    assert "spore_log10_per_g" not in left


@pytest.mark.parametrize(
    ("fill", "refused"), [(0.66, False), (2 / 3, False), (0.67, True), (0.9, True), (1.4, True)]
)
def test_two_thirds_is_the_most_for_a_liquid(fill, refused):
    """It boils over when the pressure falls."""
    asked = liquid(fill=fill, **QUICK)
    if not refused:
        assert sterilize(asked).hold_s > 0
        return
    with pytest.raises(Unusable, match=r"boils over when the pressure falls.*333 mL"):
        sterilize(asked)


@pytest.mark.parametrize("asked", [Fill("mass", 0.4), Fill("below rim", 0.02)])
def test_however_its_fill_is_said(asked):
    """400 g in half a liter, 2 cm below the rim."""
    with pytest.raises(Unusable, match="boils over"):
        sterilize(liquid(fill=asked))


def test_what_is_about_grain_is_refused_for_liquids():
    """They mix by themselves, and go into jars."""
    with pytest.raises(Contradiction, match="mixes by itself"):
        sterilize(liquid(pinned=CREEPING))
    with pytest.raises(Contradiction, match="into jars, not into bags"):
        sterilize(bags(contents="agar", grain=None))


# Spoiled jars


def test_spoiled_jars_get_at_least_what_fresh_ones_get():
    """Taken as smearing and full of spores; the hold never less than custom or a fresh jar's."""
    fresh = sterilize(question(**QUICK))
    spoiled = sterilize(question(is_spoiled=True, **QUICK))

    assert spoiled.recommended_hold_s >= fresh.recommended_hold_s
    assert spoiled.recommended_hold_s >= spoiled.customary.high_s
    assert spoiled.recommended_hold_s <= spoiled.longest_hold_s
    assert spoiled.f0_total_min.likely < fresh.f0_total_min.likely
    assert any("How wet spoiled grain is" in each for each in spoiled.advice)
    for words in ("stay shut", "run, no fresh jar", "outdoors"):
        assert any(words in each for each in spoiled.cautions)


def test_even_where_no_hold_is_enough_a_spoiled_run_has_one():
    """Half-gallons: the longest whose water fits."""
    found = sterilize(question("half-gallon", jars=4, is_spoiled=True, **QUICK))

    assert found.recommended_hold_s == pytest.approx(found.longest_hold_s)
    assert found.chance_of_survivor > 0.01


def test_a_shorter_hold_for_spoiled_jars_is_warned_of():
    """It may be asked for."""
    found = sterilize(question(is_spoiled=True, hold_s=3600.0, **QUICK))

    assert any("Spoiled jars get" in each for each in found.warnings)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"also": (more(2),)}, "a run of their own"),
        ({"start": "hot-packed"}, "from cold"),
        ({"start": 60.0}, "from cold.*60 °C"),
        ({"grain_state": "pours"}, "Leave out --grain-state"),
        ({"probe": object()}, "says nothing about spoiled grain"),
    ],
)
def test_what_spoiled_jars_are_not(change, says):
    """Alone, cold, and nobody looks."""
    with pytest.raises(Contradiction, match=says):
        sterilize(question(is_spoiled=True, **change))


# What changes what

CASES = {
    "bag": (bags(**PINNED), {"jar", "bag"}, bags("2-kg", **PINNED)),
    "lying": (bags(**PINNED, jars=1), {"is_lying"}, bags(is_lying=False, **PINNED)),
    "bags": (bags(**PINNED), {"jars"}, bags(jars=1, **PINNED)),
    "also": (question(jars=4, **PINNED), {"also"}, question(jars=4, also=(more(4),), **PINNED)),
    "liquid's fill": (liquid(), {"fill"}, liquid(fill=0.4)),
    "liquid's jar": (liquid(), {"jar"}, liquid(jar="250-ml")),
    "agar": (liquid(), {"contents"}, liquid("agar")),
    "spores in it": (liquid(), {"spores_per_g"}, liquid(spores_per_g=100.0)),
    "liquid's start": (liquid(), {"start"}, liquid(start="hot-packed")),
    "liquid's gauge": (liquid(), {"gauge_pa"}, liquid(gauge_pa=8e4)),
}
CHANGES_ALL = ("f0_total_min", "coldest_f0_total_min", "core_at_steam_off_c", "water_lost_kg",
               "water_needed_kg", "energy_j")  # fmt: skip


@pytest.mark.parametrize("name", CASES)
def test_every_promised_number_changes_with_what_it_depends_on(name):
    """Two loads that differ in one thing, at one hold."""
    one, _, other = CASES[name]
    effort = QUICK | {"hold_s": 9000.0 if one.bag is not None else 2400.0}
    first, second = sterilize(replace(one, **effort)), sterilize(replace(other, **effort))

    is_same_heat = one.pinned is not None and name in ("also", "bags")
    if not is_same_heat:
        assert first.chance_of_survivor != pytest.approx(second.chance_of_survivor, rel=0.01)
    if name == "spores in it":
        assert first.recommended_hold_s < second.recommended_hold_s
        return
    for field in CHANGES_ALL:
        if is_same_heat and field in (
            "f0_total_min",
            "coldest_f0_total_min",
            "core_at_steam_off_c",
        ):
            continue  # a pinned cycle is the same whatever else is in the canner
        assert getattr(first, field).likely != getattr(second, field).likely, field
    if one.pinned is None:
        assert first.come_up_s.likely != second.come_up_s.likely


# The rest of the way


@pytest.mark.parametrize(
    "asked",
    [
        conduction(1.6e-7, jars=4, also=(more(3),)),
        bags(**PINNED, hold_s=5400.0),
        bags(pinned=PinnedTransport("vapor", pore_factor=0.2), moisture=0.5, hold_s=5400.0),
    ],
    ids=["mixed", "bag by conduction", "bag with vapor"],
)
def test_the_curve_is_that_of_the_slowest(asked):
    """At steam off its core is where the answer has it."""
    found = sterilize(asked)
    curve = likely_curve(asked.turned(found.slowest), 5400.0)

    at_off = np.interp(1800 + 5400, curve["time_s"], curve["core_c"])
    assert at_off == pytest.approx(found.core_at_steam_off_c.likely, abs=0.3)


def test_the_curve_of_a_liquid_follows_the_steam():
    """Behind it on the way up, above it on the way down, within the answer's band."""
    asked = liquid(hold_s=1200.0, **QUICK)
    found, curve = sterilize(asked), likely_curve(asked, 1200.0)

    top = int(np.argmax(curve["core_c"]))
    assert np.all(curve["core_c"][1:top] < curve["steam_c"][1:top])
    assert np.all(curve["core_c"][top + 2 :] > curve["steam_c"][top + 2 :])
    band = found.core_at_steam_off_c
    assert band.low < curve["core_c"][top] < band.high


def test_a_liquid_from_a_step_counts_no_cooling():
    """Full steam at once."""
    found = sterilize(liquid(profile="step", **QUICK, hold_s=1200.0))

    assert found.f0_total_min == found.f0_at_steam_off_min
    assert found.come_up_s.likely == 0.0


@pytest.mark.parametrize(
    ("text", "count", "jar", "kind", "value"),
    [
        ("5 pint 60%", 5, "pint", "share", 0.6),
        ("3 1 L 2/3", 3, "1-l", "share", 2 / 3),
        ("12 half pint 80 g", 12, "half-pint", "mass", 0.08),
        ("2 500 mL 3 cm below the rim", 2, "500-ml", "below rim", 0.03),
    ],
)
def test_other_jars_are_read_as_people_write_them(text, count, jar, kind, value):
    """Count, jar, fill."""
    found = read_jars(text)

    assert (found.jars, found.jar.key, found.fill.kind) == (count, jar, kind)
    assert found.fill.value == pytest.approx(value)


@pytest.mark.parametrize("text", ["5 pint", "pint 60%", "5 60%", "-3 pint 60%", "5 pitn 60%", "5"])
def test_other_jars_that_cannot_be_read_are_refused(text):
    """With an example."""
    with pytest.raises(Unusable, match="5 pint 60%"):
        read_jars(text)


def test_the_canner_that_is_assumed_holds_the_load():
    """The usual one, or the next larger."""
    bag = find(Bag, "bags", "2.5-kg")
    quart = question().jar

    assert assumed_canner(quart, 4, also=(more(4),)).key == "two-layer"
    assert assumed_canner(quart, 7, also=(more(6),)).key == "large-cast"
    assert assumed_canner(bag.as_jar(True), 2, bag=bag, is_lying=True).key == "two-layer"
    assert assumed_canner(bag.as_jar(True), 3, bag=bag, is_lying=True).key == "large-cast"


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        (bags(jars=5), "5 bags like a 2.5-kg bag lying do not fit.*; 2 do. Make 3 runs"),
        (bags("3-kg", jars=1), r"stand it up \(1 will fit\)"),
        (bags(jars=0), "load one or more"),
        (question(jars=6, also=(more(9),)), "do not fit into the canner two-layer together"),
        (question(jars=4, also=(more(0),)), "load one or more"),
        (question(jars=4, also=(more(40),)), "40 jars of pint do not fit"),
        (bags(also=(more(1),)), "Bags and jars"),
        (question(grain=None), "Which grain"),
    ],
)  # fmt: skip
def test_loads_that_cannot_be(asked, says):
    """One sentence each."""
    with pytest.raises(Unusable, match=says):
        sterilize(asked)
