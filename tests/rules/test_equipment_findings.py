"""Findings about equipment keep one key over the days of one occurrence."""

from datetime import UTC, date, datetime, timedelta

from clinic.rules.cover import Present, entry_cover
from clinic.rules.findings import (
    EntryDone,
    FollowUpOpen,
    TaskOnUnit,
    Weight,
    entries_without_cover,
    late_follow_ups,
    on_day,
    overdue_upkeep,
)
from clinic.rules.upkeep import upkeep_timeline
from clinic.rules.upkeep_facts import Entry, EquipmentLife, TaskRule

START = date(2026, 3, 2)


def overdue(today: date, *done: date):
    entries = [Entry(id=str(day), day=day, recorded_at=datetime(2026, 3, 1, tzinfo=UTC)) for day in done]
    spans = upkeep_timeline(TaskRule("U01", every_days=7), EquipmentLife(START), entries)
    return on_day(overdue_upkeep([TaskOnUnit("U01", "Mill 1", "Deep clean", "m1", spans)]), today)


def test_overdue_keeps_its_key_until_an_entry_and_comes_back_under_another():
    (first,), (next_day,) = overdue(date(2026, 3, 10)), overdue(date(2026, 3, 11))
    assert first.key == next_day.key == "upkeep overdue:U01:m1:2026-03-10"
    assert first.sentence == "Deep clean, Mill 1: overdue since 10 March 2026, 1 day."
    assert overdue(date(2026, 3, 11), date(2026, 3, 11)) == []
    assert overdue(date(2026, 3, 19), date(2026, 3, 11))[0].key != first.key


def test_work_with_nobody_usable_there_is_a_note():
    cover = [entry_cover(Present("Anna", usable), procedure="P07") for usable in (True, False)]
    done = [EntryDone(str(n), START, "Water change", each) for n, each in enumerate(cover)]
    assert [(f.weight, f.evidence) for f in entries_without_cover(done)] == [(Weight.NOTE, ("1",))]


def test_a_follow_up_is_late_from_the_day_after_it_was_due():
    one = FollowUpOpen("f", "e", "Line 1", START)
    assert on_day(late_follow_ups([one]), START) == []
    assert on_day(late_follow_ups([one]), START + timedelta(days=1))[0].weight is Weight.FIX


def test_a_follow_up_closed_late_stays_as_a_note():
    closed = FollowUpOpen("f", "e", "Line 1", START, START + timedelta(days=3))
    assert on_day(late_follow_ups([closed]), START + timedelta(days=9))[0].weight is Weight.NOTE
