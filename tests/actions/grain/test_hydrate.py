"""Preparing grain: quantities that balance, forecasts that move, advice that follows the scale."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from spawnwright.actions.catalogs import look_up
from spawnwright.actions.grain.fill import read_fill
from spawnwright.actions.grain.hydrate import (
    HydrateQuestion,
    dry_grain_for_jars,
    hydrate,
    jars_from_dry_grain,
)
from spawnwright.errors import Contradiction, OutOfRange, Unusable
from spawnwright.records.grain import Grain
from spawnwright.store.catalog import catalog

GRAINS = sorted(catalog(Grain, "grains").values(), key=lambda grain: grain.key)
RYE, WHEAT = look_up("grains", "rye"), look_up("grains", "wheat")
QUART = look_up("jars", "quart")
FILL = read_fill("70%")
TEN = HydrateQuestion(RYE, QUART, FILL, jars=10)
TWO_KG = HydrateQuestion(WHEAT, QUART, FILL, dry_kg=2.0)


@pytest.mark.parametrize("grain", GRAINS, ids=lambda grain: grain.key)
@given(
    st.integers(1, 500), st.floats(0.3, 1.0), st.floats(0.40, 0.60), st.floats(0.08, 0.15),
    st.floats(0.0, 0.08),
)  # fmt: skip
def test_quantities_balance(grain, jars, share, target, dry_moisture, leached):
    """Dry matter in the jars is that of the dry grain less what leached; so is the water."""
    fill = replace(FILL, value=share)
    given_ = {"target": target, "dry_moisture": dry_moisture, "leached": leached}

    found = dry_grain_for_jars(grain, QUART, fill, jars, **given_)
    back = jars_from_dry_grain(grain, QUART, fill, found.dry_kg, **given_)

    dry_matter = found.dry_kg * (1 - dry_moisture) * (1 - leached)
    assert found.wet_kg * (1 - target) == pytest.approx(dry_matter)
    assert found.wet_kg * target == pytest.approx(found.dry_kg * dry_moisture + found.water_l)
    assert found.wet_kg == pytest.approx(jars * found.filled.grain_kg)
    assert back.jars == pytest.approx(jars)


@given(st.tuples(st.integers(1, 1000), st.integers(1, 1000)))
def test_more_jars_never_need_less_grain(pair):
    """Nor less water."""
    few, many = sorted(pair)

    less, more = (dry_grain_for_jars(RYE, QUART, FILL, jars) for jars in (few, many))

    assert less.dry_kg <= more.dry_kg
    assert less.water_l <= more.water_l


def test_ten_quarts_of_rye():
    """699 kg/m³ at 48 %: 0.7 x 946 mL holds 467 g; 10 jars of it, 12 % dry, 3 % leached."""
    found = hydrate(TEN).quantities

    assert found.filled.grain_kg == pytest.approx(0.467, abs=0.001)
    assert found.dry_kg == pytest.approx(4.67 * 0.52 / (0.88 * 0.97), abs=0.01)
    assert found.water_l == pytest.approx(4.67 * 0.48 - 0.12 * found.dry_kg, abs=0.01)


CHANGES = {
    "grain": {"grain": look_up("grains", "sorghum")},
    "jar": {"jar": look_up("jars", "pint")},
    "fill": {"fill": read_fill("60%")},
    "jars": {"jars": 12},
    "soak": {"soak_s": 12 * 3600.0},
    "water": {"water_c": 12.0},
    "simmer": {"simmer_s": 25 * 60.0},
    "target": {"target": 0.51},
    "dry moisture": {"dry_moisture": 0.14},
    "leached": {"leached": 0.01},
    "gypsum": {"gypsum": 0.01},
}
MOVED = {
    "grain": "dry_kg water_l jar_grain gypsum soak at_fill swelling",
    "jar": "dry_kg water_l jar_grain gypsum",
    "fill": "dry_kg water_l jar_grain gypsum",
    "jars": "dry_kg water_l jars gypsum",
    "soak": "soak at_fill",
    "water": "soak at_fill",
    "simmer": "at_fill",
    "target": "dry_kg water_l jar_grain gypsum swelling",
    "dry moisture": "dry_kg water_l gypsum soak at_fill swelling",
    "leached": "dry_kg water_l gypsum",
    "gypsum": "gypsum",
}


@pytest.mark.parametrize("change", CHANGES)
def test_each_input_moves_what_it_should_and_nothing_else(change):
    """No number of the answer is fixed, and none moves without its reason."""

    def numbers(question):
        found = hydrate(question)
        amounts = found.quantities
        return {
            "dry_kg": amounts.dry_kg, "water_l": amounts.water_l, "jars": amounts.jars,
            "jar_grain": amounts.filled.grain_kg, "gypsum": found.gypsum_g,
            "soak": found.moisture_after_soak, "at_fill": found.moisture_at_fill,
            "swelling": found.bulk_swelling,
        }  # fmt: skip

    before, after = numbers(TEN), numbers(replace(TEN, **CHANGES[change]))

    moved = {name for name in before if before[name] != after[name]}
    assert moved == set(MOVED[change].split())


def test_a_fill_in_grams_is_exact_whatever_the_room_between_kernels():
    """The scale decides; a share of the jar leaves the packing open."""
    by_grams = hydrate(replace(TEN, fill=read_fill("450 g")))
    by_share = hydrate(TEN)

    assert by_grams.quantities.filled.grain_kg == pytest.approx(0.450)
    assert by_grams.jar_grain_kg.width == 0
    assert by_share.jar_grain_kg.low < by_share.quantities.filled.grain_kg
    assert by_share.quantities.filled.grain_kg < by_share.jar_grain_kg.high


def test_the_scale_is_the_formula_with_a_band():
    """1 - (1 - 0.12) 2 kg (1 - 0.03) / 3.3 kg = 0.4827; about a point and a half either way."""
    found = hydrate(replace(TWO_KG, drained_kg=3.3))

    assert found.moisture_at_fill.likely == pytest.approx(1 - 0.88 * 2 * 0.97 / 3.3, abs=3e-4)
    assert 0.02 < found.moisture_at_fill.width < 0.05
    assert found.widest_cause in ("dry moisture", "leached", "scale")


def test_what_the_grower_knows_narrows_the_scale():
    """A label's moisture and an own figure for leaching leave half a point."""
    known = hydrate(replace(TWO_KG, drained_kg=3.3, dry_moisture=0.12, leached=0.03))
    book = hydrate(replace(TWO_KG, drained_kg=3.3))

    assert known.moisture_at_fill.width < 0.6 * book.moisture_at_fill.width


