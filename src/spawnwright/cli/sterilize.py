"""How hot the middle of the jar gets, how long to hold, the chance of a survivor."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from spawnwright.cli import answer
from spawnwright.cli.kit_defaults import fill_from_kit, kit_option
from spawnwright.cli.options import (
    Listed,
    Plain,
    Quantity,
    Share,
    outside_air_options,
)
from spawnwright.cli.sterilize_load import load_from, load_options, spores_from

if TYPE_CHECKING:
    from spawnwright.records.probe import ProbeTransport
    from spawnwright.records.sterilizing import PinnedTransport, SterilizeQuestion


class StartOption(click.ParamType[Any]):
    """A temperature, or cold, warm, hot-packed."""

    name = "temperature or word"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """A word as it is, anything else as a temperature."""
        if not isinstance(value, str):
            return value
        word = value.strip().lower().replace(" ", "-")
        if word in ("cold", "warm", "hot-packed"):
            return word
        return Quantity("temperature").convert(value, param, ctx)


@answer.command(
    "sterilize",
    example="sterilize --jar quart --fill 70% --jars 7 --grain rye --grain-state pours "
    '--start "20 C" --gauge "15 psi" --elevation "450 m"',
)
@load_options
@click.option("--grain", type=Listed("grains"), help="As in `./run grains`; not for liquids.")
@click.option(
    "--moisture",
    type=Share(),
    help="Water in the grain, of its wet mass. Not known: 45 to 55 % stand in the band.",
)
@click.option(
    "--grain-state",
    type=click.Choice(("pours", "sticks", "smears", "unknown")),
    default="unknown",
    show_default=True,
    help="What the filled grain does: pours through your fingers, sticks to the hand, smears.",
)
@click.option(
    "--start",
    type=StartOption(),
    required=True,
    help='Grain and water when the burner is lit: "20 C", cold, warm, hot-packed.',
)
@click.option(
    "--gauge",
    type=Quantity("gauge pressure"),
    required=True,
    help='What the weight is marked or the dial held at: "15 psi", "15 lb weight", "1 bar".',
)
@outside_air_options
@click.option(
    "--hold",
    type=Quantity("duration"),
    help="Minutes at pressure. Left out: the recommended hold, or the customary one if none is.",
)
@click.option(
    "--canner",
    type=Listed("canners"),
    help="As in `./run canners`, or a TOML file of your own. Left out: a usual one that holds "
    "these jars, with no rating known.",
)
@click.option("--burner", type=Quantity("power"), help='Full power of the burner: "2 kW".')
@click.option(
    "--hob",
    type=click.Choice(("gas", "electric", "induction", "unknown")),
    default="unknown",
    show_default=True,
    help="How much of it reaches the pot depends on this.",
)
@click.option(
    "--room",
    type=Quantity("temperature"),
    default="22 C",
    show_default=True,
    help="Where the canner cools.",
)
@click.option(
    "--air-retained",
    type=Share(),
    help="Share of the air left in. Left out: what ten minutes of full jet leave.",
)
@click.option(
    "--spores-per-gram",
    type=Plain("a number of spores"),
    help="In dry grain. Left out, a stated guess: 100, a factor of ten either way (one sd).",
)
@click.option(
    "--spores-per-ml",
    type=Plain("a number of spores"),
    help="In a liquid. Left out, a stated guess: 1, a factor of ten either way (one sd).",
)
@click.option(
    "--d",
    "d_value",
    type=Quantity("duration"),
    help="D at 121.11 C of those spores. Left out: 0.5 min, a factor of three either way.",
)
@click.option(
    "--z",
    "z_value",
    type=Quantity("temperature difference"),
    help="Their z. Left out: 8 C, 1 C either way.",
)
@click.option(
    "--target",
    type=Share(),
    help="Chance of a survivor in a jar that the recommended hold is to reach. Left out: 1% for "
    "grain, 0.5% for liquids.",
)
@click.option(
    "--probe",
    "probe_file",
    metavar="FILE",
    help="What `./run probe … --save FILE` kept: how heat moves in your own grain. It takes the "
    "place of --grain-state.",
)
@click.option(
    "--transport",
    type=click.Choice(("conduction", "vapor")),
    help="Pin how heat moves, with the numbers below; all else is then at its central value.",
)
@click.option("--diffusivity", type=Plain("a diffusivity", "m²/s"), help="By conduction [m²/s].")
@click.option("--pore-factor", type=Plain("a pore factor"), help="Porosity over tortuosity [-].")
@click.option(
    "--dry-conductivity",
    type=Plain("a conductivity", "W/mK"),
    help="Of the bed without vapor, with --transport vapor. Default 0.16 W/(m K).",
)
@click.option(
    "--profile",
    type=click.Choice(("cycle", "step")),
    default="cycle",
    show_default=True,
    help="step: full steam at once, no cooling counted.",
)
@kit_option
@click.option("--curve", is_flag=True, help="Add steam and core over time, likely scenario.")
@click.option("--explain", is_flag=True, help="List every uncertain number and its source.")
def command(curve: bool, explain: bool, **asked: Any) -> answer.Answer:
    """How hot the middle of the jars gets, how long to hold, and what may survive.

    The hold counts from the moment pressure is reached. F0 is minutes at 121.11 C with z 10 C.
    The core is the point on the axis at half the grain's depth; the coldest point is another, and
    decides survival and hold. f0_at_steam_off leaves out the cooling, f0_total counts it.
    Come-up is from burner on to pressure reached. The chance of a survivor is that heat left at
    least one spore alive that could grow, in one jar, averaged over all scenarios, every spore at
    the coldest point: 1 - exp(-expected survivors). Spores of heat-loving species, which do not
    grow on a shelf, are left out. The recommended hold is the least that brings this chance to
    the target with water that fits under the rack; null if none does.

    In a load of several kinds (--also) come-up and water are those of all, the hold is that of
    the slowest kind, and the other numbers are those of the kind that fares worst; `kinds` has
    each. Bags (--bag) stand for jars without glass. Liquids (--contents) are well mixed, one
    temperature in a jar, and aim at 0.5%. Spoiled jars (--spoiled) get at least a fresh jar's hold.

    How heat moves through wet grain was never measured in a jar; the band says so. With a pinned
    transport the cycle is the reference cycle: 15 min from the start to boiling, 10 there, 5 to
    pressure, the hold, then cooling toward 25 C with a time constant of 142 min until the core is
    below 90 C; bands have no width then.
    """
    from spawnwright.actions.sterilizing.sterilize import sterilize
    from spawnwright.cli.sterilize_text import page_of, values_of

    fill_from_kit(asked)
    question = _question(asked)
    found = sterilize(question)
    values = values_of(question, found)
    if curve:
        from spawnwright.actions.sterilizing.sterilize_curve import likely_curve

        line = likely_curve(question.turned(found.slowest), found.hold_s)
        values |= {
            "time_min": line["time_s"] / 60, "steam_c": line["steam_c"], "core_c": line["core_c"],
        }  # fmt: skip
    for each in found.warnings:
        answer.note(f"Warning: {each}")
    page = page_of(answer.Answer(values), question, found, is_canner_assumed=not asked["canner"])
    if explain:
        from spawnwright.cli.explain import add_inputs

        add_inputs(page, found.inputs, found.left_if_known)
    return page


def _question(asked: dict[str, Any]) -> SterilizeQuestion:
    from spawnwright.actions.steam import outside_air
    from spawnwright.actions.sterilizing.sterilize_load import assumed_canner, usual_target
    from spawnwright.records.sterilizing import SterilizeQuestion

    load = load_from(asked)
    ambient, given = outside_air(asked["elevation"], asked["ambient"], asked["boils_at"])
    return SterilizeQuestion(
        **load,
        grain=asked["grain"],
        canner=asked["canner"] or assumed_canner(**load),
        gauge_pa=asked["gauge"],
        ambient_pa=ambient,
        is_ambient_measured=given != "elevation",
        moisture=asked["moisture"],
        grain_state=asked["grain_state"],
        start=asked["start"],
        hold_s=asked["hold"],
        burner_w=asked["burner"],
        pot_w=asked["pot"],
        hob=asked["hob"],
        room_c=asked["room"],
        air_retained=asked["air_retained"],
        spores_per_g=spores_from(asked),
        spore_d_min=None if asked["d_value"] is None else asked["d_value"] / 60,
        spore_z_c=asked["z_value"],
        target=usual_target(asked["contents"]) if asked["target"] is None else asked["target"],
        pinned=_pinned(asked),
        probe=_probed(asked),
        profile=asked["profile"],
    )


def _pinned(asked: dict[str, Any]) -> PinnedTransport | None:
    from spawnwright.errors import Contradiction
    from spawnwright.records.sterilizing import PinnedTransport

    kind = asked["transport"]
    wanted = {"conduction": ("diffusivity",), "vapor": ("pore_factor",), None: ()}[kind]
    allowed = (*wanted, "dry_conductivity") if kind == "vapor" else wanted
    for name in ("diffusivity", "pore_factor", "dry_conductivity"):
        option = "--" + name.replace("_", "-")
        if asked[name] is None and name in wanted:
            raise Contradiction(f"--transport {kind} needs {option}, a plain number.")
        if asked[name] is not None and name not in allowed:
            fits = "conduction" if name == "diffusivity" else "vapor"
            raise Contradiction(f"{option} belongs to --transport {fits}; give both or neither.")
    if kind is None:
        return None
    dry = asked["dry_conductivity"]
    return PinnedTransport(
        kind, asked["diffusivity"], asked["pore_factor"], 0.16 if dry is None else dry
    )


def _probed(asked: dict[str, Any]) -> ProbeTransport | None:
    """What the probe's file says, if one was named."""
    if asked["probe_file"] is None:
        return None
    from pathlib import Path

    from spawnwright.actions.sterilizing.probe_kept import kept_probe
    from spawnwright.errors import Contradiction

    for name in ("transport", "bag", "is_spoiled"):
        if asked[name]:
            option = {"is_spoiled": "spoiled"}.get(name, name)
            raise Contradiction(
                f"--probe was given together with --{option}: a probe run says how heat moves in "
                "fresh grain in a jar; leave one of them out."
            )
    if asked["contents"] != "grain":
        raise Contradiction(f"--probe is about grain, and the jars hold {asked['contents']}.")
    return kept_probe(Path(asked["probe_file"]), asked["grain"])
