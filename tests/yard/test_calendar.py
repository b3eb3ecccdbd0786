"""The calendar file through the icalendar library, and the letter of RFC 5545."""

from datetime import UTC, date, datetime, timedelta

import icalendar
from hypothesis import given
from hypothesis import strategies as st

from emcforecast.yard.calendar import Entry, calendar_text

NOW = datetime(2026, 11, 25, 8, 0, tzinfo=UTC)
MOVE = Entry(
    "oak-1",
    "move",
    date(2027, 3, 1),
    "oak-1, white oak: move to the loft; before the rains",
    "Likely 15 %\\ by then,\nbut weigh board „A“ first. " * 4,
    remind_days=3,
)
READ = Entry("ash-1", "reading", date(2026, 12, 1), "ash-1: take a reading")


def events(text: str) -> dict[str, icalendar.Event]:
    found = icalendar.Calendar.from_ical(text).walk("VEVENT")
    by_uid = {str(event["UID"]): event for event in found}
    assert len(by_uid) == len(found)
    return by_uid


def merge(store: dict[str, icalendar.Event], text: str) -> dict[str, icalendar.Event]:
    """Import as RFC 5546 says: same UID, the higher SEQUENCE (then DTSTAMP) wins."""
    store = dict(store)
    for uid, event in events(text).items():
        old = store.get(uid)
        if old is None or (event["SEQUENCE"], event["DTSTAMP"].dt) >= (
            old["SEQUENCE"],
            old["DTSTAMP"].dt,
        ):
            store[uid] = event
    return {u: e for u, e in store.items() if e.get("STATUS") != "CANCELLED"}


def test_it_opens_in_a_standard_library_and_says_what_was_meant():
    calendar = icalendar.Calendar.from_ical(
        calendar_text([MOVE, READ], "Kalvenau", NOW)
    )
    assert not calendar.errors
    assert calendar["VERSION"] == "2.0"
    first, second = calendar.walk("VEVENT")
    assert not first.errors
    assert not second.errors
    assert first["DTSTART"].dt == READ.day
    assert second["DTSTART"].dt == MOVE.day
    assert second["DTEND"].dt == MOVE.day + timedelta(days=1)
    assert str(second["SUMMARY"]) == MOVE.summary
    assert str(second["DESCRIPTION"]) == MOVE.description
    (alarm,) = second.walk("VALARM")
    assert alarm["TRIGGER"].dt == timedelta(days=-3)


def test_a_reimport_updates_and_never_doubles():
    store = merge({}, calendar_text([MOVE, READ], "Kalvenau", NOW))
    assert len(store) == 2
    later = Entry(MOVE.stack, MOVE.action, date(2027, 4, 9), "oak-1: moved on")
    text = calendar_text([later, READ], "Kalvenau", NOW + timedelta(hours=1))
    assert set(events(text)) == set(store)
    store = merge(store, text)
    assert len(store) == 2
    assert {e["DTSTART"].dt for e in store.values()} == {date(2027, 4, 9), READ.day}
    # An older file imported afterwards changes nothing.
    assert merge(store, calendar_text([MOVE], "Kalvenau", NOW)) == store


def test_a_step_no_longer_due_is_cancelled_and_a_past_one_left_alone():
    first = calendar_text([MOVE, READ], "Kalvenau", NOW)
    store = merge({}, first)
    text = calendar_text([], "Kalvenau", datetime(2026, 12, 15, tzinfo=UTC), first)
    store = merge(store, text)
    assert [str(e["SUMMARY"]) for e in store.values()] == [READ.summary]
    again = calendar_text([], "Kalvenau", datetime(2026, 12, 16, tzinfo=UTC), text)
    assert merge(store, again) == store


def test_someone_elses_events_are_not_touched():
    other = (
        "BEGIN:VCALENDAR\r\nBEGIN:VEVENT\r\nUID:dentist\r\n"
        "DTSTART;VALUE=DATE:20990101\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n"
    )
    assert events(calendar_text([], "Kalvenau", NOW, other)) == {}
    assert events(calendar_text([], "Kalvenau", NOW, "no calendar at all")) == {}
    upper = calendar_text([MOVE], "Upper Field", NOW)
    assert events(calendar_text([], "Kalvenau", NOW, upper)) == {}


def test_stacks_of_two_yards_keep_apart():
    one = events(calendar_text([MOVE], "Kalvenau", NOW))
    two = events(calendar_text([MOVE], "Upper Field", NOW))
    assert not set(one) & set(two)


@given(st.text(st.characters(blacklist_categories=("Cs",)), max_size=200))
def test_any_text_folds_within_75_octets_and_comes_back(words):
    entry = Entry("oak", "move", date(2027, 1, 1), "s" + words, "d" + words)
    text = calendar_text([entry], words, NOW)
    lines = text.encode().split(b"\r\n")
    assert lines[-1] == b""
    assert max(len(line) for line in lines) <= 75
    assert b"\r" not in b"".join(lines)
    assert b"\n" not in b"".join(lines)
    (event,) = events(text).values()
    plain = words.replace("\r\n", "\n").replace("\r", "\n")
    kept = "".join(c for c in plain if c in "\n\t" or not (c < " " or c == "\x7f"))
    assert str(event["SUMMARY"]) == "s" + kept
    assert str(event["DESCRIPTION"]) == "d" + kept
