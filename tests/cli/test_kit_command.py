"""`kit`, and what `sterilize` and `hydrate` take from it: said, never against what was given."""

from __future__ import annotations

import fcntl
import json
import os
import pty
import select
import subprocess
import sys
import termios
import time

import pytest

from spawnwright import cli
from spawnwright.actions.own_kit.kit import change_kit

FULL = ("sterilize", "--jar", "quart", "--fill", "70%", "--jars", "7", "--grain", "rye",
        "--grain-state", "pours", "--start", "20 C", "--gauge", "15 psi", "--elevation", "0 m",
        "--canner", "two-layer", "--burner", "2 kW", "--hob", "gas", "--transport", "conduction",
        "--diffusivity", "1.6e-7", "--json")  # fmt: skip
SHORT = ("sterilize", "--jars", "7", "--grain", "rye", "--start", "20 C", "--gauge", "15 psi",
         "--transport", "conduction", "--diffusivity", "1.6e-7", "--json")  # fmt: skip
KIT = {"hob": "gas", "elevation": "450 m", "jar": "pint", "fill": "60%", "canner": "one-layer"}


def main(capsys, *arguments: str) -> tuple[int, str, str]:
    """Run the command line in this process: exit code, standard output, standard error."""
    with pytest.raises(SystemExit) as end:
        cli.main(list(arguments))
    written = capsys.readouterr()
    return int(end.value.code or 0), written.out, written.err


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    """A folder of one's own, empty."""
    monkeypatch.setenv("SPAWNWRIGHT_HOME", str(tmp_path))
    return tmp_path


def test_measurements_are_kept_and_their_worth_is_said(capsys):
    """The burner alone takes most of the width out of the come-up."""
    code, out, err = main(
        capsys, "kit", "--boil-two-liters", "9 min", "--from", "15 C", "--lid", "on", "--json"
    )

    found = json.loads(out)
    assert (code, err) == (0, "")
    assert found["kit"]["boil_two_liters"] == "9 min"
    before, after = (found[name]["come_up_min"] for name in ("bands_before", "bands_after"))
    width = [each["high"] - each["low"] for each in (before, after)]
    assert found["narrower_by"]["come_up_min"] == pytest.approx(1 - width[1] / width[0])
    assert width[1] < width[0] / 2
    power = found["heat_into_pot_w"]
    assert power["low"] < power["likely"] < power["high"]
    code, out, _ = main(capsys, "kit", "--no-ask")
    assert "9 min" in out
    assert "narrower by" in out


def test_a_line_can_be_forgotten(capsys):
    """It is asked again then."""
    change_kit({"elevation": "450 m", "name": "Ada"})
    code, out, _ = main(capsys, "kit", "--forget", "elevation", "--json")

    assert code == 0
    assert "elevation" not in json.loads(out)["kit"]
    assert "elevation" in json.loads(out)["not_measured"]


def test_a_bad_measurement_is_one_sentence_and_nothing_is_kept(capsys, home):
    """Exit code 2."""
    code, out, err = main(capsys, "kit", "--elevation", "450", "--hob", "gas")

    assert (code, out) == (2, "")
    assert "has no unit" in err
    assert not list(home.iterdir())


def test_a_kit_with_which_no_run_can_be_made_is_still_shown_and_mended(capsys):
    """15 psi was kept before the rating of 10 psi: that is said, and the kit stays in reach."""
    main(capsys, "kit", "--gauge", "15 psi", "--canner-mass", "5.3 kg")

    code, out, err = main(capsys, "kit", "--rated-gauge", "10 psi")
    assert (code, err) == (0, "")
    assert "cannot be worked out with this kit: 15 psi is above the rated pressure" in out

    found = json.loads(main(capsys, "kit", "--gauge", "10 psi", "--json")[1])
    assert found["usual_run_cannot_be"] is None
    assert found["usual_run"]["canner"] == "my-canner"


@pytest.mark.parametrize(
    ("option", "text", "says"),
    [
        ("--canner-mass", "500 kg", "The canner's mass is 500 kg"),
        ("--canner-height", "29.5 m", "The canner's inside height is 2950 cm"),
        ("--canner-diameter", "30.4 mm", "The canner's inner diameter is 3.04 cm"),
        ("--rack-height", "25 cm", "The height of the rack is 25 cm"),
    ],
)
def test_a_canner_that_no_stove_carries_is_not_kept(capsys, home, option, text, says):
    """A unit mistyped would make every later run of the kit impossible."""
    code, out, err = main(capsys, "kit", option, text)

    assert (code, out) == (2, "")
    assert says in err
    assert list(home.iterdir()) == []


def test_a_call_that_gives_all_options_is_not_changed_by_a_kit(capsys):
    """Nothing is taken, nothing is said, not one digit moves."""
    without = main(capsys, *FULL)
    change_kit({**KIT, "boil_two_liters": "5 min", "boiled_from": "10 C"})

    assert main(capsys, *FULL) == without