@pytest.mark.parametrize(
    ("drained", "advice", "reached"),
    [(2.9, "back into hot water", "no"), (3.25, "fill", "unlikely"), (3.35, "fill", "yes"),
     (3.9, "dry longer", "yes")],
)  # fmt: skip
def test_advice_follows_the_scale(drained, advice, reached):
    """41, 47, 49 and 56 %; the two texture tests stand beside it."""
    found = hydrate(replace(TWO_KG, drained_kg=drained))

    assert found.advice == advice
    assert found.target_reached == reached
    assert len(found.texture_tests) == 2


def test_without_a_drained_mass_there_is_a_forecast_and_no_advice():
    """The scale has not spoken."""
    found = hydrate(TWO_KG)

    assert found.advice is None
    assert found.jars_from_drained is None


@pytest.mark.parametrize(
    ("minutes", "reached"), [(0, "no"), (5, "no"), (15, "unlikely"), (30, "yes")]
)
def test_the_forecast_says_whether_the_target_is_reached(minutes, reached):
    """A soak alone never reaches it."""
    assert hydrate(replace(TEN, simmer_s=60.0 * minutes)).target_reached == reached


def test_the_offered_simmer_reaches_the_target():
    """What the answer says would do, does."""
    offered = hydrate(TEN).simmer_for_target_s

    assert offered is not None
    assert hydrate(replace(TEN, simmer_s=offered)).target_reached == "yes"
    assert hydrate(replace(TEN, target=0.7)).simmer_for_target_s is None


