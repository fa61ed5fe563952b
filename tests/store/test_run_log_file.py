"""The file of a run: appended whole, read after a crash, never two events where one can be."""

from __future__ import annotations

import fcntl
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta

import pytest

from spawnwright.actions.sterilizing.watch import begin, look, note_event, resume
from spawnwright.errors import BadFile, Unusable
from spawnwright.records.run_log import RunEvent
from spawnwright.store.run_log_file import read_run_log
from tests.model.watched_run import at

ASKED = {"jar": "quart", "gauge_pa": 103_421.0, "ambient_pa": 101_325.0, "hold_s": 5400.0}
EVENTS = (
    RunEvent("pressure reached", at(0)),
    RunEvent("pressure lost", at(40), 50_000.0),
    RunEvent("back at pressure", at(55)),
)


@pytest.fixture
def path(tmp_path):
    """A run with three events."""
    file = tmp_path / "run.jsonl"
    begin(file, ASKED)
    for event in EVENTS:
        note_event(file, event, at(60))
    return file


def test_what_was_noted_is_read(path):
    """Events, readings and instants come back, and the set-up with its defaults."""
    log, is_torn = resume(path)

    assert log.events == EVENTS
    assert not is_torn
    assert log.setup.hold_s == 5400
    assert log.setup.question.jars == 7


def test_after_a_kill_the_state_is_that_of_an_uninterrupted_run(path):
    """Another process with nothing but the file, and the one that noted everything itself."""
    log, _ = resume(path)
    _, clock = look(log, at(61))

    state, _ = look(log, at(80), clock)
    resumed, _ = look(resume(path)[0], at(80))
    assert resumed == state


def test_a_last_line_cut_off_anywhere_is_passed_over(path):
    """A crash in the middle of a line loses that event alone; the next one mends the file."""
    whole = path.read_bytes()
    last = whole.rstrip(b"\n").rfind(b"\n") + 1
    for end in range(last + 1, len(whole) - 1):
        path.write_bytes(whole[:end])
        found = read_run_log(path)
        assert found.events == (EVENTS if found.events[2:] else EVENTS[:2])
        assert found.is_torn == (len(found.events) == 2)
        assert found.is_torn == (end < len(whole) - 1)
    path.write_bytes(whole[: last + 20])
    note_event(path, EVENTS[2], at(60))

    assert path.read_bytes() == whole


def test_a_last_event_without_line_end_counts(path):
    """Only the line end was lost: the event is whole, and the next one goes on its own line."""
    path.write_bytes(path.read_bytes().rstrip(b"\n"))
    note_event(path, RunEvent("heat off", at(90)), at(91))

    assert [each.name for each in resume(path)[0].events][-2:] == ["back at pressure", "heat off"]


def test_who_notes_waits_for_another_and_reads_again(tmp_path):
    """While the file is locked nothing is written; what came in the meantime is seen."""
    file = tmp_path / "run.jsonl"
    begin(file, ASKED)
    with ThreadPoolExecutor(1) as pool, file.open("ab") as other:
        fcntl.flock(other, fcntl.LOCK_EX)
        noting = pool.submit(note_event, file, EVENTS[0], at(60))
        with pytest.raises(TimeoutError):
            noting.result(timeout=0.5)
        other.write(b'{"event": "pressure reached", "at": "2027-01-03T18:00:00+00:00"}\n')
        other.flush()
        fcntl.flock(other, fcntl.LOCK_UN)
        with pytest.raises(Unusable, match="cannot follow"):
            noting.result(timeout=60)

    assert resume(file)[0].events == EVENTS[:1]


def test_what_is_refused_is_not_written(path):
    """The file stays byte for byte."""
    before = path.read_bytes()
    for event in (EVENTS[2], RunEvent("heat off", at(30)), RunEvent("heat off", at(300))):
        with pytest.raises(Unusable):
            note_event(path, event, at(60))

    assert path.read_bytes() == before


def test_a_new_run_never_replaces_another(path):
    """Nor leaves anything beside it."""
    before = path.read_bytes()
    with pytest.raises(BadFile, match="is there already"):
        begin(path, ASKED)

    assert path.read_bytes() == before
    assert [each.name for each in path.parent.iterdir()] == [path.name]


BROKEN = {
    "another file": (b"time,temp\n0,20\n", "is not the log of a run"),
    "empty": (b"", "is not the log of a run"),
    "newer": (b'{"spawnwright": "run log", "version": 2}\n', "newer version"),
}


@pytest.mark.parametrize(("data", "why"), BROKEN.values(), ids=BROKEN.keys())
def test_what_is_no_run_is_refused(tmp_path, data, why):
    """With what it is not."""
    file = tmp_path / "run.jsonl"
    file.write_bytes(data)
    with pytest.raises(BadFile, match=why):
        resume(file)


@pytest.mark.parametrize(
    ("line", "why"),
    [
        (b"torn in the middle", "line 3: it is no JSON object"),
        (b'{"event": "whistle", "at": "2027-01-03T18:10:00+00:00"}', "line 3: there is no event"),
        (b'{"event": "heat off", "at": "2027-01-03T18:10:00"}', "line 3: .*no offset"),
        (b'{"event": "heat off"}', "line 3: 'at' is missing"),
        (b'{"event": "back at pressure", "at": "2027-01-03T18:10:00+00:00"}', "line 3: .*first"),
    ],
)
def test_a_bad_line_in_the_middle_is_named(path, line, why):
    """It is not passed over: somebody changed the file."""
    lines = path.read_bytes().split(b"\n")
    lines[2] = line
    path.write_bytes(b"\n".join(lines))
    with pytest.raises(BadFile, match=why):
        resume(path)


def test_a_run_that_cannot_be_makes_no_file(tmp_path):
    """Pressure above the heaviest weight, no rating known; and one without a hold."""
    file = tmp_path / "run.jsonl"
    with pytest.raises(Unusable, match="above 15 psi"):
        begin(file, {**ASKED, "gauge_pa": 120_000.0})
    with pytest.raises(Unusable, match="needs the hold"):
        begin(file, {**ASKED, "hold_s": None})

    assert not file.exists()


def test_events_hold_their_instants_whatever_the_offset(path):
    """Noted with another offset, the same instant."""
    event = RunEvent("heat off", at(90).astimezone(None) + timedelta(0))
    note_event(path, event, at(91))

    assert resume(path)[0].events[-1].at == at(90)
