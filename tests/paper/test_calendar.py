"""The calendar against RFC 5545, against another reader of it, and against the plan."""

import re
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from icalendar import Calendar

from spawnwright.errors import Unusable
from spawnwright.paper.calendar import calendar_ics
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
