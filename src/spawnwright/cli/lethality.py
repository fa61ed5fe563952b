"""Lethality delivered, from a logger file."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from spawnwright.cli import answer
from spawnwright.cli.log_options import left_out_values, reads_log, say_what_was_read
from spawnwright.cli.options import Quantity

if TYPE_CHECKING:
    from spawnwright.actions.sterilizing.readings import LethalityAnswer


@answer.command("lethality", example='lethality docs/examples/run.csv --z "10 C"')
@reads_log
@click.option(
    "--z",
    type=Quantity("temperature difference"),
    default="10 C",
    show_default=True,
    help="Temperature difference that changes the rate of killing tenfold (18 F is 10 C).",
)
def command(path: Any, choices: Any, reference: float, z: float, rule: Any) -> answer.Answer:
    """What a logged temperature was worth, in minutes at the reference temperature.

    The rate of killing is 10^((T - reference) / z); with 121.11 C and 10 C its sum is F0.
    f0_curve_min is the sum up to each reading, with the reference and z that are given.
    minutes_above_reference counts from where the line between two readings crosses it.

    LOG is a logger's text file, with a header or without: times (minutes, or what the header
    names; h:mm:ss; a clock; dates) and temperatures, in columns separated by commas, semicolons
    or tabs. What was read is said on standard error. What the file does not decide is refused,
    with the option that decides it. Faults of the sensor (no reading, -127, 85 at power-on, single
    spikes) are left out: readings_left_out counts them, left_out lists them.
    """
    from spawnwright.actions.sterilizing.readings import lethality_of_log

    found = lethality_of_log(path, choices, reference_c=reference, z_c=z, rule=rule)
    say_what_was_read(found.readings)
    page = answer.Answer(
        {
            "lethality_min": found.lethality_min,
            "peak_c": found.peak_c,
            "minutes_above_reference": found.minutes_above,
            "f0_curve_min": found.curve_min,
            **left_out_values(found.readings),
        }
    )
    return _text(page, found)


def _text(page: answer.Answer, found: LethalityAnswer) -> answer.Answer:
    is_f0 = abs(found.reference_c - 121.11) < 0.005 and abs(found.z_c - 10.0) < 0.005
    share = found.cooling_min / found.lethality_min if found.lethality_min else 0.0
    page.rows(
        (
            "F0" if is_f0 else "lethality",
            _minutes(found.lethality_min),
            f"at {found.reference_c:g} °C, z {found.z_c:g} °C, rule {found.rule}",
        ),
        (
            "of it in cooling",
            _minutes(found.cooling_min),
            f"{share:.0%}, after the last reading within 1 °C of the peak",
        ),
        ("peak", f"{found.peak_c:.1f} °C", ""),
        (f"at or above {found.reference_c:g} °C", _minutes(found.minutes_above), ""),
    )
    if abs(found.other_rule_min - found.lethality_min) > 0.02 * found.lethality_min:
        other = "trapezoid" if found.rule == "exact" else "exact"
        page.text(
            f"The readings are far apart: by the rule {other} it would be "
            f"{_minutes(found.other_rule_min)}. The truth is known no better than that."
        )
    page.table(
        ["spore", "D at 121.1 °C", "z", "powers of ten killed", "source"],
        [
            [
                each.spore.names[0] if each.spore.names else each.spore.key,
                f"{each.spore.d_121_min:.2g} min",
                f"{each.spore.z_c:.1f} °C",
                f"{each.log10_reduction:.1f}" if each.log10_reduction < 100 else "over 100",
                each.spore.d_121_min.source,
            ]
            for each in found.reductions
        ],
        title="What this did to spores whose resistance was published",
    )
    return page.text(
        "This holds for the point where the sensor sat, in moist heat. It cannot see a colder "
        "point, trapped air, a dry pocket, or what gets in while the jar cools: a good number is "
        "no proof that a jar is clean."
    )


def _minutes(minutes: float) -> str:
    return f"{minutes:.1f} min" if minutes >= 1 else f"{minutes:.2g} min"