def test_what_is_left_out_comes_from_the_kit_and_is_said(capsys):
    """On standard error; the same as if it had been given."""
    assert main(capsys, *SHORT)[0] == 2
    change_kit(KIT)

    code, out, err = main(capsys, *SHORT)

    given = main(capsys, *SHORT, "--jar", "pint", "--fill", "60%", "--elevation", "450 m",
                 "--canner", "one-layer", "--hob", "gas")  # fmt: skip
    assert code == 0
    assert json.loads(out) == json.loads(given[1])
    assert "From your kit: jar pint, fill 60%, elevation 450 m, canner one-layer, hob gas." in err
    assert "kit" not in given[2]


def test_another_kit_can_be_named_or_none(capsys, tmp_path):
    """None is as if there were no file; one that is not there is refused."""
    change_kit(KIT)
    other = tmp_path / "other.toml"
    other.write_text('jar = "quart"\nfill = "50%"\nelevation = "1000 m"\n', encoding="utf-8")

    assert main(capsys, *SHORT, "--kit", "none")[0] == 2
    assert "jar quart, fill 50%, elevation 1000 m" in main(capsys, *SHORT, "--kit", str(other))[2]
    assert main(capsys, *SHORT, "--kit", str(tmp_path / "no.toml"))[0] == 2


def test_a_liquid_does_not_take_the_fill_of_grain(capsys):
    """Jars of liquid are filled less; how far is said anew."""
    change_kit(KIT)

    code, _, err = main(capsys, "sterilize", "--contents", "agar", "--jars", "4", "--start",
                        "20 C", "--gauge", "15 psi", "--json")  # fmt: skip

    assert code == 2
    assert "--fill" in err


def test_hydrate_takes_jar_and_fill_from_the_kit(capsys):
    """And needs a jar where there is none."""
    asked = ("hydrate", "--grain", "rye", "--jars", "10", "--json")
    code, _, err = main(capsys, *asked)
    assert code == 2
    assert "--jar" in err
    change_kit(KIT)

    code, out, err = main(capsys, *asked)

    given = main(capsys, *asked, "--jar", "pint", "--fill", "60%")[1]
    assert json.loads(out)["dry_kg"] == json.loads(given)["dry_kg"]
    assert "From your kit: jar pint, fill 60%." in err


def answered(home, typed: list[tuple[str, str]]) -> tuple[int, str]:
    """`kit` at a terminal, each line typed once its question has been seen."""
    parent, child = pty.openpty()
    environment = os.environ | {"SPAWNWRIGHT_HOME": str(home), "PYTHONPATH": "src", "TERM": "dumb"}
    process = subprocess.Popen(
        [sys.executable, "-m", "spawnwright", "kit"], stdin=child, stdout=subprocess.DEVNULL,
        stderr=child, env=environment, start_new_session=True,
        preexec_fn=lambda: fcntl.ioctl(0, termios.TIOCSCTTY, 0),  # so that Ctrl-C arrives
    )  # fmt: skip
    os.close(child)
    shown = ""
    for wanted, text in typed:
        shown = seen(parent, shown, wanted)
        if not text.isprintable() and not text.endswith("\n"):
            time.sleep(1.0)  # until it waits for a line, where a signal is not lost
        os.write(parent, text.encode())
        shown = ""
    deadline = time.monotonic() + 60
    while process.poll() is None and time.monotonic() < deadline:
        shown += read(parent)
    os.close(parent)
    return process.wait(10), shown


def seen(parent: int, shown: str, wanted: str) -> str:
    """Everything shown until `wanted` is."""
    deadline = time.monotonic() + 60
    while wanted not in shown:
        assert time.monotonic() < deadline, shown
        shown += read(parent)
    return shown


def read(parent: int) -> str:
    if not select.select([parent], [], [], 0.1)[0]:
        return ""
    try:
        return os.read(parent, 4096).decode(errors="replace")
    except OSError:  # the other end has closed
        time.sleep(0.05)
        return ""


def test_at_a_terminal_it_asks_and_keeps_each_answer_at_once(home):
    """A wrong one is asked again; Ctrl-C loses nothing; what is known is not asked again."""
    code, shown = answered(
        home,
        [
            ("such as Ada", "Ada\n"),
            ("metric or us", "\n"),
            ("such as Europe/Lisbon", "Mars/Olympus\n"),
            ("no time zone", "Europe/Lisbon\n"),
            ("such as 450 m", "\x03"),
        ],
    )

    text = (home / "kit.toml").read_text(encoding="utf-8")
    assert code == 0
    assert text == 'name = "Ada"\ntime_zone = "Europe/Lisbon"\n'
    assert "goes on from here" in shown

    code, shown = answered(home, [("metric or us", "us\n"), ("such as 450 m", "\x03")])
    assert code == 0
    assert 'units = "us"' in (home / "kit.toml").read_text(encoding="utf-8")
