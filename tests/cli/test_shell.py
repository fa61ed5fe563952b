"""The shell of the command line: what holds for every command, whatever it answers."""

from __future__ import annotations

import json
import os
import shlex
import signal
import subprocess
import sys
import time
from pathlib import Path

import click
import pytest

from spawnwright import cli
from spawnwright.cli import answer, streams
from spawnwright.cli.commands import COMMANDS
from spawnwright.errors import Unusable
from spawnwright.records.band import Band

ROOT = Path(__file__).parents[2]
COLOR = ("NO_COLOR", "FORCE_COLOR", "TTY_COMPATIBLE", "TTY_INTERACTIVE", "TERM")
HEAVY = ("numpy", "scipy", "sqlalchemy", "pint", "rich", "reportlab", "icalendar", "platformdirs")


def main(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    """Run the command line in this process: exit code, standard output, standard error."""
    with pytest.raises(SystemExit) as end:
        cli.main(list(arguments))
    written = capsys.readouterr()
    return int(end.value.code or 0), written.out, written.err


def start(*arguments: str, env: dict[str, str] | None = None, **options: object):
    """Start the command line as a process of its own; in text, unless `encoding` is given."""
    environment = {name: value for name, value in os.environ.items() if name not in COLOR}
    environment |= {"PYTHONPATH": str(ROOT / "src")} | (env or {})
    pipes = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "encoding": "utf-8"}
    return subprocess.Popen(
        [sys.executable, "-m", "spawnwright", *arguments], env=environment, **(pipes | options)
    )


@pytest.fixture
def made_up(monkeypatch):
    """Put a command of the test's own among the others: `made_up(function)`."""

    def put(function):
        made = answer.command("grains", example="grains")(function)
        monkeypatch.setattr(cli.Commands, "get_command", lambda *_: made)

    monkeypatch.setitem(answer.EXAMPLES, "grains", "grains")
    return put


@pytest.fixture
def in_the_project(monkeypatch, tmp_path):
    """A folder in which paths into the project lead there, and which may be written to."""
    for name in ("docs", "src"):
        (tmp_path / name).symlink_to(ROOT / name)
    monkeypatch.chdir(tmp_path)


@pytest.mark.usefixtures("in_the_project")
@pytest.mark.parametrize("name", COMMANDS)
def test_the_example_of_every_command_runs(name, capsys):
    """What stands in the help is what somebody types first."""
    cli.spawnwright.get_command(None, name)

    example = shlex.split(answer.EXAMPLES[name])
    code, out, _ = main(capsys, *example)

    assert example[0] == name
    assert code == 0
    assert out.strip()


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_help_with_its_example(name, capsys):
    """Help says what the command answers, documents each option and ends with an example."""
    code, out, _ = main(capsys, name, "--help")

    command = cli.spawnwright.get_command(None, name)
    assert code == 0
    assert f"./run {answer.EXAMPLES[name]}\n" in out
    assert command.help
    assert all(option.help for option in command.params if isinstance(option, click.Option))


@pytest.mark.usefixtures("in_the_project")
@pytest.mark.parametrize("name", COMMANDS)
def test_json_may_stand_anywhere_after_the_command(name, capsys):
    """One object on standard output and nothing else, wherever `--json` stands."""
    cli.spawnwright.get_command(None, name)
    first, *rest = shlex.split(answer.EXAMPLES[name])

    before = main(capsys, first, "--json", *rest)[1]
    after = main(capsys, first, *rest, "--json")[1]

    assert isinstance(json.loads(before), dict)
    assert json.loads(after).keys() == json.loads(before).keys()


