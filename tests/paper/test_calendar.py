"""The calendar against RFC 5545, against another reader of it, and against the plan."""

import re
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from functools import cache
from zoneinfo import ZoneInfo

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from icalendar import Calendar

from spawnwright.actions.planning.papers import write_papers
from spawnwright.errors import BadFile, Unusable
from spawnwright.paper.calendar import calendar_ics, feed_ics
from spawnwright.records.feed import FeedEvent
from spawnwright.records.plan import Binding
from tests.paper.example_plan import plan_and_wish


@pytest.fixture(scope="module")
def made():
    plan, wish = plan_and_wish()
    return plan, wish, calendar_ics(plan, wish)


def events(ics: bytes) -> dict:
    return {str(e["uid"]).split(".")[0]: e for e in Calendar.from_ical(ics).walk("VEVENT")}


def test_every_step_comes_back_as_it_was_planned(made):
    """Round trip with the icalendar library: instants, title, detail and cautions survive."""
    plan, _, ics = made

    found = events(ics)
    assert set(found) == {step.key for step in plan.steps}
    for step in plan.steps:
        event = found[step.key]
        assert event["summary"] == step.title
        assert all(each in event["description"] for each in (step.detail, *step.cautions))
        if step.at == step.until:
            assert event.decoded("dtstart") == step.at.date()
            assert event.decoded("dtend") == step.at.date() + timedelta(days=1)
        else:
            assert event.decoded("dtstart") == step.at
            assert event.decoded("dtend") == step.until


def test_lines_are_folded_at_75_octets_and_end_with_crlf(made):
    """RFC 5545 section 3.1; letters outside ASCII are longer than one octet."""
    _, wish, _ = made
    plan = replace(made[0], steps=(replace(made[0].steps[0], detail="Zażółć gęślą jaźń " * 30),))
    ics = calendar_ics(plan, wish)

    assert ics.endswith(b"END:VCALENDAR\r\n")
    assert not re.search(rb"(?<!\r)\n", ics)
    assert max(len(line) for line in ics.split(b"\r\n")) <= 75
    assert "Zażółć gęślą jaźń " * 3 in next(iter(events(ics).values()))["description"]


def test_required_properties_are_there(made):
    """RFC 5545: PRODID, VERSION; UID and DTSTAMP in each event; ACTION, TRIGGER in each alarm."""
    calendar = Calendar.from_ical(made[2])

    assert calendar["version"] == "2.0"
    assert "Spawnwright" in calendar["prodid"]
    for event in calendar.walk("VEVENT"):
        assert event.decoded("dtstamp") == made[1].now.astimezone(UTC)
        assert event["uid"].endswith("@spawnwright.invalid")
        assert not event.errors
    for alarm in calendar.walk("VALARM"):
        assert alarm["action"] == "DISPLAY"
        assert alarm["description"]
        assert isinstance(alarm.decoded("trigger"), timedelta)


def test_the_time_zone_changes_on_the_right_night(made):
    """Clocks in the EU go forward at 01:00 UTC on the last Sunday of March (2000/84/EC).

    RFC 5545, 3.6.5: the onset is DTSTART read with TZOFFSETFROM. The file's own words are read.
    """
    (zone,) = Calendar.from_ical(made[2]).walk("VTIMEZONE")
    onsets = {
        each.decoded("dtstart") - each.decoded("tzoffsetfrom"): each.decoded("tzoffsetto")
        for each in zone.subcomponents
    }

    assert zone["tzid"] == "Europe/Warsaw"
    assert onsets[datetime(2027, 3, 28, 1)] == timedelta(hours=2)
    assert onsets[datetime(2027, 10, 31, 1)] == timedelta(hours=1)
    assert min(onsets) < datetime(2027, 1, 1)
    assert b"DTSTART;TZID=Europe/Warsaw:20270315T180000" in made[2]


@pytest.mark.parametrize(
    ("key", "related", "before"),
    [
        ("weigh-1", "START", timedelta(minutes=-10)),
        ("inoculate-2", "START", timedelta(minutes=-10)),
        ("soak-1", "END", timedelta(0)),
        ("hold-1", "END", timedelta(0)),
        ("cool_down-1", "END", timedelta(0)),
        ("shake", "START", timedelta(hours=8)),
    ],
)
def test_alarms_ring_when_hands_are_needed(made, key, related, before):
    """Ten minutes before hands-on steps; at the end of the soak and the hold; a day's morning."""
    alarms = events(made[2])[key].walk("VALARM")

    rings = [(a["trigger"].params.get("RELATED", "START"), a.decoded("trigger")) for a in alarms]
    assert (related, before) in rings


