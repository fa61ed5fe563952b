"""From kilograms of fresh mushrooms back to dry substrate, wet substrate and spawn.

Pure functions; kilograms and shares. Biological efficiency counts the whole crop, all flushes;
whoever picks the first flush only gets about half. It is as uncertain as anything in growing:
one laboratory on one substrate found 105 ± 27 %. Planning values come from people whose crops
worked, so they err to the hopeful side. Range, checks: docs/models/yields.md.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from spawnwright.model.ranges import check_range
from spawnwright.model.scenarios import Floats, Input, band, draw
from spawnwright.records.band import Band
from spawnwright.records.species import Species
from spawnwright.sources import Estimate

BATCH_TO_BATCH = Estimate(
    1.0, "-", low=0.66, high=1.52, source="FAYSSAL2020",
    where="table 2, wheat straw: 105.0 ± 27.2 %, a coefficient of variation of 26 %; as lognormal",
)  # fmt: skip


@dataclass(frozen=True)
class SpawnNeeded:
    """What some fresh mushrooms take, each a band."""

    dry_substrate_kg: Band
    wet_substrate_kg: Band
    spawn_kg: Band
    inputs: tuple[Input, ...]


def fresh_from_dry_kg(dry_substrate_kg: float | Floats, efficiency: float | Floats) -> Floats:
    """Fresh mushrooms of the whole crop [kg]: efficiency times dry substrate.

    Parameters
    ----------
    dry_substrate_kg : float or array
        Substrate without its water, as spawned; spawn is not counted [kg].
    efficiency : float or array
        Biological efficiency, above 0; may exceed 1 [-].

    Returns
    -------
    array
        Mass [kg].
    """
    check_range("The dry substrate", dry_substrate_kg, 0.0, 1e9, "kg")
    check_range("The biological efficiency", efficiency, 1e-6, 10.0, "")
    return np.asarray(np.multiply(dry_substrate_kg, efficiency))


def dry_from_fresh_kg(fresh_kg: float | Floats, efficiency: float | Floats) -> Floats:
    """Dry substrate for some fresh mushrooms [kg]: `fresh_from_dry_kg` turned round."""
    check_range("The fresh mushrooms", fresh_kg, 0.0, 1e9, "kg")
    check_range("The biological efficiency", efficiency, 1e-6, 10.0, "")
    return np.asarray(np.divide(fresh_kg, efficiency))


def wet_from_dry_kg(dry_substrate_kg: float | Floats, moisture: float | Floats) -> Floats:
    """Wet substrate that holds so much dry matter [kg], at a moisture on the wet basis [-]."""
    check_range("The dry substrate", dry_substrate_kg, 0.0, 1e9, "kg")
    check_range("The moisture of the substrate", moisture, 0.0, 0.95, "")
    return np.asarray(np.divide(dry_substrate_kg, 1 - np.asarray(moisture)))


def spawn_rate_on_dry(rate_on_wet: float | Floats, moisture: float | Floats) -> Floats:
    """Spawn over dry substrate, from spawn over wet substrate [-].

    Parameters
    ----------
    rate_on_wet : float or array
        Spawn over wet substrate, 0 to 1 [-].
    moisture : float or array
        Moisture of the substrate on the wet basis, 0 to 0.95 [-].

    Returns
    -------
    array
        Share [-].

    Examples
    --------
    >>> round(float(spawn_rate_on_dry(0.05, 0.65)), 3)
    0.143
    """
    check_range("The spawn rate", rate_on_wet, 0.0, 1.0, "")
    check_range("The moisture of the substrate", moisture, 0.0, 0.95, "")
    return np.asarray(np.divide(rate_on_wet, 1 - np.asarray(moisture)))


def yield_inputs(species: Species, *, batches: int = 1) -> list[Input]:
    """What is uncertain about a crop.

    `batches` that differ from one another even out: the scatter from batch to batch shrinks with
    the root of their number [-].
    """
    check_range("The number of batches", batches, 1, 10_000, "")
    root = float(np.sqrt(batches))
    low, high = BATCH_TO_BATCH.low ** (1 / root), BATCH_TO_BATCH.high ** (1 / root)
    source = f"{BATCH_TO_BATCH.source}: {BATCH_TO_BATCH.where}"
    return [
        Input.of(
            "biological efficiency", species.biological_efficiency, "lognormal",
            narrow_with="weighing a whole crop, and its dry substrate",
        ),
        Input(
            "from batch to batch", "lognormal", 1.0, low, high, "-", source,
            "nothing: several smaller batches even it out",
        ),
        Input.of(
            "moisture of the substrate", species.substrate_moisture, cut=(0.0, 0.90),
            narrow_with="weighing some substrate before and after drying it in the oven",
        ),
        Input.of(
            "spawn rate", species.spawn_rate, "lognormal", cut=(0.001, 0.5),
            narrow_with="choosing it: more spawn is quicker and safer",
        ),
    ]  # fmt: skip


def spawn_for_fresh_kg(
    species: Species, fresh_kg: float, *, batches: int = 1, count: int = 2000
) -> SpawnNeeded:
    """Substrate and spawn that some fresh mushrooms take.

    Parameters
    ----------
    species : Species
        Gives efficiency, moisture and spawn rate.
    fresh_kg : float
        Fresh mushrooms wanted, whole crop, 0 or more [kg].
    batches : int
        Blocks or bags that it is spread over, and that scatter apart [-].
    count : int
        Scenarios [-].

    Returns
    -------
    SpawnNeeded
        The likely mass gets the wanted kilograms in half of all cases; the high one is enough in
        95 of a hundred, at the high end of the spawn rate too.
    """
    inputs = yield_inputs(species, batches=batches)
    draws = draw(inputs, count)
    dry = dry_from_fresh_kg(fresh_kg, _efficiency(draws))
    wet = wet_from_dry_kg(dry, draws["moisture of the substrate"])
    return SpawnNeeded(band(dry), band(wet), band(wet * draws["spawn rate"]), tuple(inputs))


def fresh_from_spawn_kg(
    species: Species, spawn_kg: float, *, batches: int = 1, count: int = 2000
) -> Band:
    """Fresh mushrooms of the whole crop from some spawn, at the species' likely spawn rate [kg].

    Parameters are those of `spawn_for_fresh_kg`; `spawn_kg` is 0 or more [kg].
    """
    check_range("The spawn", spawn_kg, 0.0, 1e9, "kg")
    draws = draw(yield_inputs(species, batches=batches), count)
    wet = spawn_kg / float(species.spawn_rate)
    dry = wet * (1 - draws["moisture of the substrate"])
    return band(fresh_from_dry_kg(dry, _efficiency(draws)))


def _efficiency(draws: Mapping[str, Floats]) -> Floats:
    both = draws["biological efficiency"] * draws["from batch to batch"]
    return np.clip(both, 1e-6, 10.0)