def test_help_loads_no_heavy_package():
    """Help of any command answers at once; numbers, papers and databases come when needed."""
    program = f"""
import sys
from spawnwright.cli import main
from spawnwright.cli.commands import COMMANDS
for arguments in [["--help"], *([name, "--help"] for name in COMMANDS)]:
    try:
        main(arguments)
    except SystemExit as end:
        assert not end.code, arguments
    heavy = [name for name in {HEAVY!r} if name in sys.modules]
    assert not heavy, (arguments, heavy)
"""
    done = subprocess.run(
        [sys.executable, "-c", program],
        env=os.environ | {"PYTHONPATH": str(ROOT / "src")},
        capture_output=True,
        text=True,
    )

    assert done.returncode == 0, done.stderr


def test_no_arguments_at_all_show_the_help(capsys):
    """Somebody who types the bare name wants to know what there is."""
    code, out, err = main(capsys)

    assert (code, err) == (0, "")
    assert all(name in out for name in COMMANDS)


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["stem"], "There is no command 'stem'. Did you mean steam?"),
        (["zzz"], "There is no command 'zzz'."),
        (["grains", "--jason"], "No such option '--jason'. Did you mean '--json'?"),
        (["--jason"], "No such option '--jason'"),
        (["grains", "rye", "wheat"], "Got unexpected extra argument"),
        (["grains", "ray"], "Did you mean rye"),
    ],
)
def test_what_it_does_not_know_is_said_in_one_sentence(arguments, says, capsys):
    """Exit code 2, nothing on standard output, and the nearest name."""
    code, out, err = main(capsys, *arguments)

    assert (code, out) == (2, "")
    assert says in err
    assert err.count("\n") == 1
    assert len(err) < 600


def test_a_deliberate_error_is_shown_short_and_on_one_line(made_up, capsys):
    """However long a text got, the sentence fits a terminal."""

    def command():
        """Fail."""
        raise Unusable("This\n  goes on. " * 100)

    made_up(command)
    code, out, err = main(capsys, "grains")

    assert (code, out) == (2, "")
    assert err.count("\n") == 1
    assert len(err) < 600


def test_a_bug_is_shown_as_one_with_its_trace(made_up, capsys):
    """Nothing is swallowed, and nobody is told that it was their input."""

    def command():
        """Fail."""
        raise KeyError("deep inside")

    made_up(command)
    code, out, err = main(capsys, "grains")

    assert (code, out) == (70, "")
    assert err.startswith("spawnwright: This is a bug in the program")
    assert "KeyError: 'deep inside'" in err


def test_an_exit_code_comes_with_its_answer(made_up, capsys):
    """A wish that cannot be met is still answered."""

    def command():
        """Answer no."""
        return answer.Answer({"feasible": False}, exit_code=1).text("No.")

    made_up(command)

    assert main(capsys, "grains")[:2] == (1, "No.\n")
    assert main(capsys, "grains", "--json")[:2] == (1, '{"feasible": false}\n')


def test_json_has_bands_null_for_what_is_not_finite_and_full_digits(made_up, capsys):
    """Standard JSON, which knows no infinity."""

    def command():
        """Answer."""
        return answer.Answer({"band": Band(0.1, 1 / 3, float("inf")), "none": float("nan")})

    made_up(command)
    _, out, _ = main(capsys, "grains", "--json")

    assert json.loads(out) == {
        "band": {"low": 0.1, "likely": 1 / 3, "high": None},
        "none": None,
    }


def test_an_answer_that_cannot_be_json_leaves_no_half_object(made_up, capsys):
    """The object is made whole before the first character is written."""

    def command():
        """Answer with something that JSON has no word for."""
        return answer.Answer({"fine": 1, "not": object()})

    made_up(command)
    code, out, _ = main(capsys, "grains", "--json")

    assert (code, out) == (70, "")


def test_a_reader_that_leaves_early_is_no_error():
    """`./run sources --json | head -c 1` ends quietly."""
    reading, writing = os.pipe()
    os.close(reading)
    process = start("sources", "--json", stdout=writing)
    os.close(writing)

    _, err = process.communicate(timeout=60)

    assert (process.returncode, err) == (0, "")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="there is no /dev/full here")