def test_a_plan_made_again_moves_its_events(made):
    """The UID stays, the SEQUENCE rises (RFC 5545, 3.8.7.4), whatever else moved."""
    plan, wish, ics = made
    moved = replace(
        plan,
        steps=tuple(replace(s, at=s.at + timedelta(days=1), until=s.until + timedelta(days=1))
                    for s in plan.steps),
    )  # fmt: skip
    again = events(calendar_ics(moved, replace(wish, now=wish.now + timedelta(hours=2))))

    first = events(ics)
    for key, event in again.items():
        assert event["uid"] == first[key]["uid"]
        assert event["sequence"] > first[key]["sequence"]


def test_another_wish_has_other_events(made):
    """Two batches in one calendar must not overwrite each other."""
    plan, wish, ics = made
    other = replace(wish, goal=replace(wish.goal, jars=5))

    assert not {e["uid"] for e in events(ics).values()} & {
        e["uid"] for e in events(calendar_ics(plan, other)).values()
    }


def test_the_file_is_the_same_each_time(made):
    """A clock or a random number in it would make every export look like a change."""
    assert calendar_ics(made[0], made[1]) == made[2]


def test_what_is_said_about_a_step_groups_it(made):
    """Categories let a calendar color or hide hands-on steps, soaks and reminders."""
    found = events(made[2])

    assert found["hold-1"]["categories"].cats == ["Canner", "Hands on"]
    assert found["soak-1"]["categories"].cats == ["Grain", "Runs by itself"]
    assert found["soak-1"]["transp"] == "TRANSPARENT"
    assert found["use_by"]["categories"].cats == ["Use", "Reminder"]


def test_instants_in_another_zone_are_shown_in_the_growers(made):
    """A plan computed in UTC still rings at the hour on the grower's wall."""
    plan, wish, _ = made
    step = plan.steps[0]
    other = replace(step, at=step.at.astimezone(ZoneInfo("UTC")), until=step.until)

    event = next(iter(events(calendar_ics(replace(plan, steps=(other,)), wish)).values()))
    assert event.decoded("dtstart").isoformat() == step.at.isoformat()
    assert event.decoded("dtstart").date() == date(2027, 3, 9)


def test_no_calendar_without_a_plan(made):
    """Nothing is written for a wish that cannot be met."""
    plan = replace(made[0], feasible=False, binding=(Binding("hours", "a free Sunday"),))

    with pytest.raises(Unusable, match="cannot be met"):
        calendar_ics(plan, made[1])


# A plan that replaces another one in its file


LATER = timedelta(hours=2)
DAMAGE = (b"T", b"Z", b":", b";", b"=", b"\r\n", b"-", b"0", b"99", b"END")


def whole(ics: bytes) -> dict:
    """The events of a file by the whole UID."""
    return {str(e["uid"]): e for e in Calendar.from_ical(ics).walk("VEVENT")}


def again(plan, wish, before, *, without=(), moved=timedelta(0), later=LATER):
    steps = tuple(
        replace(step, at=step.at + moved, until=step.until + moved)
        for step in plan.steps
        if step.key not in without
    )
    return calendar_ics(replace(plan, steps=steps), replace(wish, now=wish.now + later), before)


def test_a_step_that_a_new_plan_drops_is_cancelled(made):
    """RFC 5545, 3.8.1.11 and 3.8.7.4: the same UID, STATUS:CANCELLED, a higher SEQUENCE."""
    plan, wish, ics = made
    first, second = whole(ics), whole(again(plan, wish, ics, without=("shake", "hold-2")))

    assert second.keys() == first.keys()
    off = {uid for uid, event in second.items() if event.get("status") == "CANCELLED"}
    assert {uid.split(".")[0] for uid in off} == {"shake", "hold-2"}
    for uid in off:
        assert second[uid]["sequence"] > first[uid]["sequence"]
        assert second[uid]["summary"] == first[uid]["summary"]
        for end in ("dtstart", "dtend"):
            assert second[uid].decoded(end) == first[uid].decoded(end)
        assert not second[uid].walk("VALARM")
        assert second[uid]["transp"] == "TRANSPARENT"


