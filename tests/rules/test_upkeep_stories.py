"""Upkeep timelines worked out by hand, span by span with all it carries; and the counting beneath them."""

from datetime import UTC, date, datetime, time, timedelta

import pytest

from clinic.rules.upkeep import upkeep_timeline
from clinic.rules.upkeep_counting import Counting, Uses
from clinic.rules.upkeep_facts import (
    Entry,
    EquipmentLife,
    Pause,
    PauseReason,
    TaskRule,
    UpkeepSpan,
    UpkeepState,
    Use,
    standing_facts,
)
from clinic.rules.upkeep_shares import share_in_time, units_since

IN_TIME, DUE, OVERDUE, PAUSED = UpkeepState.IN_TIME, UpkeepState.DUE, UpkeepState.OVERDUE, UpkeepState.PAUSED
THEN = datetime(2026, 3, 1, tzinfo=UTC)
WEEKLY = TaskRule("U01", every_days=7, every_units=20, warn_days=1, plan_units=16)


def march(number: int | None) -> date | None:
    return None if number is None else date(2026, 2, 28) + timedelta(days=number)


def entry(id: str, number: int, **more) -> Entry:
    return Entry(id=id, day=march(number), recorded_at=more.pop("recorded_at", THEN), **more)


def use(number: int, units: int, **more) -> Use:
    return Use(id=f"use {number}", day=march(number), recorded_at=more.pop("recorded_at", THEN), units=units)


def pause(first: int, after: int | None, id: str = "pause", why: PauseReason = PauseReason.CLOSED) -> Pause:
    return Pause(id=id, day=march(first), after=march(after), why=why, recorded_at=THEN)


def span(
    first: int, after: int | None, state: UpkeepState, cause: str, good: int | None, left: int | None
) -> UpkeepSpan:
    return UpkeepSpan(march(first), march(after), state, cause, march(good), left)


def test_a_unit_with_one_entry_until_its_last_day_in_service() -> None:
    life = EquipmentLife(march(2), march(20))
    assert upkeep_timeline(WEEKLY, life, [entry("a", 10), entry("too late", 21)]) == (
        span(2, 8, IN_TIME, "opening", 9, 20),
        span(8, 10, DUE, "opening", 9, 20),
        span(10, 16, IN_TIME, "a", 17, 20),
        span(16, 18, DUE, "a", 17, 20),
        span(18, 21, OVERDUE, "a", 17, 20),
    )


def test_use_that_plans_ahead_then_reaches_the_mark_and_goes_on() -> None:
    used = [use(3, 16), use(4, 4), use(5, 1)]
    assert upkeep_timeline(WEEKLY, EquipmentLife(march(2)), uses=used) == (
        span(2, 3, IN_TIME, "opening", 4, 20),
        span(3, 5, DUE, "use 3", 4, 0),
        span(5, None, OVERDUE, "use 4", 4, -1),
    )


def test_a_plan_that_is_reached_is_due_until_the_days_warn_and_then_run_out() -> None:
    assert upkeep_timeline(WEEKLY, EquipmentLife(march(2)), uses=[use(4, 17)]) == (
        span(2, 4, IN_TIME, "opening", 9, 20),
        span(4, 8, DUE, "use 4", 9, 3),
        span(8, 10, DUE, "opening", 9, 3),
        span(10, None, OVERDUE, "opening", 9, 3),
    )


def test_a_task_by_use_alone_has_no_last_good_day_until_its_mark() -> None:
    by_use = TaskRule("U", every_units=5)
    assert upkeep_timeline(by_use, EquipmentLife(march(2)), uses=[use(3, 2)]) == (
        span(2, None, IN_TIME, "opening", None, 3),
    )


def test_a_task_without_any_interval_is_in_time() -> None:
    assert upkeep_timeline(TaskRule("U"), EquipmentLife(march(2))) == (span(2, None, IN_TIME, "opening", None, None),)


def test_a_shorter_interval_holds_from_its_day_on_and_the_last_rule_of_a_day_wins() -> None:
    rules = [
        (march(6), TaskRule("U", every_days=9)),
        (march(1), TaskRule("U", every_days=7)),
        (march(6), TaskRule("U", every_days=3)),
    ]
    assert upkeep_timeline(rules, EquipmentLife(march(2))) == (
        span(2, 6, IN_TIME, "opening", 9, None),
        span(6, None, OVERDUE, "opening", 5, None),
    )


