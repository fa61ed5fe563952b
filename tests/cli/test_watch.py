"""`watch`: events from options and keys, the state as JSON, a terminal with and without keys."""

from __future__ import annotations

import json
import os
import pty
import select
import subprocess
import sys
import time
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from spawnwright.actions.sterilizing.watch import instant_of
from spawnwright.cli import main
from spawnwright.errors import Unusable

SRC = str(Path(__file__).parents[2] / "src")
SET_UP = ("--jar", "quart", "--gauge", "15 psi", "--elevation", "450 m", "--hold", "90 min")
NOW = ("--now", "2027-01-03T20:30")


@pytest.fixture
def run(capsys, tmp_path):
    """Runs `watch` on one file; gives exit code, output, errors."""

    def runner(*arguments: str) -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as left:
            main(["watch", str(tmp_path / "run.jsonl"), *arguments])
        said = capsys.readouterr()
        return int(left.value.code or 0), said.out, said.err

    return runner


def reached(run, clock="19:42"):
    return run(*SET_UP, "--event", "pressure reached", "--at", clock, *NOW, "--json")


def test_the_state_as_json(run):
    """Forty-eight minutes after 19:42: forty-two are left, and all bands are there."""
    code, out, _ = reached(run)
    found = json.loads(out)

    assert code == 0
    assert found["stage"] == "holding"
    assert found["hold_left_min"] == pytest.approx(42)
    assert found["restarted_hold_left_min"] == pytest.approx(42)
    for key in ("f0_min", "core_c", "vessel_c", "to_target_min", "f0_with_cooling_min"):
        assert found[key]["low"] is not None
        assert found[key]["low"] < found[key]["likely"]
    assert datetime.fromisoformat(found["hold_ends_at"]).utcoffset() is not None


def test_what_is_set_changes_the_state(run, tmp_path):
    """Hold and target each move their own answer."""
    before = json.loads(reached(run)[1])
    (tmp_path / "run.jsonl").unlink()
    more = ("--hold", "120 min", "--target", "30 min", "--event", "pressure reached")
    after = json.loads(run(*SET_UP[:-2], *more, "--at", "19:42", *NOW, "--json")[1])

    assert after["hold_left_min"] == pytest.approx(before["hold_left_min"] + 30)
    assert after["to_target_min"]["likely"] > before["to_target_min"]["likely"]
    assert after["f0_with_cooling_min"]["likely"] > before["f0_with_cooling_min"]["likely"]


def test_a_later_command_goes_on_with_the_file(run):
    """Another process, another event; the text shows both clocks and the caution."""
    reached(run)
    run("--event", "pressure lost", "--reading", "8 psi", "--at", "20:00", *NOW, "--json")
    code, out, _ = run("--event", "back at pressure", "--at", "20:10", *NOW)

    assert code == 0
    assert "hold 52 min left" in out.replace("\n", " ")
    assert "70 min left" in out
    assert "the cautious choice" in out.replace("\n", " ")
    assert "Never leave a canner" in out


REFUSED = {
    "back before lost": (("--event", "back at pressure"), "'pressure lost' first"),
    "in the future": (("--event", "heat off", "--at", "21:30"), "in the future"),
    "back in time": (("--event", "heat off", "--at", "19:00"), "cannot go back"),
    "no event": (("--event", "whistle"), "There is no event 'whistle'"),
    "no time": (("--event", "heat off", "--at", "soon"), "'soon' is no time"),
    "time without event": (("--at", "20:00"), "belong to --event"),
    "bare reading": (("--event", "pressure lost", "--reading", "8"), "psi"),
    "new set-up": (("--jar", "pint"), "leave --jar out"),
}


@pytest.mark.parametrize(("options", "why"), REFUSED.values(), ids=REFUSED.keys())
def test_nonsense_is_refused(run, tmp_path, options, why):
    """Exit code 2, one sentence, the file as it was."""
    reached(run)
    before = (tmp_path / "run.jsonl").read_bytes()
    code, out, err = run(*options, *NOW)

    assert code == 2
    assert out == ""
    assert why in err
    assert (tmp_path / "run.jsonl").read_bytes() == before


@pytest.mark.parametrize("missing", range(0, 8, 2))
def test_a_new_run_says_what_it_needs(run, tmp_path, missing):
    """Without one of the four nothing begins."""
    code, _, err = run(*SET_UP[:missing], *SET_UP[missing + 2 :])

    assert code == 2
    assert "--plan" in err
    assert list(tmp_path.iterdir()) == []


PLAN = {
    "sterilizer_runs": [{"jars": 7, "hold_min": 100.0}],
    "steps": [
        {"kind": "soak", "run": None, "soak": 1, "at": "2027-01-02T20:00:00+00:00",
         "until": "2027-01-03T09:00:00+00:00", "amounts": {}},
        {"kind": "simmer", "run": None, "soak": 1, "at": "2027-01-03T09:00:00+00:00",
         "until": "2027-01-03T10:00:00+00:00", "amounts": {"simmer_min": 15.0}},
        {"kind": "hold", "run": 1, "soak": 1, "at": "2027-01-03T13:00:00+00:00",
         "until": "2027-01-03T14:40:00+00:00",
         "amounts": {"hold_min": 100.0, "gauge_kpa": 103.4}},
    ],
}  # fmt: skip


