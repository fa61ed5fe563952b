"""What is believed before a probe run: transport, placement, offsets; each with its source.

The transport's prior is that of a sterilizer run (`model/heat/transport.py`) for the state of the
grain, less a tenth that is spread evenly over every value a bed could have: readings must be able
to overrule fingers and estimates.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spawnwright.model.canner.run_inputs import FILM_W_M2_K, MOISTURE, TOP_FILM_W_M2_K
from spawnwright.model.heat.transport import (
    DIFFUSIVITY_M2_S,
    DRY_CONDUCTIVITY_W_MK,
    NARROW_PORE_FACTOR,
    OPEN_PORE_FACTOR,
    WEIGHTS,
)
from spawnwright.model.scenarios import Floats, Input
from spawnwright.records.probe import ProbeQuestion
from spawnwright.sources import COMMON, JUDGMENT, Constant, Estimate

DOUBT = Constant(
    0.1, "-", source=JUDGMENT, where="share of the prior that is spread over the whole range"
)
DIFFUSIVITY_RANGE = (
    Constant(0.35e-7, "m²/s", source=JUDGMENT, where="half of a dry packed bed"),
    Constant(6.0e-7, "m²/s", source=JUDGMENT, where="several times wet kernels"),
)
MOST_AT_REST = Constant(
    2.2e-7, "m²/s", source=JUDGMENT,
    where="half as much again as solid wet kernels: without vapor no bed conducts better",
)  # fmt: skip
CONDUCTIVITY_RANGE = (
    Constant(0.06, "W/(m K)", source=JUDGMENT, where="half of a loose, nearly dry bed"),
    Constant(0.60, "W/(m K)", source=JUDGMENT, where="nearly water"),
)
PORE_RANGE = (
    Constant(0.01, "-", source=JUDGMENT, where="less cannot be told from conduction alone"),
    Constant(0.40, "-", source=JUDGMENT, where="straight pores through all the void"),
)
PLACEMENT_M = Constant(
    0.007, "m", source=JUDGMENT, where="a probe set by eye: one sd in each of three directions"
)
PROBE_OFFSET_K = Constant(
    0.6, "K", source=JUDGMENT, where="kitchen thermocouple or logger, unchecked, one sd"
)
STEAM_MEASURED_K = Constant(
    0.6, "K", source=JUDGMENT, where="the second channel, unchecked, one sd"
)
STEAM_STATED_K = Constant(
    0.5, "K", source=JUDGMENT, where="half a psi of gauge, 2 kPa of weather, a trace of air, one sd"
)
START_K = Constant(
    1.0, "K", source=JUDGMENT, where="the bed against the probe's first reading, one sd"
)
DEPTH_SHARE = Constant(
    0.03, "-", source=JUDGMENT, where="depth of grain in a jar, filled by eye, one sd"
)
MOMENT_SAID_S = Constant(60.0, "s", source=JUDGMENT, where="steam there, by the clock, one sd")
MOMENT_UNSAID_S = Constant(
    240.0, "s", source=COMMON, where="come-up of stovetop canners, nobody looked at a clock, one sd"
)
_NINETY_FIVE = 1.6448536269514722
_TABLE = 400


@dataclass(frozen=True)
class Believed:
    """What is believed of the logarithm of a number: values, rising, and the density there."""

    value: Floats
    density: Floats

    @property
    def middle(self) -> float:
        """Halfway between the ends."""
        return float(self.value[0] + self.value[-1]) / 2

    @property
    def scale(self) -> float:
        """What a score of 1 is worth."""
        return float(self.value[-1] - self.value[0]) / 4

    def draw(self, count: int, generator: np.random.Generator) -> Floats:
        """Draws, (count,) [ln]; the dice are handed in."""
        steps = (self.density[1:] + self.density[:-1]) / 2 * np.diff(self.value)
        share = np.concatenate([[0.0], np.cumsum(steps)])
        return np.asarray(np.interp(generator.random(count), share / share[-1], self.value))

    def log_density(self, value: Floats) -> Floats:
        """Natural logarithm of the density of scores, (values,) [-]; beyond the ends nothing."""
        density = np.interp(value, self.value, self.density)
        within = (value >= self.value[0]) & (value <= self.value[-1])
        return np.where(within, np.log(density * self.scale), -np.inf)

    @classmethod
    def doubted(cls, believed: list[tuple[Constant, float]], low: float, high: float) -> Believed:
        """The logarithm of a number of which there are several estimates, each with its weight.

        Each is lognormal with its own spread on either side; `DOUBT` of it all lies evenly in
        the logarithm between the ends, and nothing beyond.
        """
        value = np.linspace(np.log(low), np.log(high), _TABLE)
        density = np.full_like(value, float(DOUBT) / (value[-1] - value[0]))
        total = sum(weight for _, weight in believed)
        for number, weight in believed:
            density += (1 - float(DOUBT)) * weight / total * _log_density(number, value)
        steps = (density[1:] + density[:-1]) / 2 * np.diff(value)
        return cls(value, density / steps.sum())


def _log_density(number: Constant, value: Floats) -> Floats:
    """Density of ln of a lognormal estimate, as `scenarios.Input` draws it."""
    assert isinstance(number, Estimate)
    middle = float(np.log(number))
    below = (middle - float(np.log(number.low))) / _NINETY_FIVE
    above = (float(np.log(number.high)) - middle) / _NINETY_FIVE
    spread = np.where(value < middle, below, above)
    return np.asarray(
        np.exp(-0.5 * ((value - middle) / spread) ** 2) / (spread * np.sqrt(2 * np.pi))
    )


def way_chances(question: ProbeQuestion) -> tuple[float, float]:
    """Chance of conduction alone and of pores with vapor, before the run [-]."""
    doubt = float(DOUBT)
    conduction = (1 - doubt) * float(WEIGHTS[question.grain_state][0]) + doubt / 3
    return conduction, 1 - conduction


def transport_beliefs(question: ProbeQuestion, way: str) -> tuple[Believed, ...]:
    """Prior of ln α, or of ln k0 and ln η, for a question.

    Parameters
    ----------
    question : ProbeQuestion
        Its state of the grain, and the pressure of the run [-].
    way : str
        "conduction" or "porous bed" [-].

    Returns
    -------
    tuple of Believed
        One for each coordinate [-].

    Notes
    -----
    In steam without pressure, conduction alone is conduction of a resting bed: a diffusivity
    above any bed at rest would be vapor in disguise, which does not carry over to pressure.
    """
    if way == "conduction":
        low, high = (float(each) for each in DIFFUSIVITY_RANGE)
        if question.way == "atmospheric":
            high = float(MOST_AT_REST)
        return (Believed.doubted([(DIFFUSIVITY_M2_S, 1.0)], low, high),)
    _, narrow, wide = (float(each) + float(DOUBT) / 3 for each in WEIGHTS[question.grain_state])
    ends = tuple(float(each) for each in CONDUCTIVITY_RANGE)
    pores = [(NARROW_PORE_FACTOR, narrow), (OPEN_PORE_FACTOR, wide)]
    return (
        Believed.doubted([(DRY_CONDUCTIVITY_W_MK, 1.0)], ends[0], ends[1]),
        Believed.doubted(pores, float(PORE_RANGE[0]), float(PORE_RANGE[1])),  # type: ignore[arg-type]
    )


def placement_m(question: ProbeQuestion) -> float:
    """How far the tip may be from where it was set, one sd in each direction [m]."""
    return float(PLACEMENT_M) if question.placement_m is None else question.placement_m


def off_axis_m(question: ProbeQuestion, share: Floats) -> Floats:
    """Distance from the axis below which a share of tips is: two normal directions [m]."""
    return np.asarray(placement_m(question) * np.sqrt(-2 * np.log1p(-np.minimum(share, 1 - 1e-9))))


def probe_inputs(
    question: ProbeQuestion, start_c: float, *, is_vessel_measured: bool
) -> list[Input]:
    """All that is uncertain about a probe run but the transport.

    Parameters
    ----------
    question : ProbeQuestion
        What was said [-].
    start_c : float
        Temperature of the bed at the first reading [°C].
    is_vessel_measured : bool
        Whether a second sensor read the steam [-].

    Returns
    -------
    list of Input
        Jar, grain and films as in a sterilizer run; placement, start and the vessel's curve.
    """
    moisture = (
        Input.of("moisture", MOISTURE, cut=(0.35, 0.65))
        if question.moisture is None
        else Input.fixed("moisture", question.moisture, "-")
    )
    placement = placement_m(question)
    said = question.steam_after_s if question.way == "atmospheric" else question.pressure_after_s
    moment = MOMENT_UNSAID_S if said is None else MOMENT_SAID_S
    steam = STEAM_MEASURED_K if is_vessel_measured else STEAM_STATED_K
    return [
        moisture,
        Input.of("wet_void", question.grain.wet_void),
        Input.of("inner_radius_m", question.jar.inner_radius_m),
        Input.of("film_w_m2_k", FILM_W_M2_K, "lognormal"),
        Input.of("top_film_w_m2_k", TOP_FILM_W_M2_K, "lognormal"),
        _normal("depth", 1.0, float(DEPTH_SHARE), "-", DEPTH_SHARE),
        _normal("probe_height_m", 0.0, placement, "m", PLACEMENT_M),
        Input("probe_off_axis", "uniform", 0.5, 0.05, 0.95, "-", f"share; {PLACEMENT_M.where}"),
        _normal("start_c", start_c, float(START_K), "°C", START_K),
        _normal("steam_error_k", 0.0, float(steam), "K", steam),
        _normal("moment_s", 0.0, 0.0 if is_vessel_measured else float(moment), "s", moment),
        _normal("come_up", 0.0, 0.0 if is_vessel_measured else 1.0, "-", moment),
    ]


def _normal(name: str, middle: float, sd: float, unit: str, source: Constant) -> Input:
    """A normal input by its standard deviation; known if that is nothing."""
    said = f"{source.source}: {source.where}"
    if sd == 0:
        return Input.fixed(name, middle, unit, said)
    reach = _NINETY_FIVE * sd
    return Input(name, "normal", middle, middle - reach, middle + reach, unit, said)
