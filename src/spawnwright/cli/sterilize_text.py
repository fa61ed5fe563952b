"""The answer of `sterilize` in words and in JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from spawnwright import units
from spawnwright.cli.answer import Answer
from spawnwright.records.band import Band

if TYPE_CHECKING:
    from spawnwright.actions.sterilizing.sterilize_answer import (
        HoldPoint,
        KindAnswer,
        SterilizeAnswer,
    )
    from spawnwright.records.sterilizing import SterilizeQuestion


def values_of(question: SterilizeQuestion, found: SterilizeAnswer) -> dict[str, Any]:
    """The JSON object: bands in the units that the keys end with."""
    per_min, per_hour = 1 / 60, 1 / 3600
    is_grain = question.contents == "grain"
    recommended = found.recommended_hold_s
    return {
        "recommended_hold_min": None if recommended is None else recommended * per_min,
        "hold_min": found.hold_s * per_min,
        "hold_is": found.hold_is,
        "core_temperature_at_steam_off_c": found.core_at_steam_off_c,
        "f0_at_steam_off_min": found.f0_at_steam_off_min,
        "f0_total_min": found.f0_total_min,
        "coldest_f0_total_min": found.coldest_f0_total_min,
        "chance_of_survivor": found.chance_of_survivor,
        "come_up_min": found.come_up_s.times(per_min),
        "water_lost_kg": found.water_lost_kg,
        "water_needed_kg": found.water_needed_kg,
        "widest_cause": found.widest_cause,
        "narrow_it_with": found.narrow_it_with,
        "steam_temperature_c": found.steam_c,
        "to_jet_min": found.to_jet_s.times(per_min),
        "pressure_drop_min": found.to_zero_s.times(per_min),
        "cool_overnight_h": found.overnight_s.times(per_hour),
        "cool_opened_warm_h": found.opened_warm_s.times(per_hour),
        "cool_to_c": found.handling_c,
        "water_depth_cm": found.water_depth_m * 100,
        "energy_used_kwh": found.energy_j.times(1 / 3.6e6),
        "water_room_kg": found.water_room_kg,
        "longest_hold_min": found.longest_hold_s * per_min,
        "hold_curve": [_point(each) for each in found.hold_curve],
        "hold_by_state_min": {
            state: None if hold is None else hold * per_min
            for state, hold in found.hold_by_state_s.items()
        },
        "customary_hold_min": _customary(found),
        "interpolation_error": found.interpolation_error,
        "canner": question.canner.key,
        "contents": question.contents,
        "grain_kg_per_jar": found.grain_kg_per_jar if is_grain else None,
        "dry_grain_kg_per_jar": found.dry_grain_kg_per_jar if is_grain else None,
        "liquid_kg_per_jar": None if is_grain else found.grain_kg_per_jar,
        "kinds": [_kind(each, is_grain) for each in found.kinds],
        "slowest_kind": found.slowest,
        "advice": found.advice,
        "warnings": found.warnings,
        "cautions": found.cautions,
    }


def _customary(found: SterilizeAnswer) -> dict[str, Any]:
    return {
        "low": found.customary.low_s / 60,
        "high": found.customary.high_s / 60,
        "chance_at_low": found.customary.chance_at_low,
        "chance_at_high": found.customary.chance_at_high,
        "source": "common practice, no source",
    }


def _point(point: HoldPoint) -> dict[str, Any]:
    return {
        "hold_min": point.hold_s / 60,
        "chance_of_survivor": point.chance_of_survivor,
        "f0_total_min": point.f0_total_min,
        "water_fits": point.fits_water,
    }


def _kind(each: KindAnswer, is_grain: bool) -> dict[str, Any]:
    return {
        "jar": each.kind.jar.key,
        "jars": each.kind.jars,
        "fill_share": each.share,
        "grain_kg_per_jar" if is_grain else "liquid_kg_per_jar": each.grain_kg_per_jar,
        "recommended_hold_min": (
            None if each.recommended_hold_s is None else each.recommended_hold_s / 60
        ),
        "core_temperature_at_steam_off_c": each.core_at_steam_off_c,
        "f0_total_min": each.f0_total_min,
        "coldest_f0_total_min": each.coldest_f0_total_min,
        "chance_of_survivor": each.chance_of_survivor,
    }


def page_of(
    page: Answer, question: SterilizeQuestion, found: SterilizeAnswer, *, is_canner_assumed: bool
) -> Answer:
    """The answer as a grower reads it."""
    page.rows(
        *_heat_rows(question, found),
        *_run_rows(question, found),
        title=_title(question, found),
    )
    if len(found.kinds) > 1:
        _kinds(page, found)
    _curve(page, question, found)
    if is_canner_assumed:
        page.text(
            f"No canner was named: {question.canner.key} is assumed ({question.canner.note}). "
            "Give yours with --canner; its mass, water and rating change these numbers."
        )
    for each in (*found.warnings, *found.advice):
        page.text(each)
    _width(page, found)
    return page.text("\n".join(found.cautions), title="Before you light the burner")


def _title(question: SterilizeQuestion, found: SterilizeAnswer) -> str:
    is_grain = question.contents == "grain"
    wet = " wet" if is_grain else ""
    each = [
        f"{one.kind.jars} {one.kind.jar.key} jar{'s' if one.kind.jars > 1 else ''}, "
        f"{units.written_mass(one.grain_kg_per_jar)}{wet} each"
        for one in found.kinds
    ]
    if question.bag is not None:
        way = "lying" if question.is_lying else "standing"
        bags = f"{question.jars} bag{'s' if question.jars > 1 else ''}"
        each = [f"{bags} of {units.written_mass(found.grain_kg_per_jar)} wet, {way}"]
    what = question.kernels.key if is_grain else question.contents.replace("-", " ")
    spoiled = "spoiled " if question.is_spoiled else ""
    return f"{spoiled}{what}: {' and '.join(each)}, in the canner {question.canner.key}"


def _kinds(page: Answer, found: SterilizeAnswer) -> None:
    """Each kind of jar in the load, and which one the rest of the page is about."""
    worst = found.kinds[found.slowest].kind.jar.key
    page.table(
        ["jars", "fill", "coldest F0, min", "likely from", "to", "chance", "alone needs"],
        [[f"{each.kind.jars} {each.kind.jar.key}", f"{100 * each.share:.0f} %",
          _number(each.coldest_f0_total_min.likely, None),
          _number(each.coldest_f0_total_min.low, None),
          _number(each.coldest_f0_total_min.high, None),
          _percent(each.chance_of_survivor),
          "no hold that fits" if each.recommended_hold_s is None
          else units.written_duration(each.recommended_hold_s)]
         for each in found.kinds],
        title="Each kind of jar in this load",
    )  # fmt: skip
    page.text(
        f"The hold is that of the slowest kind, and all else on this page is about it: {worst}. "
        "All jars draw heat, so come-up and water are those of the whole load."
    )


def _heat_rows(question: SterilizeQuestion, found: SterilizeAnswer) -> list[tuple[str, str, str]]:
    chance = found.chance_of_survivor
    is_grain = question.contents == "grain"
    core, within = ("core", "in the core") if is_grain else ("liquid", "well mixed")
    rows = [
        ("hold", units.written_duration(found.hold_s), _hold_note(found)),
        ("chance of a survivor", _percent(chance), _one_in(chance)),
        (f"{core} at steam off", _band(found.core_at_steam_off_c, "°C", 1),
         f"steam {_band(found.steam_c, '°C', 1)}"),
        ("F0 at steam off", _band(found.f0_at_steam_off_min, "min"), within),
        ("F0, cooling counted", _band(found.f0_total_min, "min"), "let it cool by itself"),
        ("F0 at the coldest point", _band(found.coldest_f0_total_min, "min"),
         "cooling counted; it decides"),
    ]  # fmt: skip
    return rows if is_grain else rows[:-1]  # a liquid has one temperature


def _run_rows(question: SterilizeQuestion, found: SterilizeAnswer) -> list[tuple[str, str, str]]:
    if question.profile == "step":
        return [("come-up", "0 min", "a step: full steam at once, no cooling")]
    core = "core" if question.contents == "grain" else "liquid"
    way = f"{core} at {found.handling_c:.0f} °C"
    rack = "" if question.bag is None else ", the rack above it"
    rows = [
        ("burner on to the jet", _band(found.to_jet_s.times(1 / 60), "min"), "then vent 10 min"),
        ("burner on to pressure", _band(found.come_up_s.times(1 / 60), "min"), "come-up"),
        ("water to put in", _band(found.water_needed_kg, "L"),
         f"{100 * found.water_depth_m:.0f} cm deep at most{rack}; "
         f"{found.water_room_kg:.1f} L fits"),
        ("water that boils off", _band(found.water_lost_kg, "L"), "half a liter stays in"),
        ("gas or electricity", _band(found.energy_j.times(1 / 3.6e6), "kWh"), "up to steam off"),
        ("pressure falls to zero", _band(found.to_zero_s.times(1 / 60), "min"), "after steam off"),
        ("cool, shut overnight", _band(found.overnight_s.times(1 / 3600), "h"), way),
        ("cool, opened warm", _band(found.opened_warm_s.times(1 / 3600), "h"), way),
    ]  # fmt: skip
    return rows if question.bag is None else rows[:-1]  # bags stay in until all is cool


def _hold_note(found: SterilizeAnswer) -> str:
    if found.hold_is == "recommended":
        return "recommended, from pressure reached"
    recommended = found.recommended_hold_s
    advised = (
        "no hold is long enough"
        if recommended is None
        else f"recommended: {units.written_duration(recommended)}"
    )
    said = "as asked" if found.hold_is == "asked" else "what the trade does"
    return f"{said}, from pressure reached; {advised}"


def _curve(page: Answer, question: SterilizeQuestion, found: SterilizeAnswer) -> None:
    low, high = found.customary.low_s / 60, found.customary.high_s / 60
    rows = []
    for each in found.hold_curve:
        minutes = each.hold_s / 60
        marks = [
            "water does not fit" if not each.fits_water else "",
            "customary" if low - 0.1 <= minutes <= high + 0.1 else "",
        ]
        rows.append(
            [f"{minutes:.0f}", _percent(each.chance_of_survivor),
             f"{each.f0_total_min.low:.0f}", f"{each.f0_total_min.likely:.0f}",
             ", ".join(mark for mark in marks if mark)]
        )  # fmt: skip
    title = f"Minutes of hold against the chance of a survivor, {_state(question)}"
    page.table(["hold, min", "chance", "F0 at worst", "F0 likely", ""], rows, title=title)
    size = f"{question.bag.grain_kg:g} kg of grain" if question.bag is not None else "this size"
    size = size if question.contents == "grain" else "up to half a liter of liquid"
    page.text(
        f"Customary for {size} at 15 psi: {_range(low, high)} min (common practice, no source)."
    )
    if found.hold_by_state_s:
        said = ", ".join(
            f"{units.written_duration(hold) if hold else 'no hold that fits'} if it {state}"
            for state, hold in found.hold_by_state_s.items()
        )
        page.text(f"What knowing the grain is worth: {said}.")


def _state(question: SterilizeQuestion) -> str:
    if question.contents != "grain":
        return question.contents.replace("-", " ")
    if question.is_spoiled:
        return "spoiled grain, taken as smearing"
    if question.probe is not None:
        return "grain: as your probe run found it"
    return f"grain: {question.grain_state if question.pinned is None else question.pinned.kind}"


def _width(page: Answer, found: SterilizeAnswer) -> None:
    if found.widest_cause:
        page.text(
            f"Most of the width comes from: {found.widest_cause}. What would narrow it most: "
            f"{found.narrow_it_with}."
        )
    if found.interpolation_error:
        page.text(
            "Jars through which vapor moves are read off a few hundred solved ones; that is "
            f"{100 * found.interpolation_error:.0f}% of F0 off at most times, and counted in the "
            "bands."
        )


def _band(band: Band, unit: str, digits: int | None = None) -> str:
    low, likely, high = (_number(each, digits) for each in (band.low, band.likely, band.high))
    if low == high:
        return f"{likely} {unit}"
    return f"{likely} {unit} ({low} to {high})"


def _number(value: float, digits: int | None) -> str:
    if digits is not None:
        return f"{value:.{digits}f}"
    return f"{value:.0f}" if value >= 10 else f"{value:.1f}" if value >= 0.1 else f"{value:.2g}"


def _percent(share: float) -> str:
    if share < 1e-6:
        return "< 0.0001 %"
    return f"{100 * share:.2g} %" if share < 0.995 else f"{100 * share:.1f} %"


def _one_in(chance: float) -> str:
    if chance > 0.5:
        return "in one jar: more likely than not"
    if chance < 1e-6:
        return "in one jar: less than one in a million"
    if chance >= 0.1:
        return f"in one jar: about 1 in {1 / chance:.1f}"
    return f"in one jar: about 1 in {float(f'{1 / chance:.2g}'):,.0f}"


def _range(low: float, high: float) -> str:
    return f"{low:.0f}" if low == high else f"{low:.0f} to {high:.0f}"
