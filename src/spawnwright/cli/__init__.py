"""The command line: parse, call one action, show.

A command lives in the module of its name (`growth-rate` in `growth_rate.py`) and is loaded only
when it is called or its help is asked for; `commands.py` lists them with their one-line help.
"""

from __future__ import annotations

import sys
from importlib import import_module

import click

from spawnwright import __version__
from spawnwright.cli.commands import COMMANDS
from spawnwright.cli.streams import Unwritable, close_quietly, take_any_text
from spawnwright.errors import SpawnwrightError


class Commands(click.Group):
    """The commands by name, each imported when it is needed."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """All names, in the order of the job."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, name: str) -> click.Command | None:
        """The command of a name, or none."""
        if name not in COMMANDS:
            return None
        module = import_module(f"spawnwright.cli.{name.replace('-', '_')}")
        command: click.Command = module.command
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """As click does, but offering the nearest names for an unknown one."""
        if args and not args[0].startswith("-") and args[0] not in COMMANDS:
            from difflib import get_close_matches

            near = get_close_matches(args[0], COMMANDS, 2)
            offer = f" Did you mean {' or '.join(near)}?" if near else ""
            raise click.UsageError(f"There is no command {args[0]!r}.{offer}")
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands from their one-line helps, without importing any of them."""
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


@click.command(cls=Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="spawnwright")
def spawnwright() -> None:
    """Plan, time and record home-made grain spawn.

    Each command takes --json for one machine-readable object, and --help for an example.
    """


def main(arguments: list[str] | None = None) -> None:
    """Run the command line and leave with its exit code.

    0: there is an answer. 1: a wish that cannot be met, or a problem that was found.
    2: input that cannot be used; one sentence on standard error, nothing written.
    70: a bug in the program, with its traceback. 130: stopped from the keyboard.
    """
    take_any_text()
    try:
        sys.exit(_run(arguments))
    except BrokenPipeError:
        close_quietly()
        sys.exit(0)
    except Unwritable as problem:
        close_quietly()
        _complain(str(problem))
        sys.exit(2)


def _run(arguments: list[str] | None) -> int:
    try:
        given = sys.argv[1:] if arguments is None else arguments
        # Not spawnwright.main(), which turns a closed pipe into exit code 1.
        with spawnwright.make_context("./run", given or ["--help"]) as context:
            code = spawnwright.invoke(context)
    except click.exceptions.Exit as end:
        code = end.exit_code
    except click.ClickException as problem:
        _complain(problem.format_message(), _hint(problem))
        code = 2
    except SpawnwrightError as problem:
        _complain(str(problem))
        code = 2
    except (click.Abort, KeyboardInterrupt):
        _complain("Stopped.")
        code = 130
    except (BrokenPipeError, Unwritable):
        raise
    except Exception:
        import traceback

        _complain("This is a bug in the program, not a mistake of yours; its trace:")
        traceback.print_exc()
        code = 70
    return code or 0


def _hint(problem: click.ClickException) -> str:
    """Where help is, for a command that was called in a way it does not know."""
    context = getattr(problem, "ctx", None)
    about_values = str(problem.message).startswith("--")
    return "" if context is None or about_values else f"See {context.command_path} --help."


def _complain(sentence: str, hint: str = "") -> None:
    sentence = " ".join(sentence.split())
    if len(sentence) >= 560:
        sentence = sentence[:555] + " ..."
    print(f"spawnwright: {sentence} {hint}".rstrip(), file=sys.stderr)
