"""How many jars to make so that enough are good."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from spawnwright.cli import answer
from spawnwright.cli.options import Share

if TYPE_CHECKING:
    from spawnwright.actions.growing.spares import Step


@answer.command("spares", example="spares --good 10 --survival 90% --service 95%")
@click.option("--good", type=click.IntRange(0, 100_000), required=True, help="Good jars wanted.")
@click.option(
    "--survival", type=Share(), required=True, help="Chance that a jar of a sound run is good."
)
@click.option("--service", type=Share(), required=True, help="How sure you want to be.")
@click.option(
    "--runs",
    type=click.IntRange(1, 1000),
    default=1,
    show_default=True,
    help="Sterilizer runs that share the jars evenly.",
)
@click.option("--run-loss", type=Share(), help="Chance that a run goes wrong. Default: never.")
@click.option(
    "--run-kill",
    type=Share(),
    help="Share of what would be good that a bad run spoils. Default: all of it.",
)
def command(
    good: int,
    survival: float,
    service: float,
    runs: int,
    run_loss: float | None,
    run_kill: float | None,
) -> answer.Answer:
    """How many jars to make so that enough are good.

    Exact: binomial, or a mixture of sound and bad runs. If no number does, jars is null, service
    is the chance that ever more jars come near to (that not every run is bad), and the exit code
    is 1. Losses that jars share in other ways, such as one bad syringe, are not counted.
    """  # fmt: skip
    from spawnwright.actions.growing.spares import count_spares

    found = count_spares(good, survival, service, runs, run_loss, run_kill)
    page = answer.Answer(
        {
            "jars": found.jars,
            "service": found.service,
            "nearby": [_counts(each) for each in found.nearby],
            "by_runs": [_counts(each) for each in found.by_runs],
            "note": found.note,
        },
        exit_code=0 if found.jars is not None else 1,
    )
    in_runs = "in one run" if runs == 1 else f"in {runs} runs"
    if found.jars is not None:
        page.rows(
            ("jars to make", f"{found.jars}", in_runs),
            ("chance of enough", f"{found.service:.1%}", f"at least {good} good"),
        )
        page.table(
            ["jars", "chance of enough"],
            [[str(each.jars), f"{each.service:.1%}"] for each in found.nearby],
        )
    if found.by_runs:
        page.table(
            ["runs", "jars needed", "chance of enough"],
            [[str(each.runs), each.jars_said, each.service_said] for each in found.by_runs],
        )
    return page.text(found.note) if found.note else page


def _counts(step: Step) -> dict[str, float | None]:
    return {"jars": step.jars, "runs": step.runs, "service": step.service}
