"""How hot the steam is at a gauge reading and an elevation."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from spawnwright import units
from spawnwright.cli import answer
from spawnwright.cli.options import Quantity, Share, outside_air_options

if TYPE_CHECKING:
    from spawnwright.actions.steam import SteamAnswer


@answer.command("steam", example='steam --gauge "15 psi" --elevation "1500 m"')
@click.option(
    "--gauge",
    type=Quantity("gauge pressure", zero_needs_no_unit=True),
    required=True,
    help='What the gauge shows or the weight is marked: "15 psi", "1 bar", "15 lb weight".',
)
@outside_air_options
@click.option(
    "--air-retained",
    type=Share(),
    default="0%",
    show_default=True,
    help="Share of the air that filled the vessel when the lid closed and is still in it.",
)
@click.option(
    "--air-temperature",
    type=Quantity("temperature"),
    default="20 C",
    show_default=True,
    help="Of that air when the lid closed.",
)
def command(
    gauge: float,
    elevation: float | None,
    ambient: float | None,
    boils_at: float | None,
    air_retained: float,
    air_temperature: float,
) -> answer.Answer:
    """How hot saturated steam is at a gauge reading, which depends on the air outside.

    Give one of --elevation, --ambient, --boils-at. A gauge shows the difference to the air
    outside, so the same reading is cooler higher up. Air left in the vessel takes part of the
    pressure and makes the steam cooler still: it counts as dry, at ambient pressure and
    --air-temperature when the lid closes, and is then heated with the vessel, p_air = share x
    ambient x T / T_air in kelvin. relative_lethality is the rate of killing over that at
    121.11 C, with z 10 C.
    """
    from spawnwright.actions import steam as action

    found = action.steam(
        gauge,
        elevation_m=elevation,
        ambient_pa=ambient,
        boils_at_c=boils_at,
        air_retained=air_retained,
        air_temperature_c=air_temperature,
    )
    page = answer.Answer(
        {
            "steam_temperature_c": found.temperature_c,
            "ambient_pressure_kpa": found.ambient_pa / 1000,
            "absolute_pressure_kpa": (found.ambient_pa + found.gauge_pa) / 1000,
            "boiling_point_c": found.boiling_point_c,
            "gauge_for_121_psi": units.psi(found.gauge_for_reference_pa),
            "relative_lethality": found.relative_lethality,
        }
    )
    _rows(page, found, elevation)
    return _advice(page, found)


def _rows(page: answer.Answer, found: SteamAnswer, elevation: float | None) -> None:
    share = found.relative_lethality
    air = f"{found.air_retained:.0%} of the air left in" if found.air_retained else "air vented"
    page.rows(
        (
            "steam",
            f"{found.temperature_c:.1f} °C",
            f"{units.fahrenheit(found.temperature_c):.1f} °F; saturated, {air}",
        ),
        *_compared(found),
        (
            "it kills at",
            f"{share:.0%}" if share >= 0.01 else f"{share:.2g}",
            "of the rate at 121.1 °C (z 10 °C): "
            + (
                f"{10 / share:.0f} min here do what 10 min do there"
                if share >= 0.01
                else "far too slowly to sterilize"
            ),
        ),
        ("water boils at", f"{found.boiling_point_c:.1f} °C", "in an open pot there"),
        ("air outside", f"{found.ambient_pa / 1000:.1f} kPa", _outside(found, elevation)),
        ("pressure inside", f"{(found.ambient_pa + found.gauge_pa) / 1000:.1f} kPa", "absolute"),
        (
            "gauge for 121.1 °C",
            f"{units.psi(found.gauge_for_reference_pa):.1f} psi",
            f"{found.gauge_for_reference_pa / 1000:.0f} kPa, with the air vented",
        ),
    )


def _compared(found: SteamAnswer) -> list[answer.Row]:
    rows = []
    cooler = found.sea_level_c - found.temperature_c
    if abs(cooler) >= 0.05:
        word = "cooler" if cooler > 0 else "hotter"
        rows.append(("", f"{abs(cooler):.1f} °C", f"{word} than the same reading at sea level"))
    if found.air_retained:
        lost = found.vented_c - found.temperature_c
        rows.append(("", f"{lost:.1f} °C", f"cooler than vented steam, {found.vented_c:.1f} °C"))
    if found.cold_air_c is not None:
        rows.append(
            (
                "published table",
                f"{found.cold_air_c:.1f} °C",
                "as the air-discharge tables have it, which let that air stay cold",
            )
        )
    return rows


def _outside(found: SteamAnswer, elevation: float | None) -> str:
    if found.ambient_from == "elevation":
        return "standard atmosphere; weather moves it by 2 kPa, which is 0.3 °C of steam"
    said = "as measured" if found.ambient_from == "ambient" else "from where water boils"
    height = found.standard_elevation_m
    like = f", the standard atmosphere of {height:.0f} m" if height is not None else ""
    known = found.ambient_from == "boils at" or elevation is not None
    return said + like + ("" if known else "; make sure that it is not reduced to sea level")


def _advice(page: answer.Answer, found: SteamAnswer) -> answer.Answer:
    from spawnwright.actions.steam import USUAL_RATING

    said = []
    if found.air_retained and found.temperature_c < found.boiling_point_c:
        said.append(
            "That is below the boiling point of an open pot: what the gauge shows is mostly air."
        )
    if found.gauge_for_reference_pa > max(found.gauge_pa, USUAL_RATING) + 1.0:
        said.append(
            "Never hold a canner above the pressure that its maker rates it for, nor above the "
            "mark on the weight: where 121 °C is out of reach, hold longer instead "
            "(`./run sterilize` says how long)."
        )
    elif found.gauge_pa > USUAL_RATING + 1.0:
        said.append(
            "Most home canners are rated for 15 psi: check what the maker allows before going "
            "above it."
        )
    loss = found.temperature_c - found.one_psi_less_c
    if found.gauge_pa >= units.PSI_PA:
        rate = 1 - 10 ** (-loss / 10)
        said.append(
            f"A gauge that reads 1 psi high costs {loss:.2f} °C and {rate:.0%} of the kill: have a "
            "dial gauge checked every year."
        )
    said.append(
        "The gauge cannot tell air from steam: let a full jet blow for 10 minutes, every time, "
        "before the weight goes on."
    )
    return page.text("\n".join(said))
