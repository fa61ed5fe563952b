"""What `probe` shows: rows, a plot of what the fit leaves, what the run is worth."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from spawnwright.cli.answer import Answer
from spawnwright.records.probe import STRAIGHT_J
from spawnwright.units import written

if TYPE_CHECKING:
    from spawnwright.records.probe import BeforeAfter, Interval, ProbeAnswer

_WIDE, _HIGH = 64, 9
_RULED_OUT = 1e-6  # chance of a way below which its numbers are not shown


def values_of(found: ProbeAnswer) -> dict[str, Any]:
    """The keys for `--json`."""
    transport, real = found.transport, found.real_run
    creeping = transport.chance_of_conduction
    vapor = 1 - creeping
    return {
        "fits": found.fits,
        "misfits": list(found.misfits),
        "likelier": found.likelier,
        "chance_of_conduction": transport.chance_of_conduction,
        "chance_of_conduction_before": found.chance_before,
        "diffusivity_m2_s": _unless_ruled_out(found.diffusivity_m2_s, creeping),
        "resting_conductivity_without_vapor_w_mk": _unless_ruled_out(
            found.resting_conductivity_w_mk, creeping
        ),
        "dry_conductivity_w_mk": _unless_ruled_out(found.conductivity_w_mk, vapor),
        "pore_factor": _unless_ruled_out(found.pore_factor, vapor),
        "fh_min": found.fh_min,
        "j": found.j,
        "measured_at_kpa": transport.pressure_pa / 1000,
        "probe_height_error_mm": _scaled(found.probe_off_m, 1000),
        "sensor_offset_c": found.offset_k,
        "residual_rms_c": found.rms_k,
        "time_min": [each / 60 for each in found.time_s],
        "measured_c": list(found.measured_c),
        "fitted_c": list(found.fitted_c),
        "residual_c": list(found.residual_k),
        "steam_c": found.steam_c,
        "f0_total_before_min": None if real is None else real.f0_before_min,
        "f0_total_after_min": None if real is None else real.f0_after_min,
        "hold_before_min": None if real is None else _minutes(real.hold_before_s),
        "hold_after_min": None if real is None else _minutes(real.hold_after_s),
        "at_hold_min": None if real is None else real.at_hold_s / 60,
        "effective_draws": found.effective_draws,
        "cautions": list(found.cautions),
    }


def page_of(page: Answer, found: ProbeAnswer) -> Answer:
    """The answer for people."""
    page.text("\n".join(f"- {each}" for each in found.cautions), title="Mind")
    if found.misfits:
        page.text(
            "The model does NOT describe these readings, so nothing below can be used:\n"
            + "\n".join(f"- {each}." for each in found.misfits),
            title="Does it fit?",
        )
    else:
        page.text(
            f"Yes: the curve misses the readings by {found.rms_k:.2f} K on average, and jar, probe "
            "and steam stay where one would believe them.",
            title="Does it fit?",
        )
    _heat(page, found)
    page.verbatim(residual_plot(found.time_s, found.residual_k), title="Readings less the curve")
    if found.real_run is not None:
        _worth(page, found.real_run)
    return page


def _heat(page: Answer, found: ProbeAnswer) -> None:
    chance, before = found.transport.chance_of_conduction, found.chance_before
    resting = _way(found.conductivity_w_mk, "W/(m K)", 1 - chance)
    rows = [
        ("vapor moves in the pores", _share(1 - chance), f"before: {_share(1 - before)}"),
        ("  conductivity at rest", resting, "carries over"),
        ("  pore factor", _way(found.pore_factor, "", 1 - chance), "carries over"),
        ("conduction alone", _share(chance), f"before: {_share(before)}"),
        ("  conductivity at rest", _way(found.resting_conductivity_w_mk, "W/(m K)", chance),
         "carries over"),
    ]  # fmt: skip
    if found.diffusivity_m2_s is not None:
        mm2 = _scaled(found.diffusivity_m2_s, 1e6)
        rows.append(("  diffusivity", _way(mm2, "mm²/s", chance), f"at {_pressure(found)}"))
    rows += [
        ("fh", _said(found.fh_min, "min"), f"at {_pressure(found)} only"),
        ("j", _j(found.j), "time zero at 58 % of the come-up"),
        ("the tip, in height", _said(_scaled(found.probe_off_m, 1000), "mm"),
         "above where it was set"),
    ]  # fmt: skip
    page.rows(*rows, title="How heat moves: median, and 95 % interval")
    if found.likelier == "porous bed":
        page.text(
            "With vapor the late part of the curve is steep and not one straight line: j is then "
            "large and says little. Do not put this fh and j into a process at another pressure."
        )
    if found.question.way == "atmospheric":
        page.text(
            "No diffusivity is given: without pressure vapor carries several times what it does "
            "at 15 psi, so a diffusivity from this run would be far too high there."
        )


def _worth(page: Answer, real: BeforeAfter) -> None:
    shrunk = 1 - real.f0_after_min.width / max(real.f0_before_min.width, 1e-9)
    gauge = written(real.gauge_pa, "gauge pressure")
    page.rows(
        ("F0 before", _band(real.f0_before_min), "5th percentile, median, 95th"),
        ("F0 after", _band(real.f0_after_min),
         f"the band shrank by {shrunk:.0%}" if shrunk > 0 else f"the band grew by {-shrunk:.0%}"),
        ("hold before", _hold(real.hold_before_s), "recommended"),
        ("hold after", _hold(real.hold_after_s), "recommended"),
        title=f"What it is worth: {real.jars} such jars at {gauge}, "
        f"held {real.at_hold_s / 60:.0f} min",
    )  # fmt: skip


def residual_plot(time_s: Sequence[float], residual_k: Sequence[float]) -> str:
    """Residuals over time as lines of text: a mark a column, zero as a dashed line."""
    most = max(0.5, *(abs(each) for each in residual_k))
    first, last = time_s[0], time_s[-1]
    grid = [[" "] * _WIDE for _ in range(_HIGH)]
    middle = _HIGH // 2
    grid[middle] = ["-"] * _WIDE
    for time, left in zip(time_s, residual_k, strict=True):
        column = round((time - first) / (last - first) * (_WIDE - 1))
        row = middle - round(left / most * middle)
        grid[row][column] = "o"
    names = {0: f"{most:+.1f} K", middle: "0", _HIGH - 1: f"{-most:+.1f} K"}
    lines = [f"{names.get(row, ''):>8} |{''.join(each)}" for row, each in enumerate(grid)]
    start, end = f"{first / 60:.0f}", f"{last / 60:.0f} min"
    lines.append(" " * 10 + start + end.rjust(_WIDE - len(start)))
    return "\n".join(line.rstrip() for line in lines)


def _pressure(found: ProbeAnswer) -> str:
    return f"{found.transport.pressure_pa / 1000:.0f} kPa absolute"


def _scaled(interval: Interval, factor: float) -> Interval:
    ends = (interval.low, interval.likely, interval.high)
    return type(interval)(*(factor * each for each in ends))


def _minutes(seconds: float | None) -> float | None:
    return None if seconds is None else seconds / 60


def _hold(seconds: float | None) -> str:
    return "none that fits" if seconds is None else f"{seconds / 60:.0f} min"


def _share(share: float) -> str:
    if share < 0.001:
        return "under 0.1%"
    return "over 99.9%" if share > 0.999 else f"{share:.1%}"


def _unless_ruled_out(interval: Interval | None, chance: float) -> Interval | None:
    """None for a way that the readings rule out: its numbers would mean nothing."""
    return interval if chance >= _RULED_OUT else None


def _way(interval: Interval, unit: str, chance: float) -> str:
    return _said(interval, unit) if chance >= _RULED_OUT else "ruled out by the readings"


def _said(interval: Interval, unit: str) -> str:
    ends = f"{interval.low:.3g} to {interval.high:.3g}"
    return f"{interval.likely:.3g} {unit}".rstrip() + f" ({ends})"


def _j(interval: Interval) -> str:
    return _said(interval, "") if interval.likely < STRAIGHT_J else "large: no straight line"


def _band(band: Any) -> str:
    return f"{band.low:.1f} … {band.likely:.1f} … {band.high:.1f} min"