def test_a_pause_stops_the_days_and_is_named_as_their_cause() -> None:
    daily = TaskRule("U", every_days=4, warn_days=1)
    assert upkeep_timeline(daily, EquipmentLife(march(2)), pauses=[pause(4, 7)]) == (
        span(2, 4, IN_TIME, "opening", 9, None),
        span(4, 7, PAUSED, "pause", 9, None),
        span(7, 8, IN_TIME, "opening", 9, None),
        span(8, 10, DUE, "opening", 9, None),
        span(10, None, OVERDUE, "opening", 9, None),
    )


def test_the_last_entry_of_a_day_is_its_cause_and_one_without_a_time_is_last() -> None:
    both = [
        entry("no time", 5),
        entry("morning", 5, at=time(8)),
        entry("noon", 6, at=time(12)),
        entry("early", 6, at=time(7)),
    ]
    causes = [one.cause for one in upkeep_timeline(TaskRule("U", every_days=9), EquipmentLife(march(2)), both)]
    assert list(dict.fromkeys(causes)) == ["opening", "no time", "noon"]


def test_a_correction_is_placed_where_the_first_of_its_chain_was_recorded() -> None:
    later = THEN + timedelta(hours=2)
    facts = [
        entry("a", 5),
        entry("b", 5, recorded_at=THEN + timedelta(hours=1)),
        entry("c", 5, corrects="a", recorded_at=later),
    ]
    assert [fact.id for fact in standing_facts(facts)] == ["c", "b"]


def test_corrections_that_name_each_other_end() -> None:
    facts = [entry("a", 5, corrects="b"), entry("b", 5, corrects="a"), entry("c", 5, corrects="a")]
    assert [fact.id for fact in standing_facts(facts)] == ["c"]


PAUSES = [pause(4, 6), pause(5, 7), pause(7, 9), pause(12, 12), pause(15, 18), pause(25, None)]
STOPPED = {march(n) for n in (*range(4, 9), *range(15, 18), *range(25, 60))}


@pytest.mark.parametrize("number", range(1, 31))
def test_days_are_numbered_by_those_that_count(number: int) -> None:
    counting = Counting(PAUSES)
    passed = sum(march(n) not in STOPPED for n in range(2, number + 1))
    assert counting.number(march(number)) - counting.number(march(1)) == passed


@pytest.mark.parametrize("number", range(1, 25))
@pytest.mark.parametrize("days", [0, 1, 2, 5, 9])
def test_so_many_counting_days_later_is_found_by_going_on_day_by_day(number: int, days: int) -> None:
    here, left = march(number), days
    while left and here < march(59):
        here += timedelta(days=1)
        left -= here not in STOPPED
    assert Counting(PAUSES).later(march(number), days) == (None if left else here)


def test_no_use_has_reached_nothing() -> None:
    used = Uses([use(3, 4), use(5, 2)])
    assert [used.reaching(total) for total in (0, 1, 4, 5, 6, 7)] == [
        None, used.uses[0], used.uses[0], used.uses[1], used.uses[1], None,
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("life", "on", "counts"),
    [
        (EquipmentLife(march(2)), 2, True),
        (EquipmentLife(march(2)), 1, False),
        (EquipmentLife(march(2), None, march(2)), 2, False),
        (EquipmentLife(march(2), None, march(2)), 3, True),
    ],
)
def test_use_of_the_day_of_an_opening_reading_lies_before_it(life: EquipmentLife, on: int, counts: bool) -> None:
    assert life.counts_use_of(march(on)) is counts


def test_the_counter_starts_again_with_an_entry_and_ends_with_the_unit() -> None:
    life = EquipmentLife(march(2), march(8))
    used = [use(1, 50), use(3, 4), use(5, 2), use(6, 1), use(9, 70)]
    counters = [units_since(life, [entry("a", 5), entry("b", 9)], used, march(day)) for day in (2, 3, 4, 5, 6, 12)]
    assert counters == [0, 4, 4, 0, 1, 1]


def test_the_counter_knows_what_was_known() -> None:
    late = THEN + timedelta(days=9)
    entries, used = [entry("a", 5, recorded_at=late)], [use(3, 4), use(6, 1, recorded_at=late)]
    life = EquipmentLife(march(2))
    assert units_since(life, entries, used, march(7)) == 1
    assert units_since(life, entries, used, march(7), known_by=THEN) == 4


def test_a_share_is_of_the_days_asked_about() -> None:
    spans = (span(2, 6, IN_TIME, "a", 5, None), span(6, 8, OVERDUE, "a", 5, None), span(8, None, PAUSED, "p", 5, None))
    assert [share_in_time(spans, march(a), march(z)) for a, z in ((2, 8), (5, 7), (6, 7), (2, 6), (8, 20))] == [
        4 / 6, 0.5, 0.0, 1.0, None,
    ]  # fmt: skip