def test_no_soak_is_possible():
    """Long simmer only: the grain is as bought after no soak, and it is said what that means."""
    found = hydrate(replace(TEN, soak_s=0.0, simmer_s=50 * 60.0))

    assert found.moisture_after_soak.likely == pytest.approx(0.12, abs=1e-3)
    assert found.target_reached == "yes"
    assert any("Without a soak" in each for each in found.notes)


def test_the_trades_rule_comes_out_explained():
    """A jar of dry wheat fills 2.5 to 2.8 at 48 %; three and more need wetter grain."""
    two_thirds = hydrate(replace(TWO_KG, fill=read_fill("2/3")))
    three_quarters = hydrate(replace(TWO_KG, fill=read_fill("3/4")))
    needed = {(each.jars, round(each.fill, 2)): each.moisture_needed
              for each in two_thirds.trade_rule}  # fmt: skip

    assert two_thirds.bulk_swelling.likely == pytest.approx(1.88, abs=0.01)
    assert two_thirds.jars_per_jar.likely == pytest.approx(2.82, abs=0.02)
    assert three_quarters.jars_per_jar.likely == pytest.approx(2.51, abs=0.02)
    assert needed[3.0, 0.67] == pytest.approx(0.506, abs=1e-3)
    assert needed[3.5, 0.75] == pytest.approx(0.609, abs=1e-3)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"soak_s": 40 * 3600.0}, "up to 24 h, not 40 h"),
        ({"soak_s": 40 * 3600.0}, "sprout or sour"),
        ({"water_c": 8.0}, "from 12 to 80 °C, not at 8 °C"),
        ({"target": 0.40}, "growth is thin"),
        ({"target": 0.58}, "clumps"),
        ({"fill": read_fill("80%")}, "80% full is hard to shake"),
        ({"drained_kg": 4.7}, "give the dry mass that you weighed"),
    ],
)
def test_what_is_out_of_the_ordinary_is_said(change, said):
    """Beyond common practice, or beyond what was measured."""
    assert any(said in each for each in hydrate(replace(TEN, **change)).warnings)


def test_the_ordinary_is_not_warned_of():
    """A warning that always comes is none."""
    assert hydrate(TEN).warnings == ()


def test_minutes_that_do_not_suit_the_grain_are_said():
    """Maize is begun at 45 minutes, not at a quarter of an hour."""
    maize = replace(TEN, grain=look_up("grains", "maize"))

    assert any("45 min is the usual start" in each for each in hydrate(maize).notes)
    assert not any("usual start" in each for each in hydrate(TEN).notes)


@pytest.mark.parametrize(
    ("change", "error", "said"),
    [
        ({"dry_kg": 2.0}, Contradiction, "exactly one of the two"),
        ({"jars": None}, Contradiction, "exactly one of the two"),
        ({"jars": 0}, Unusable, "above zero"),
        ({"target": 0.10}, Contradiction, "no wetter than the grain as bought, 12%"),
        ({"dry_moisture": 0.5}, Contradiction, "no wetter than the grain as bought, 50%"),
        ({"leached": 0.7}, OutOfRange, r"Share leached is 0\.7"),
        ({"water_c": -3.0}, OutOfRange, "Water is -3 °C"),
        ({"fill": read_fill("900 g")}, Unusable, "135% of the jar"),
        ({"drained_kg": 2.6}, Unusable, "took up no water"),
        ({"drained_kg": 12.0}, Unusable, "more than fully cooked"),
    ],
)
def test_what_cannot_be_is_refused(change, error, said):
    """One clear sentence."""
    with pytest.raises(error, match=said):
        hydrate(replace(TEN, **change))


def test_every_uncertain_number_is_listed_with_its_source():
    """What `--explain` shows: each has a source, and leaves a share of the width."""
    found = hydrate(TEN)

    assert all(each.source for each in found.inputs)
    assert {"dry moisture", "soak quickness", "gelatinized", "wet void"} <= {
        each.name for each in found.inputs
    }
    assert all(0 < left < 1.1 for left in found.width_left.values())
    assert found.widest_cause in found.width_left