def test_an_answer_that_cannot_be_written_is_said_so():
    """A full disk is no answer."""
    with Path("/dev/full").open("w") as full:
        process = start("grains", stdout=full)
        _, err = process.communicate(timeout=60)

    assert process.returncode == 2
    assert err == "spawnwright: The answer could not be written: No space left on device.\n"


def test_stopping_from_the_keyboard_is_quiet(tmp_path):
    """Ctrl-C while it waits for a file that never comes."""
    waiting = tmp_path / "never.toml"
    os.mkfifo(waiting)
    process = start("grains", str(waiting))
    time.sleep(1.0)
    process.send_signal(signal.SIGINT)

    out, err = process.communicate(timeout=60)

    assert (process.returncode, out, err) == (130, "", "spawnwright: Stopped.\n")


@pytest.mark.parametrize("alphabet", ["ascii", "latin-1", "cp1252", "utf-8"])
@pytest.mark.parametrize("options", [[], ["--json"]])
def test_any_alphabet_will_do(alphabet, options):
    """°, ² and names with accents come out, or are spelled out, and never fail."""
    given = {"env": {"PYTHONIOENCODING": alphabet}, "encoding": alphabet}
    process = start("sources", "a", *options, **given)
    out, err = process.communicate(timeout=60)

    assert (process.returncode, err) == (0, "")
    if options:
        assert json.loads(out)["sources"]


@pytest.mark.parametrize("locale", [{"LANG": "C"}, {"LC_ALL": "C"}, {"LC_ALL": "POSIX"}])
def test_a_bare_locale_will_do(locale):
    """As in a cron job or a container."""
    process = start("grains", "rye", env=locale)
    out, err = process.communicate(timeout=60)

    assert (process.returncode, err) == (0, "")
    assert "kg/m³" in out


def test_what_an_alphabet_lacks_is_spelled_out():
    """Readable, not a row of question marks."""
    streams.take_any_text()

    assert "121 °C ≥ 15 psi, ½ m²".encode("ascii", "spawnwright") == (
        b"121 deg C >= 15 psi, 1/2 m2"
    )
    assert "Soylu, Éşiyök 蘑".encode("ascii", "spawnwright") == b"Soylu, Esiyok ?"


def on_a_terminal(*arguments: str, **environment: str) -> str:
    """What the program writes when standard output is a terminal."""
    import pty

    ours, theirs = pty.openpty()
    process = start(*arguments, stdout=theirs, env=environment)
    os.close(theirs)
    written = b""
    while True:
        try:
            more = os.read(ours, 65536)
        except OSError:  # how Linux says that the other side is closed
            break
        if not more:
            break
        written += more
    os.close(ours)
    _, err = process.communicate(timeout=60)
    assert (process.returncode, err) == (0, "")
    return written.decode()


@pytest.mark.parametrize(
    ("environment", "colored"),
    [
        ({"TERM": "xterm-256color"}, True),
        ({"TERM": "xterm-256color", "NO_COLOR": "1"}, False),
        ({"TERM": "dumb"}, False),
    ],
)
def test_colors_only_where_they_are_wanted(environment, colored):
    """NO_COLOR and a dumb terminal get the same words without escape codes."""
    shown = on_a_terminal("jars", "quart", COLUMNS="100", **environment)

    assert ("\x1b[" in shown) is colored
    assert "inner radius" in shown


def test_a_wide_table_is_wrapped_and_keeps_its_columns(made_up, capsys):
    """Words wrap inside their own column; numbers stay whole."""

    def command():
        """Answer."""
        return answer.Answer({}).table(
            ["number", "where", "used in"], [["1.5 kg", "word " * 40, "there " * 20]]
        )

    made_up(command)
    lines = main(capsys, "grains")[1].splitlines()

    assert max(len(line) for line in lines) <= answer.WIDEST_LINE
    assert sum(line.count("word") for line in lines) == 40
    assert len({line.index("word") for line in lines if "word" in line}) == 1
