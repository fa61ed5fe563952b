"""How heat moves through wet grain: what is uncertain about it, by the state of the grain.

Grain that pours has open pores, through which vapor carries heat; grain that smears has none, and
heat creeps from kernel to kernel. Nobody has published a measurement of either in a jar: every
spread here is this project's own estimate, and a probe in one jar takes their place.
Where they stand among what is published: docs/models/sterilize.md.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

import numpy as np

from spawnwright.model.scenarios import Floats, Input
from spawnwright.records.probe import Interval, ProbeTransport
from spawnwright.records.sterilizing import GrainState
from spawnwright.sources import JUDGMENT, OWN, Constant, Estimate

CONDUCTION, NARROW_PORES, OPEN_PORES = 0.0, 1.0, 2.0
"""The three ways: no pores, pores half closed by water and paste, pores that drained freely."""

DIFFUSIVITY_M2_S = Estimate(
    1.25e-7, "m²/s", low=0.95e-7, high=1.65e-7, source=JUDGMENT,
    where="between a packed bed by conduction alone (0.63 to 0.83e-7) and solid kernels (1.5e-7)",
)  # fmt: skip
DRY_CONDUCTIVITY_W_MK = Estimate(
    0.16, "W/(m K)", low=0.12, high=0.25, source=JUDGMENT,
    where="bed of 50 % rye with 40 % voids without vapor: 0.13 to 0.17; wetter contacts more",
)  # fmt: skip
OPEN_PORE_FACTOR = Estimate(
    0.14, "-", low=0.08, high=0.26, source=JUDGMENT,
    where="porosity over tortuosity: 0.26 for ideal open pores, 0.1 to be cautious",
)  # fmt: skip
NARROW_PORE_FACTOR = Estimate(
    0.05, "-", low=0.02, high=0.10, source=JUDGMENT,
    where="pores half closed; below 0.02 hardly more than conduction",
)  # fmt: skip

WEIGHTS: dict[GrainState, tuple[Constant, Constant, Constant]] = {
    state: tuple(  # type: ignore[misc]
        Constant(
            share, "-", source=JUDGMENT,
            where=f"grain that {state}: {way}" if state != "unknown" else f"unknown grain: {way}",
        )
        for share, way in zip(
            shares, ("conduction only", "narrow pores", "open pores"), strict=True
        )
    )
    for state, shares in {
        "pours": (0.0, 0.08, 0.92),
        "sticks": (0.25, 0.65, 0.10),
        "smears": (0.95, 0.05, 0.0),
        "unknown": (0.15, 0.25, 0.60),
    }.items()
}  # fmt: skip
"""Chance of each way, by what the grain does in the hand."""

LARGEST_PORE_FACTOR = Constant(0.40, "-", source=JUDGMENT, where="the pores of a bed, straight")
_NINETY_OF_NINETY_FIVE = 1.6448536269514722 / 1.9599639845400545
PROBE_AGAIN = "a second probe run, in another batch"
PROBE = (
    "a probe thermometer in the middle of one jar, through the filter hole, in steam at "
    "atmospheric pressure: it tells how heat moves through your grain"
)
TEXTURE = (
    "run some grain through your fingers before filling: it pours, sticks to the hand, or smears"
)


def transport_inputs(state: GrainState, probe: ProbeTransport | None = None) -> list[Input]:
    """What is uncertain about how heat moves, for a state of the grain.

    Parameters
    ----------
    state : str
        "pours", "sticks", "smears" or "unknown" [-].
    probe : ProbeTransport, optional
        What a probe run found; it takes the place of the state [-].

    Returns
    -------
    list of Input
        `transport` (which of the three ways), `diffusivity_m2_s` (by conduction),
        `dry_conductivity_w_mk` (porous bed at rest), `narrow_pore_factor`, `open_pore_factor`.

    Notes
    -----
    A way that has no weight leaves its numbers unused. Errs to the cautious side if the pores of
    grain that pours are as open as theory has them.
    """
    if probe is not None:
        return _probed_inputs(probe)
    weights = tuple(float(each) for each in WEIGHTS[state])
    likely = float(max(range(3), key=lambda place: weights[place]))
    narrow = TEXTURE if state == "unknown" else PROBE
    shape: Literal["choice", "fixed"] = "fixed" if max(weights) == 1.0 else "choice"
    return [
        Input(
            "transport", shape, likely, likely, likely, "0 conduction, 1 narrow, 2 open pores",
            JUDGMENT, narrow, (CONDUCTION, NARROW_PORES, OPEN_PORES), weights,
        ),
        Input.of("diffusivity_m2_s", DIFFUSIVITY_M2_S, "lognormal", narrow_with=PROBE),
        Input.of("dry_conductivity_w_mk", DRY_CONDUCTIVITY_W_MK, "lognormal", narrow_with=PROBE),
        Input.of("narrow_pore_factor", NARROW_PORE_FACTOR, "lognormal", narrow_with=PROBE),
        Input.of(
            "open_pore_factor", OPEN_PORE_FACTOR, "lognormal", narrow_with=PROBE, cut=(0.0, 0.4)
        ),
    ]  # fmt: skip


def _probed_inputs(probe: ProbeTransport) -> list[Input]:
    """The same inputs after a probe run; narrow pores and open ones are one way then."""
    weights = (probe.chance_of_conduction, 1.0 - probe.chance_of_conduction)
    likely = CONDUCTION if weights[0] > 0.5 else OPEN_PORES
    shape: Literal["choice", "fixed"] = "fixed" if max(weights) == 1.0 else "choice"
    source = f"{OWN}: a probe run in a {probe.jar} jar of {probe.grain}"
    return [
        Input(
            "transport", shape, likely, likely, likely, "0 conduction, 2 pores",
            source, PROBE_AGAIN, (CONDUCTION, OPEN_PORES), weights,
        ),
        _of_interval("diffusivity_m2_s", probe.diffusivity_m2_s, "m²/s", source),
        _of_interval("dry_conductivity_w_mk", probe.conductivity_w_mk, "W/(m K)", source),
        Input.fixed("narrow_pore_factor", probe.pore_factor.likely, "-", source),
        _of_interval("open_pore_factor", probe.pore_factor, "-", source),
    ]  # fmt: skip


def _of_interval(name: str, interval: Interval, unit: str, source: str) -> Input:
    """A lognormal input from its middle 95 %."""
    low, high = (
        interval.likely * (end / interval.likely) ** _NINETY_OF_NINETY_FIVE
        for end in (interval.low, interval.high)
    )
    return Input(name, "lognormal", interval.likely, low, high, unit, source, PROBE_AGAIN)


def as_probed(
    probe: ProbeTransport, draws: Mapping[str, Floats], capacity: Floats, radius_share: Floats
) -> tuple[Floats, Floats, Floats]:
    """Diffusivity, resting conductivity and pore factor of scenarios after a probe run.

    Parameters
    ----------
    probe : ProbeTransport
        The run; its numbers are those that act in the book's jar [-].
    draws : mapping
        Values of the inputs that `transport_inputs` gives [-].
    capacity : array
        Heat capacity of the bed in each scenario [J/(m³ K)].
    radius_share : array
        Radius of the probe's jar in each scenario over the book's; 1 for another jar [-].

    Returns
    -------
    tuple of array
        α [m²/s], k0 [W/(m K)], η [-], each (scenarios,).

    Notes
    -----
    A probe tells α/R² and k0/(C R²), so a scenario whose jar is wider, or whose grain stores
    more heat, has grain that conducts better. A pore factor is at most 0.4.
    """
    wider = radius_share**2
    more = wider * capacity / probe.capacity_j_m3k
    resting = draws["dry_conductivity_w_mk"]
    pore = pore_factor(draws) * (resting / probe.conductivity_w_mk.likely) ** probe.pore_power
    return (
        draws["diffusivity_m2_s"] * wider, resting * more,
        np.minimum(pore * more, float(LARGEST_PORE_FACTOR)),
    )  # fmt: skip


def pore_factor(draws: Mapping[str, Floats]) -> Floats:
    """The pore factor that counts in each scenario: that of narrow or of open pores.

    Parameters
    ----------
    draws : mapping
        Values of `transport`, `narrow_pore_factor`, `open_pore_factor` [-].

    Returns
    -------
    array
        Shape (scenarios,); meaningless where heat only creeps [-].
    """
    narrow = draws["transport"] == NARROW_PORES
    return np.where(narrow, draws["narrow_pore_factor"], draws["open_pore_factor"])


def weight_for_state(
    transport: Floats, asked: GrainState, drawn_for: GrainState = "unknown"
) -> Floats:
    """How much each scenario counts, drawn for one state of the grain and asked for another.

    Parameters
    ----------
    transport : array
        The way that heat moves in each scenario [-].
    asked : str
        The state asked about [-].
    drawn_for : str
        The state that the scenarios were drawn for [-].

    Returns
    -------
    array
        Shape (scenarios,) [-].
    """
    ratio = np.array(
        [
            new / old if old else 0.0
            for new, old in zip(WEIGHTS[asked], WEIGHTS[drawn_for], strict=True)
        ]
    )
    return np.asarray(ratio[transport.astype(int)])
