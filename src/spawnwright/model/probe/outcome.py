"""What a probe run comes to: both ways weighed, what the grain has, and what carries over."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spawnwright.model.heat.bed import Floats
from spawnwright.model.probe.fit import Posterior
from spawnwright.model.probe.prior import way_chances
from spawnwright.model.probe.setting import ProbeSetting, bed_of, come_up_s
from spawnwright.model.probe.trade import ZERO_SHARE, HeatPenetration, heat_penetrations
from spawnwright.records.probe import Interval, ProbeTransport

_LEAST_SPREAD = 1e-3  # of a logarithm, on either side


@dataclass(frozen=True)
class Weighed:
    """The chance of conduction alone, and of pores with vapor, after the run [-]."""

    conduction: float
    porous: float

    @classmethod
    def of(cls, setting: ProbeSetting, posteriors: dict[str, Posterior]) -> Weighed:
        """By prior chance times chance of the readings."""
        before = way_chances(setting.question)
        logs = np.log(before) + np.array([
            posteriors[way].log_evidence for way in ("conduction", "porous bed")
        ])  # fmt: skip
        shares = np.exp(logs - logs.max())
        conduction, porous = shares / shares.sum()
        return cls(float(conduction), float(porous))

    @property
    def likelier(self) -> str:
        """The way that the readings speak for."""
        return "conduction" if self.conduction > self.porous else "porous bed"


def interval(values: Floats) -> Interval:
    """2.5th percentile, median and 97.5th, in the values' own unit [unit]."""
    low, likely, high = np.percentile(values, (2.5, 50.0, 97.5))
    return Interval(float(low), float(likely), float(high))


def carried(
    setting: ProbeSetting, posteriors: dict[str, Posterior], weighed: Weighed, *, fits: bool
) -> ProbeTransport:
    """What a sterilizer run can use: transport as it acts in the book's jar.

    Parameters
    ----------
    setting : ProbeSetting
        The run [-].
    posteriors : dict
        By way [-].
    weighed : Weighed
        Chances of the ways [-].
    fits : bool
        Whether the model describes the readings at all [-].

    Returns
    -------
    ProbeTransport
        Conductivity and pore factor as one, by their medians and a common power [-].
    """
    book = {each.name: np.array([each.likely]) for each in setting.inputs}
    bed = bed_of(setting, book)
    radius = float(np.asarray(bed.radius_m)[0])
    capacity = float(np.asarray(bed.volumetric_heat_capacity_j_m3k)[0])
    creeping = posteriors["conduction"].values
    wet = posteriors["porous bed"].values
    alpha = creeping["diffusivity"] - 2 * np.log(creeping["inner_radius_m"] / radius)
    own = np.asarray(bed_of(setting, wet).volumetric_heat_capacity_j_m3k)
    smaller = np.log(own / capacity) + 2 * np.log(wet["inner_radius_m"] / radius)
    resting, pore = wet["conductivity"] - smaller, wet["pore_factor"] - smaller
    middle = float(np.median(resting))
    spread = float(((resting - resting.mean()) ** 2).mean())
    power = float(((resting - resting.mean()) * (pore - pore.mean())).mean()) / max(spread, 1e-9)
    question = setting.question
    gauge = question.gauge_pa if question.way == "canner" else 0.0
    return ProbeTransport(
        jar=question.jar.key,
        grain=question.grain.key,
        way=question.way,
        pressure_pa=question.ambient_pa + gauge,
        chance_of_conduction=weighed.conduction,
        diffusivity_m2_s=_of_logs(alpha),
        conductivity_w_mk=_of_logs(resting),
        pore_factor=_of_logs(pore - power * (resting - middle)),
        pore_power=power,
        radius_m=radius,
        capacity_j_m3k=capacity,
        readings=0,
        fits=fits,
    )


def _of_logs(values: Floats) -> Interval:
    low, likely, high = np.percentile(values, (2.5, 50.0, 97.5))
    low, high = min(low, likely - _LEAST_SPREAD), max(high, likely + _LEAST_SPREAD)
    return Interval(float(np.exp(low)), float(np.exp(likely)), float(np.exp(high)))


def penetration_of(setting: ProbeSetting, posterior: Posterior) -> HeatPenetration:
    """The fh and j of every draw, arrays (draws,) [min], [-]."""
    return heat_penetrations(posterior.log_times, time_zero_s(setting, posterior.values))


def time_zero_s(setting: ProbeSetting, values: dict[str, Floats]) -> Floats:
    """Where the trade has time zero: 58 % of the come-up, (columns,) [s]."""
    question = setting.question
    if setting.vessel is not None:
        warm = setting.vessel.temperature_c > setting.steam_c - 1.0
        there = np.full_like(values["moment_s"], float(setting.vessel.time_s[np.argmax(warm)]))
    else:
        there = come_up_s(question) + values["moment_s"]
    return np.asarray(float(ZERO_SHARE) * there)