def test_a_cancelled_step_stays_so_and_comes_back_with_a_new_plan(made):
    """Each time with a higher SEQUENCE, or else a calendar would keep to the older word."""
    plan, wish, ics = made
    dropped = again(plan, wish, ics, without=("shake",))
    still = again(plan, wish, dropped, without=("shake",), later=2 * LATER)
    back = again(plan, wish, still, later=3 * LATER)
    uid = next(each for each in whole(ics) if each.startswith("shake."))
    first, second, third = (whole(each)[uid] for each in (dropped, still, back))

    assert second["sequence"] == first["sequence"]
    assert second["status"] == "CANCELLED"
    assert "status" not in third
    assert third["sequence"] > second["sequence"]
    assert third.walk("VALARM")


def test_what_moved_is_newer_and_what_did_not_is_the_same(made):
    """Also where the clock went back: a plan "as of" an earlier instant is still the newer word."""
    plan, wish, ics = made
    first = whole(ics)
    same = whole(again(plan, wish, ics))
    moved = whole(again(plan, wish, ics, moved=timedelta(days=1), later=-LATER))

    for uid, event in first.items():
        assert same[uid]["sequence"] == event["sequence"]
        assert moved[uid]["sequence"] > event["sequence"]
    assert calendar_ics(plan, wish, ics) == ics


def test_the_file_of_another_batch_is_called_off_where_it_is_not_over(made):
    """The wish was changed: its old events go, but what was already done stays in the calendar."""
    plan, wish, ics = made
    other = replace(wish, goal=replace(wish.goal, jars=5), now=plan.steps[6].until)
    found = whole(calendar_ics(plan, other, ics))

    over = {step.key for step in plan.steps if step.until <= other.now}
    first = whole(ics)
    old = {uid: event for uid, event in found.items() if uid in first}
    assert len(found) == len(plan.steps) + len(old)
    assert {uid.split(".")[0] for uid in old} == {s.key for s in plan.steps} - over
    assert over
    assert {event["status"] for event in old.values()} == {"CANCELLED"}


@pytest.mark.parametrize(
    "before",
    [
        b"", b"%PDF-1.7 not a calendar", b"\xff\xfe\x00", b"BEGIN:VCALENDAR\r\nEND:VCALENDAR\r\n",
        b"BEGIN:VCALENDAR\r\nPRODID:-//Somebody else//EN\r\nVERSION:2.0\r\nBEGIN:VEVENT\r\n"
        b"UID:soak-1.0123456789ab@spawnwright.invalid\r\nDTSTAMP:20270301T000000Z\r\n"
        b"DTSTART:20270301T000000Z\r\nDTEND:20270302T000000Z\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n",
    ],
)  # fmt: skip
def test_a_file_that_is_not_ours_changes_nothing(made, before):
    assert calendar_ics(made[0], made[1], before) == made[2]


@cache
def few_and_older():
    """A short plan, and the file of one with a step less at the beginning and two more."""
    plan, wish = plan_and_wish()
    older = calendar_ics(replace(plan, steps=plan.steps[1:5]), wish)
    return replace(plan, steps=plan.steps[:3]), wish, older


HARMS = st.tuples(
    st.integers(0, 10**6), st.integers(0, 3), st.binary(max_size=3) | st.sampled_from(DAMAGE)
)


@given(st.lists(HARMS, min_size=1, max_size=4))
@example([(0, 3, b"")])
@settings(max_examples=25, deadline=None)
def test_a_damaged_file_of_ours_gives_a_calendar_all_the_same(harms):
    """Whatever bytes of it were changed, put in or cut out."""
    few, wish, older = few_and_older()
    old = bytearray(older)
    for place, cut, put in harms:
        place %= len(old)
        old[place : place + cut] = put
    found = whole(calendar_ics(few, wish, bytes(old)))

    wanted = set(whole(calendar_ics(few, wish)))
    assert wanted <= found.keys()
    assert all("status" not in found[uid] for uid in wanted)


