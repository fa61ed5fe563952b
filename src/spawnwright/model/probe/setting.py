"""One probe in one jar in one vessel: what is uncertain about it, and the curves that follow.

Every unknown is a standard normal score, whatever its own distribution is: a score is turned into
a value by that distribution's quantiles. So prior and fit are simple, and all that is odd about a
distribution stays in `model/probe/prior.py`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from spawnwright.model.canner.sterilizer_run import CAPACITY_AT_C, bed_depth_m
from spawnwright.model.grain.swelling import wet_bulk_density_kg_m3
from spawnwright.model.heat.bed import Bed, Floats
from spawnwright.model.heat.properties import specific_heat_j_kg_k
from spawnwright.model.heat.steam import saturation_pressure_pa, saturation_temperature_c
from spawnwright.model.probe.curves import (
    MIDDLING,
    Grid,
    Places,
    VesselCurve,
    conduction_curves,
    wet_bed_curves,
)
from spawnwright.model.probe.prior import Believed, off_axis_m, probe_inputs, transport_beliefs
from spawnwright.model.scenarios import Input
from spawnwright.records.probe import ProbeQuestion
from spawnwright.records.sterilizing import Jars

WAYS = ("conduction", "porous bed")
COORDINATES = {"conduction": ("diffusivity",), "porous bed": ("conductivity", "pore_factor")}
"""What the grain has, by the way in which heat moves: natural logarithms of α, or of k0 and η."""
BENT = ("film_w_m2_k", "probe_height_m", "probe_off_axis")
"""Other unknowns in which a curve is anything but straight."""
STEAM_AFTER_S, PRESSURE_AFTER_S = 15 * 60.0, 30 * 60.0
"""The usual come-up, as in the reference cycle."""
_VENTED = 2.0 / 3.0  # share of the time from jet to pressure that is spent venting
_KNOTS = 96
_LONGER = 1.05  # than the readings: how far curves are solved
_HALF_LOG_TWO_PI = 0.5 * float(np.log(2 * np.pi))
_NEAREST_END = 0.02  # of the depth: no probe is nearer to the top or the bottom


@dataclass(frozen=True)
class MeasuredVessel:
    """The steam as a second sensor read it: instants [s] and temperatures [°C]."""

    time_s: Floats
    temperature_c: Floats


@dataclass(frozen=True)
class ProbeSetting:
    """What is known and unknown about a probe run, but for its readings."""

    question: ProbeQuestion
    start_c: float
    end_s: float
    vessel: MeasuredVessel | None
    inputs: tuple[Input, ...]
    """All unknowns but the transport."""

    @classmethod
    def of(
        cls,
        question: ProbeQuestion,
        start_c: float,
        end_s: float,
        vessel: MeasuredVessel | None = None,
    ) -> ProbeSetting:
        """The setting of a question whose readings start at a temperature and end at an instant."""
        inputs = probe_inputs(question, start_c, is_vessel_measured=vessel is not None)
        return cls(question, start_c, end_s, vessel, tuple(inputs))

    @property
    def time_s(self) -> Floats:
        """The instants for which curves are solved."""
        return np.linspace(0.0, _LONGER * self.end_s, _KNOTS)

    @property
    def boil_c(self) -> float:
        """Boiling temperature of the place."""
        return float(saturation_temperature_c(self.question.ambient_pa))

    @property
    def steam_c(self) -> float:
        """Temperature of the steam at last, as it is believed before the fit."""
        if self.vessel is not None:
            return float(self.vessel.temperature_c.max())
        gauge = self.question.gauge_pa if self.question.way == "canner" else 0.0
        return float(saturation_temperature_c(self.question.ambient_pa + gauge))

    def beliefs(self, way: str) -> tuple[Believed, ...]:
        """The prior of each coordinate of the transport."""
        return transport_beliefs(self.question, way)

    def names(self, way: str) -> tuple[str, ...]:
        """Names of all scores, in order."""
        return (*COORDINATES[way], *(each.name for each in self.inputs))

    def parts(self, way: str) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """Places of the scores in which a curve bends, and of those in which it is straight."""
        names = self.names(way)
        bends = np.array([each in COORDINATES[way] or each in BENT for each in names])
        return np.flatnonzero(bends), np.flatnonzero(~bends)

    def values(self, way: str, scores: Floats) -> dict[str, Floats]:
        """Values of scores, (columns, names): transport as logarithms, the rest in their units."""
        from scipy.special import ndtr

        own = self.beliefs(way)
        found = {
            name: each.middle + each.scale * scores[:, place]
            for place, (name, each) in enumerate(zip(COORDINATES[way], own, strict=True))
        }
        share = np.clip(ndtr(scores[:, len(own) :]), 1e-9, 1 - 1e-9)
        return found | {
            each.name: each.at(share[:, place]) for place, each in enumerate(self.inputs)
        }

    def draw(self, way: str, count: int, generator: np.random.Generator) -> Floats:
        """Scores drawn from the prior, (count, names) [-]; the dice are handed in."""
        own = [
            (each.draw(count, generator) - each.middle) / each.scale for each in self.beliefs(way)
        ]
        rest = generator.standard_normal((count, len(self.inputs)))
        return np.concatenate([np.stack(own, axis=1), rest], axis=1)

    def log_prior(self, way: str, scores: Floats) -> Floats:
        """Log density of the prior of scores, (columns,) [-]."""
        own = self.beliefs(way)
        rest = scores[:, len(own) :]
        found = -0.5 * (rest**2).sum(axis=1) - rest.shape[1] * _HALF_LOG_TWO_PI
        for place, each in enumerate(own):
            found = found + each.log_density(each.middle + each.scale * scores[:, place])
        return np.asarray(found)


@dataclass(frozen=True)
class Columns:
    """Jars and vessels of many draws, each array (columns,)."""

    bed: Bed
    start_c: Floats
    steam_c: Floats
    vessel: VesselCurve | None
    places: Places

    @classmethod
    def of(
        cls, setting: ProbeSetting, values: dict[str, Floats], *, is_curve_wanted: bool = True
    ) -> Columns:
        """From values of all unknowns but the transport; the vessel's curve is for solving."""
        bed, question = bed_of(setting, values), setting.question
        depth = np.asarray(bed.depth_m)
        set_at = depth / 2 if question.probe_depth_m is None else depth - question.probe_depth_m
        height = (set_at + values["probe_height_m"]) / depth
        off = off_axis_m(question, values["probe_off_axis"]) / bed.radius_m
        places = Places(
            np.clip(height, _NEAREST_END, 1 - _NEAREST_END)[None],
            np.clip(off, 0.0, 0.97)[None],
        )
        start = values["start_c"]
        steam = setting.steam_c + values["steam_error_k"]
        vessel = _vessel(setting, values, start, steam) if is_curve_wanted else None
        return cls(bed, start, steam, vessel, places)

    def solve(self, way: str, values: dict[str, Floats], how: Grid = MIDDLING) -> Floats:
        """Readings at the setting's instants, (columns, times) [°C]."""
        assert self.vessel is not None
        if way == "conduction":
            found = conduction_curves(
                self.bed, np.exp(values["diffusivity"]), self.start_c, self.vessel, self.places
            )
        else:
            found = wet_bed_curves(
                self.bed, np.exp(values["conductivity"]), np.exp(values["pore_factor"]),
                self.start_c, self.vessel, self.places, how,
            )  # fmt: skip
        return found[:, 0]

    def features(self, way: str, values: dict[str, Floats]) -> Floats:
        """What decides a curve, in the scaled form that heat conduction has, (columns, features).

        A jar wider by 1 % acts like grain that conducts 2 % worse in a jar of another shape and
        with another film; grain that stores more heat, like grain that conducts worse.
        """
        bed, radius = self.bed, np.asarray(self.bed.radius_m)
        capacity = np.log(bed.volumetric_heat_capacity_j_m3k)
        size = 2 * np.log(radius)
        if way == "conduction":
            own = [values["diffusivity"] - size]
        else:
            own = [values[name] - capacity - size for name in ("pore_factor", "conductivity")]
        columns = [
            *own,
            np.log(bed.side_w_m2k) - capacity - size / 2,
            np.log(bed.top_w_m2k) - capacity - size / 2,
            np.log(bed.depth_m) - size / 2,
            self.places.height[0],
            self.places.off_axis[0] ** 2,
            self.start_c, self.steam_c, values["moment_s"], values["come_up"],
        ]  # fmt: skip
        return np.stack([np.broadcast_to(each, radius.shape) for each in columns], axis=1)


