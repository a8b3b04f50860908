"""Nobody is overdue on the first morning, and use before the opening reading is not counted twice."""

from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clinic.rules.opening import Opening, opened_life, that_count
from clinic.rules.spans import on
from clinic.rules.upkeep import upkeep_timeline
from clinic.rules.upkeep_facts import EquipmentLife, TaskRule, UpkeepState, Use
from clinic.rules.what_counts import use_counts

START = date(2026, 3, 2)
NOW = datetime(2026, 3, 2, tzinfo=UTC)
RULE = TaskRule("U01", every_days=7, every_units=20, warn_days=1, plan_units=16)


def state(opening: Opening | None, day: date, rule: TaskRule = RULE) -> UpkeepState:
    span = on(upkeep_timeline(rule, opened_life(START, None, opening, rule)), day)
    assert span is not None
    return span.state


@pytest.mark.parametrize(
    "opening", [Opening(date(2025, 9, 1)), Opening(date(2026, 3, 1), 20), Opening(date(2025, 9, 1), 90)]
)
def test_what_was_past_its_day_is_due_on_the_first_morning_and_overdue_on_the_second(opening: Opening) -> None:
    assert state(opening, START) is UpkeepState.DUE
    assert state(opening, START + timedelta(days=1)) is UpkeepState.OVERDUE


@given(days=st.integers(0, 3000), units=st.integers(0, 500), every=st.integers(1, 400))
def test_nobody_is_overdue_on_the_first_morning(days: int, units: int, every: int) -> None:
    rule = TaskRule("U", every_days=every, every_units=20)
    assert state(Opening(START - timedelta(days=days), units), START, rule) is not UpkeepState.OVERDUE


def test_an_opening_reading_that_is_in_time_holds_as_it_is() -> None:
    life = opened_life(START, None, Opening(date(2026, 2, 27), 5), RULE)
    assert (life.last_done, life.opening_units, life.first) == (date(2026, 2, 27), 5, START)


def test_without_an_opening_reading_the_clock_starts_on_the_first_day() -> None:
    assert state(None, START + timedelta(days=5)) is UpkeepState.IN_TIME
    assert state(None, START + timedelta(days=8)) is UpkeepState.OVERDUE


def test_use_before_the_opening_day_lies_in_the_opening_reading() -> None:
    life = opened_life(START, None, Opening(date(2026, 2, 27), 5), RULE)
    before, on_it = (Use(id="u", day=day, recorded_at=NOW, units=5) for day in (START - timedelta(days=1), START))
    assert that_count([before, on_it], life) == [on_it]


def test_use_on_the_opening_day_counts_from_where_the_reading_stood() -> None:
    life = opened_life(START, None, Opening(date(2026, 2, 27), 15), RULE)
    use = Use(id="u", day=START, recorded_at=NOW, units=5)
    assert on(upkeep_timeline(RULE, life, uses=[use]), START + timedelta(days=1)).state is UpkeepState.OVERDUE


@pytest.mark.parametrize(
    ("kind", "wet", "dry", "unsaid"),
    [("coolant tank", True, False, True), ("suction unit", False, True, True), ("milling unit", True, True, True)],
)
def test_wet_work_counts_for_coolant_and_dry_work_for_suction(kind: str, wet: bool, dry: bool, unsaid: bool) -> None:
    assert (use_counts(kind, True), use_counts(kind, False), use_counts(kind, None)) == (wet, dry, unsaid)


@pytest.mark.parametrize(
    ("opening", "done", "units"),
    [(None, None, 0), (Opening(START, 30), START, 30), (Opening(START, 10), START, 10)],
)
def test_a_life_ends_with_the_unit_whatever_was_read_first(
    opening: Opening | None, done: date | None, units: int
) -> None:
    last = START + timedelta(days=400)
    found = opened_life(START, last, opening, TaskRule("U05", every_units=30))
    assert found == EquipmentLife(START, last, done, units)
