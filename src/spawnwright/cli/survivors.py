"""Log reduction of one organism, from a logger file."""

from __future__ import annotations

from typing import Any

import click

from spawnwright.cli import answer
from spawnwright.cli.log_options import left_out_values, reads_log, say_what_was_read
from spawnwright.cli.options import Quantity


@answer.command("survivors", example='survivors docs/examples/run.csv --d "3.59 min" --z "8.2 C"')
@reads_log
@click.option(
    "--d",
    "d",
    type=Quantity("duration"),
    required=True,
    help="Time at the reference temperature that leaves a tenth alive.",
)
@click.option(
    "--z",
    type=Quantity("temperature difference"),
    required=True,
    help="Temperature difference that changes D tenfold (18 F is 10 C).",
)
def command(
    path: Any, choices: Any, reference: float, d: float, z: float, rule: Any
) -> answer.Answer:
    """By how many powers of ten a logged temperature reduced an organism with this D and z.

    log10_reduction is the lethality with the organism's own z, divided by its D at the reference
    temperature. F0 (z 10 C) must not be used for an organism with another z. `./run spores` lists
    published values of D and z.

    LOG is a logger's text file, with a header or without: times (minutes, or what the header
    names; h:mm:ss; a clock; dates) and temperatures, in columns separated by commas, semicolons
    or tabs. What was read is said on standard error. What the file does not decide is refused,
    with the option that decides it. Faults of the sensor (no reading, -127, 85 at power-on, single
    spikes) are left out: readings_left_out counts them, left_out lists them.
    """
    from spawnwright.actions.sterilizing.readings import survivors_of_log

    found = survivors_of_log(path, choices, d_min=d / 60.0, z_c=z, reference_c=reference, rule=rule)
    say_what_was_read(found.readings)
    power = found.log10_reduction
    page = answer.Answer(
        {"log10_reduction": found.log10_reduction, **left_out_values(found.readings)}
    )
    page.rows(
        ("killed", f"{power:.2f}", "powers of ten"),
        ("one is left alive of", f"{10**power:.3g}" if power < 15 else "over 10^15", "spores"),
        (
            "lethality",
            f"{found.lethality_min:.3g} min",
            f"at {found.reference_c:g} °C with z {found.z_c:g} °C; D {found.d_min:g} min",
        ),
        ("peak", f"{found.peak_c:.1f} °C", ""),
    )
    return page.text(
        "This takes the organism as dying at a steady rate in moist heat, at the point where the "
        "sensor sat. Dry grain, fat and clumps protect spores, and counts taken after real runs "
        "differ from such sums by some tenths of a power of ten."
    )