@pytest.mark.parametrize(
    ("options", "why"),
    [
        (("--event", "opened"), "cannot follow"),
        (("--event", "heat on", "--at", "25:61"), "is no time"),
        (("--event", "presure"), "There is no event"),
        (("--at", "19:42"), "belong to --event"),
        (("--burner", "500 W", "--event", "heat on"), "stronger burner"),
    ],
)
def test_a_first_command_that_is_refused_leaves_no_file(run, tmp_path, options, why):
    """Nothing is written, so the same command can be mended and given again."""
    code, out, err = run(*SET_UP, *options, *NOW)

    assert (code, out) == (2, "")
    assert why in err
    assert "A new run" not in err
    assert list(tmp_path.iterdir()) == []


def test_a_present_before_the_last_event_is_refused(run):
    """Or a run would have been at pressure for minus three million minutes."""
    reached(run)

    code, out, err = run("--once", "--now", "2020-11-25T19:00")

    assert (code, out) == (2, "")
    assert "'pressure reached' was noted at 2027-01-03 19:42" in err


def test_a_run_begins_from_a_plan(run, tmp_path):
    """Hold, jars, pressure and the steps before come from it; the jar from the person."""
    plan = tmp_path / "plan.json"
    plan.write_text(json.dumps(PLAN))
    begun = ("--plan", str(plan), "--jar", "quart", "--elevation", "450 m")
    _, out, _ = run(*begun, "--event", "soak begun", "--at", "20:00", *NOW, "--json")
    found = json.loads(out)

    assert found["hold_min"] == 100
    chain = {each["name"]: each for each in found["chain"]}
    soak = datetime.fromisoformat(chain["soak"]["ends_at"])
    assert soak - datetime.fromisoformat(chain["soak"]["begins_at"]) == timedelta(hours=13)
    simmer = datetime.fromisoformat(chain["simmer"]["ends_at"])
    assert simmer - soak == timedelta(minutes=15)


def test_a_plan_that_is_none_is_refused(run, tmp_path):
    """Another JSON, or a run that it does not have."""
    plan = tmp_path / "plan.json"
    plan.write_text("[]")
    assert "is not what" in run("--plan", str(plan), *SET_UP)[2]
    plan.write_text(json.dumps(PLAN))
    assert "has 1 sterilizer runs" in run("--plan", str(plan), "--run", "2", *SET_UP)[2]


@pytest.fixture
def berlin(monkeypatch):
    """A computer in Berlin."""
    monkeypatch.setenv("TZ", "Europe/Berlin")
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


def test_clock_times_in_the_night_when_clocks_go_back(berlin):
    """2:30 happens twice: by what was noted before, or by what is still ahead, or by offset."""
    now = datetime.fromisoformat("2027-10-31T02:50:00+01:00")
    after = datetime.fromisoformat("2027-10-31T02:40:00+02:00")

    assert instant_of("02:30", now, after) == datetime.fromisoformat("2027-10-31T02:30+01:00")
    before = datetime.fromisoformat("2027-10-31T02:20:00+01:00")
    assert instant_of("02:30", before) == datetime.fromisoformat("2027-10-31T02:30+02:00")
    with pytest.raises(Unusable, match="twice that night"):
        instant_of("02:30", now)
    exact = datetime.fromisoformat("2027-10-31T02:30+02:00")
    assert instant_of("2027-10-31T02:30+02:00", now) == exact


def test_clock_times_that_the_spring_left_out(berlin):
    """On 2027-03-28 there is no 2:30 in Berlin; midnight is crossed by going back to yesterday."""
    now = datetime.fromisoformat("2027-03-28T04:00:00+02:00")

    with pytest.raises(Unusable, match="left out"):
        instant_of("2027-03-28T02:30", now)
    assert instant_of("23:50", now) == datetime.fromisoformat("2027-03-27T23:50+01:00")


def _on_terminal(path, keys: list[tuple[str, str]], with_keys: bool = True) -> str:
    """What a terminal shows; each key is typed once the text before it has been seen."""
    mine, theirs = pty.openpty()
    process = subprocess.Popen(
        [sys.executable, "-m", "spawnwright", "watch", str(path)],
        stdin=theirs if with_keys else subprocess.DEVNULL, stdout=theirs, stderr=theirs,
        env={**os.environ, "TERM": "xterm", "COLUMNS": "200", "PYTHONPATH": SRC},
    )  # fmt: skip
    os.close(theirs)
    shown, waiting, seen = "", list(keys), 0
    until = time.monotonic() + 60
    while time.monotonic() < until:
        if select.select([mine], [], [], 0.2)[0]:
            try:
                shown += os.read(mine, 65536).decode(errors="replace")
            except OSError:  # the other end is closed
                break
        if waiting and waiting[0][0] in shown[seen:]:
            seen, (_, key) = len(shown), waiting.pop(0)
            if not key:
                process.terminate()
            os.write(mine, key.encode())
    process.kill()
    process.wait()
    os.close(mine)
    return shown


@pytest.fixture
def begun(run, tmp_path):
    """The file of a run in which nothing has happened yet."""
    run(*SET_UP, "--once")
    return tmp_path / "run.jsonl"


def test_keys_on_a_terminal(begun):
    """A key notes an event, nonsense is said and not noted, q leaves with where the run stands."""
    shown = _on_terminal(begun, [("not begun", "b\n"), ("Not noted", "p\n"), ("holding", "q\n")])
    events = [json.loads(line)["event"] for line in begun.read_text().splitlines()[1:]]

    assert events == ["pressure reached"]
    assert "planned hold" in shown


def test_a_terminal_without_keys_still_shows_the_run(begun):
    """Standard input is closed: the clock goes on until it is ended from outside."""
    shown = _on_terminal(begun, [("not begun", "")], with_keys=False)

    assert "not begun" in shown
    assert "Traceback" not in shown
    assert begun.read_text().count("\n") == 1