@pytest.mark.parametrize(
    ("line", "damaged"),
    [
        (rb"SEQUENCE:\d+", b"SEQUENCE:62O0"),
        (rb"SEQUENCE:\d+", b"SEQUENCE:1\r\nSEQUENCE:2"),
        (rb"DTSTART[^\r]+", b"DTSTART:2027"),
        (rb"DTSTART[^\r]+", b"DTSTART;VALUE=DATE:20270301"),
        (rb"DTSTART[^\r]+", b"DTSTART;VALUE=PERIOD:20270301T000000Z/PT1H"),
        (rb"DTEND[^\r]+\r\n", b""),
        (rb"UID[^\r]+\r\n", b""),
    ],
)
def test_a_damaged_event_is_told_of_as_if_new(made, line, damaged):
    """The others keep their place; none is called off by its damage."""
    plan, wish, ics = made
    head, mark, body = ics.partition(b"BEGIN:VEVENT")
    old = head + mark + re.sub(line, damaged, body, count=1)
    later = calendar_ics(plan, replace(wish, now=wish.now + LATER), old)

    assert old != ics
    assert whole(later).keys() == whole(ics).keys()
    assert not [e for e in whole(later).values() if "status" in e]
    before = whole(ics)
    newer = [u for u, e in whole(later).items() if e["sequence"] > before[u]["sequence"]]
    assert len(newer) == 1


def test_the_file_on_the_disk_is_the_older_one(made, tmp_path, monkeypatch):
    """Written twice under one name: the second file calls off what the first one had more."""
    plan, wish, ics = made
    file = tmp_path / "batch.ics"
    fewer = replace(plan, steps=plan.steps[:-1])

    write_papers(plan, wish, None, file)
    assert file.read_bytes() == ics
    write_papers(fewer, replace(wish, now=wish.now + LATER), None, file)
    off = [e for e in whole(file.read_bytes()).values() if e.get("status") == "CANCELLED"]
    assert [str(e["uid"]).split(".")[0] for e in off] == [plan.steps[-1].key]

    def fails(_):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("pathlib.Path.read_bytes", fails)
    with pytest.raises(BadFile, match=r"cannot be read .* Permission denied\. Nothing was written"):
        write_papers(plan, wish, None, file)


# The feed


ZONE = ZoneInfo("Europe/Warsaw")
AT = datetime(2027, 3, 26, 18, 0, tzinfo=ZONE)


def event(uid: str, days: float = 0, hours: float = 1, **more) -> FeedEvent:
    at = AT + timedelta(days=days)
    until = (at.astimezone(UTC) + timedelta(hours=hours)).astimezone(ZONE)
    return FeedEvent(uid, more.pop("revision", 3), AT, at, until, f"{uid} it", **more)


def test_the_feed_comes_back_as_it_was_told():
    """Round trip with the icalendar library, over the change to summer time; lines are folded."""
    told = [
        event("soak", 0, 60, kind="soak", is_attended=False, detail="Zażółć gęślą jaźń; no, yes\\"),
        event("fill", 2, kind="fill", cautions=("hot grain", "heavy pot")),
        event("look", 4, 0, kind="look"),
        event("hold", 5, 2, kind="hold", revision=9, is_cancelled=True),
    ]
    ics = feed_ics(told, ZONE, "Shed")
    calendar = Calendar.from_ical(ics)
    found = events(ics.replace(b"@spawnwright", b".@spawnwright"))

    assert (calendar["x-wr-calname"], calendar["method"]) == ("Shed", "PUBLISH")
    assert calendar.decoded("refresh-interval") == timedelta(hours=1)
    assert max(len(line) for line in ics.split(b"\r\n")) <= 75
    assert not re.search(rb"(?<!\r)\n", ics)
    assert [(str(e["uid"]), e["sequence"], e.decoded("dtstamp")) for e in found.values()] == [
        (f"{each.uid}.@spawnwright.invalid", each.revision, AT) for each in told
    ]
    assert found["soak"].decoded("dtend") - found["soak"].decoded("dtstart").astimezone(
        UTC
    ) == timedelta(hours=60)
    assert found["soak"]["description"] == told[0].detail
    assert found["fill"]["description"] == "Caution: hot grain\nCaution: heavy pot"
    assert found["look"].decoded("dtstart") == date(2027, 3, 30)
    assert [e.get("status") for e in found.values()] == [None, None, None, "CANCELLED"]
    assert [len(e.walk("VALARM")) for e in found.values()] == [1, 1, 1, 0]
    assert feed_ics(told, ZONE, "Shed") == ics


def test_an_empty_feed_is_a_calendar_too():
    calendar = Calendar.from_ical(feed_ics([], ZONE))

    assert not calendar.walk("VEVENT")
    assert len(calendar.walk("VTIMEZONE")) == 1
