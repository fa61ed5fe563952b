"""From fresh mushrooms back to substrate and spawn."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from spawnwright.actions.catalogs import look_up
from spawnwright.errors import OutOfRange
from spawnwright.model.growing.yields import (
    BATCH_TO_BATCH,
    dry_from_fresh_kg,
    fresh_from_dry_kg,
    fresh_from_spawn_kg,
    spawn_for_fresh_kg,
    spawn_rate_on_dry,
    wet_from_dry_kg,
    yield_inputs,
)
from spawnwright.model.scenarios import band, draw
from spawnwright.records.species import Species
from spawnwright.sources import OWN, Constant
from tests.published import rows


def species(name: str) -> Species:
    found = look_up("species", name)
    assert isinstance(found, Species)
    return found


def test_a_rate_on_wet_substrate_is_larger_on_dry():
    """5 % of wet substrate at 65 % moisture is 14.3 % of its dry matter, to the printed digit."""
    assert float(spawn_rate_on_dry(0.05, 0.65)) == pytest.approx(0.143, abs=0.0005)


def test_efficiency_is_fresh_mass_over_dry_substrate():
    """The definition, by hand: 1.05 kg from a kilogram at 105 %, which is 2.86 kg wet at 65 %."""
    assert float(fresh_from_dry_kg(1.0, 1.05)) == pytest.approx(1.05)
    assert float(dry_from_fresh_kg(1.05, 1.05)) == pytest.approx(1.0)
    assert float(wet_from_dry_kg(1.0, 0.65)) == pytest.approx(1 / 0.35)


def test_the_scatter_from_batch_to_batch_is_the_published_one():
    """105.0 ± 27.2 % on one substrate in one laboratory: 26 %, as a lognormal's 5 and 95 %."""
    row = rows("fayssal2020_efficiency")[0]
    variation = float(row["efficiency_sd"]) / float(row["efficiency_percent"])
    one_sd = np.sqrt(np.log1p(variation**2))

    assert BATCH_TO_BATCH.high == pytest.approx(np.exp(1.645 * one_sd), rel=0.03)
    assert BATCH_TO_BATCH.low == pytest.approx(np.exp(-1.645 * one_sd), rel=0.03)


@pytest.mark.parametrize("row", rows("fayssal2020_efficiency"), ids=lambda row: row["substrate"])
def test_the_band_of_one_batch_covers_the_published_crops(row):
    """Blue oyster: 105, 80 and 54 % by substrate all lie in what one batch may give."""
    draws = draw(yield_inputs(species("blue oyster")), 2000)

    found = band(draws["biological efficiency"] * draws["from batch to batch"])

    assert found.low < float(row["efficiency_percent"]) / 100 < found.high


def test_lions_mane_gives_what_a_handbook_block_gave():
    """550 g from an unenriched block of 2.27 kg wet, told of a handbook: within the band."""
    lions_mane = species("lion's mane")
    dry = 2.27 * (1 - lions_mane.substrate_moisture)
    efficiency = lions_mane.biological_efficiency

    assert efficiency.low < 0.55 / dry < efficiency.high


def test_the_likely_chain_is_the_sum_by_hand():
    """5 kg of blue oyster: 5 / 0.9 dry, over 0.35 wet, times 4 % of spawn; medians, within 2 %.

    Moisture and spawn rate are known: where a spread is lopsided, the median of a product is not
    the product of medians.
    """
    rate, moisture = (Constant(each, "-", source=OWN, where="a test") for each in (0.04, 0.65))
    blue = replace(species("blue oyster"), spawn_rate=rate, substrate_moisture=moisture)
    needed = spawn_for_fresh_kg(blue, 5.0)

    assert needed.dry_substrate_kg.likely == pytest.approx(5 / 0.9, rel=0.02)
    assert needed.wet_substrate_kg.likely == pytest.approx(5 / 0.9 / 0.35, rel=0.02)
    assert needed.spawn_kg.likely == pytest.approx(5 / 0.9 / 0.35 * 0.04, rel=0.02)


def test_several_batches_even_out():
    """The same kilograms from nine blocks are surer than from one, and never sure."""
    one, nine = (
        spawn_for_fresh_kg(species("shiitake"), 5.0, batches=batches).dry_substrate_kg
        for batches in (1, 9)
    )

    assert 0 < nine.width < one.width


@settings(max_examples=20)
@given(fresh=st.floats(0.1, 1000), more=st.floats(1.01, 10))
def test_more_mushrooms_never_need_less(fresh, more):
    """Each mass of the chain, each end of its band."""
    some, many = (
        spawn_for_fresh_kg(species("blue oyster"), kilograms, count=200)
        for kilograms in (fresh, fresh * more)
    )

    for name in ("dry_substrate_kg", "wet_substrate_kg", "spawn_kg"):
        assert getattr(many, name).low > getattr(some, name).low
        assert getattr(many, name).high > getattr(some, name).high


def test_spawn_gives_back_what_it_was_made_for():
    """At the likely spawn rate: the spawn for 5 kg gives a median of about 5 kg."""
    blue = species("blue oyster")
    needed = spawn_for_fresh_kg(blue, 5.0)

    back = fresh_from_spawn_kg(blue, needed.wet_substrate_kg.likely * float(blue.spawn_rate))

    assert back.likely == pytest.approx(5.0, rel=0.05)


def test_masses_and_shares_that_cannot_be_are_refused():
    """Less than nothing, or a percentage for a share."""
    with pytest.raises(OutOfRange, match="fresh mushrooms is -1 kg"):
        dry_from_fresh_kg(-1.0, 0.9)
    with pytest.raises(OutOfRange, match="efficiency is 90"):
        dry_from_fresh_kg(1.0, 90.0)
    with pytest.raises(OutOfRange, match="moisture of the substrate is 65"):
        wet_from_dry_kg(1.0, 65.0)