def test_use_after_the_next_entry_never_ends_the_stretch_before_it() -> None:
    """20 units are reached on the 5th and the 8th only by counting across an entry: each stretch is good for its seven days."""
    uses = [use(2, 15), use(5, 10), use(8, 10)]
    spans = upkeep_timeline(WEEKLY, EquipmentLife(march(1)), [entry("a", 3), entry("b", 6)], uses)
    assert [(s.first, s.cause, s.last_good) for s in spans if s.state is IN_TIME] == [
        (march(1), "opening", march(8)),
        (march(3), "a", march(10)),
        (march(6), "b", march(13)),
    ]


def test_what_lies_before_the_first_day_said_anything_about_counts_for_nothing() -> None:
    """An entry, and use, of before the opening reading: neither begins a stretch nor fills the counter."""
    life = EquipmentLife(march(1), opening_last_done=march(10))
    spans = upkeep_timeline(WEEKLY, life, [entry("early", 4)], [use(5, 30), use(10, 30)])
    assert spans[0] == span(10, 16, IN_TIME, "opening", 17, 20)


def test_use_after_the_last_day_in_service_counts_for_nothing() -> None:
    spans = upkeep_timeline(WEEKLY, EquipmentLife(march(1), march(5)), [], [use(3, 5), use(6, 50)])
    assert spans == (span(1, 6, IN_TIME, "opening", 8, 15),)


def test_by_use_alone_it_is_in_time_until_the_mark_and_overdue_from_the_next_day() -> None:
    spans = upkeep_timeline(TaskRule("U", every_units=10), EquipmentLife(march(1)), [], [use(5, 10)])
    assert spans == (span(1, 6, IN_TIME, "opening", 5, 0), span(6, None, OVERDUE, "use 5", 5, 0))


def test_where_only_a_pass_renews_neither_a_fail_nor_a_pause_moves_the_last_good_day() -> None:
    """T-10, for any interval; an ordinary task is renewed by both."""
    done, shut = [entry("fail", 3, passed=False)], [pause(4, 6)]
    weekly = TaskRule("U", every_days=7)
    for rule, good in ((weekly, 12), (TaskRule("U", every_days=7, only_a_pass=True), 8)):
        spans = upkeep_timeline(rule, EquipmentLife(march(1)), done, (), shut)
        assert (spans[-1].state, spans[-1].last_good) == (OVERDUE, march(good))


@pytest.mark.parametrize("warn_days", [7, 8, 5_000_000])
def test_a_warning_as_long_as_the_interval_or_longer_warns_from_the_day_after(warn_days: int) -> None:
    """However many days somebody types, also more than there were since the calendar began."""
    rule = TaskRule("U", every_days=7, warn_days=warn_days)
    assert upkeep_timeline(rule, EquipmentLife(march(1), march(9)), [entry("a", 1)]) == (
        span(1, 2, IN_TIME, "a", 8, None),
        span(2, 9, DUE, "a", 8, None),
        span(9, 10, OVERDUE, "a", 8, None),
    )


def test_a_pause_within_a_longer_one_does_not_end_it() -> None:
    """Closed from the 2nd up to the 10th, and in those days paused once more: seven counting days end on the 16th."""
    life, weekly = EquipmentLife(march(1), march(18)), TaskRule("U", every_days=7)
    pauses = [pause(2, 10, "long"), pause(3, 5, "short")]
    assert upkeep_timeline(weekly, life, [entry("a", 1)], pauses=pauses) == (
        span(1, 2, IN_TIME, "a", 16, None),
        span(2, 10, PAUSED, "long", 16, None),
        span(10, 16, IN_TIME, "a", 16, None),
        span(16, 17, DUE, "a", 16, None),
        span(17, 19, OVERDUE, "a", 16, None),
    )


def test_a_pause_that_nobody_ended_holds_through_the_last_day_in_service() -> None:
    life = EquipmentLife(march(1), march(18))
    assert upkeep_timeline(TaskRule("U", every_days=7), life, [entry("a", 1)], pauses=[pause(3, None)]) == (
        span(1, 3, IN_TIME, "a", None, None),
        span(3, 19, PAUSED, "pause", None, None),
    )


def test_the_counter_forgets_the_opening_reading_with_the_first_entry_and_each_entry_with_the_next() -> None:
    life = EquipmentLife(march(1), opening_last_done=march(1), opening_units=9)
    entries, uses = [entry("a", 4), entry("b", 8)], [use(2, 1), use(5, 3), use(9, 5)]
    counted = [units_since(life, entries, uses, march(day)) for day in (3, 4, 6, 8, 9)]
    assert counted == [10, 0, 3, 0, 5]