def bed_of(setting: ProbeSetting, values: dict[str, Floats]) -> Bed:
    """Beds of grain in the jar, each (columns,)."""
    question = setting.question
    moisture, radius = values["moisture"], values["inner_radius_m"]
    density = np.asarray(wet_bulk_density_kg_m3(question.grain, moisture, values["wet_void"]))
    specific = np.asarray(specific_heat_j_kg_k(question.grain, moisture, float(CAPACITY_AT_C)))
    depth = bed_depth_m(Jars(1, question.jar, question.fill), radius, density)
    film, top = values["film_w_m2_k"], values["top_film_w_m2_k"]
    return Bed(radius, depth * values["depth"], film, film, top, density * specific)


def _vessel(
    setting: ProbeSetting, values: dict[str, Floats], start: Floats, steam: Floats
) -> VesselCurve:
    """The vessel's temperature in each column, and its pressure: of steam, at least the air's."""
    question, time = setting.question, setting.time_s
    if setting.vessel is not None:
        read = np.interp(time, setting.vessel.time_s, setting.vessel.temperature_c)
        curves = read + values["steam_error_k"][:, None]
    else:
        after = STEAM_AFTER_S if question.steam_after_s is None else question.steam_after_s
        there_s = come_up_s(question)
        curves = np.empty((start.size, time.size))
        for column in range(start.size):
            shift, shape = values["moment_s"][column], values["come_up"][column]
            if question.way == "atmospheric":
                jet = max(there_s + shift, 1.0)
                middle = start[column] + (0.5 + 0.1 * shape) * (steam[column] - start[column])
                knots, warm = [0.0, jet / 2, jet], [start[column], middle, steam[column]]
            else:
                there = max(there_s + shift, 3.0)
                jet = min(max(after + shift + 60.0 * shape, 1.0), there - 2.0)
                knots = [0.0, jet, jet + _VENTED * (there - jet), there]
                boil = min(setting.boil_c, steam[column])
                warm = [start[column], boil, boil, steam[column]]
            curves[column] = np.interp(time, knots, warm)
    pressure = saturation_pressure_pa(np.clip(curves, 1.0, 200.0))
    return VesselCurve(time, curves, np.maximum(pressure, question.ambient_pa))


def come_up_s(question: ProbeQuestion) -> float:
    """When the vessel is at its last temperature, as said, or the usual [s]."""
    if question.way == "canner":
        said, usual = question.pressure_after_s, PRESSURE_AFTER_S
    else:
        said, usual = question.steam_after_s, STEAM_AFTER_S
    return usual if said is None else said
