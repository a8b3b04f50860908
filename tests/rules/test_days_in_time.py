"""Days in time: counted by the day, paused days for neither, and every day once."""

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from clinic.rules.days_in_time import DaysInTime, days_in_time, late_stretches, share_words, stretch_words, together
from clinic.rules.spans import Span, on
from clinic.rules.upkeep_facts import UpkeepState as S
from clinic.rules.upkeep_shares import share_in_time

START = date(2026, 3, 1)
DAY = timedelta(days=1)
TIMELINES = st.lists(st.tuples(st.integers(1, 9), st.sampled_from(list(S))), min_size=1, max_size=8)
PERIODS = st.tuples(st.integers(-5, 30), st.integers(0, 40))


def timeline(*parts: tuple[int, S]) -> tuple[Span[S], ...]:
    """Stretches of so many days each, from the start."""
    spans, first = [], START
    for days, state in parts:
        spans.append(Span(first, first + days * DAY, state))
        first += days * DAY
    return tuple(spans)


def test_due_is_in_time_and_a_pause_counts_for_neither() -> None:
    spans = timeline((5, S.IN_TIME), (2, S.DUE), (3, S.OVERDUE), (4, S.PAUSED), (1, S.OUT_OF_SERVICE))
    assert days_in_time(spans, START, START + 14 * DAY) == DaysInTime(good=7, overdue=3, stopped=5)


def test_without_a_day_there_is_no_share() -> None:
    assert share_words(days_in_time((), START, START)) == "no day counts"


def test_a_share_is_never_rounded_up_to_all() -> None:
    assert share_words(DaysInTime(good=999, overdue=1)) == "999 of 1,000 days"


def test_a_stretch_is_said_with_both_its_days() -> None:
    (run,) = late_stretches(timeline((2, S.IN_TIME), (3, S.OVERDUE)), START, START + 30 * DAY)
    assert stretch_words(run) == "3 March 2026 through 5 March 2026, 3 days"


@given(TIMELINES, PERIODS)
def test_it_is_the_count_of_the_days_one_by_one(parts: list[tuple[int, S]], period: tuple[int, int]) -> None:
    spans, first = timeline(*parts), START + period[0] * DAY
    last = first + period[1] * DAY
    states = [span.state for n in range(period[1] + 1) if (span := on(spans, first + n * DAY))]
    good, late = sum(s in (S.IN_TIME, S.DUE) for s in states), states.count(S.OVERDUE)
    assert days_in_time(spans, first, last) == DaysInTime(good, late, len(states) - good - late)


@given(TIMELINES, PERIODS)
def test_the_late_stretches_hold_every_overdue_day_once(parts: list[tuple[int, S]], period: tuple[int, int]) -> None:
    spans, first = timeline(*parts), START + period[0] * DAY
    last = first + period[1] * DAY
    days = [start + n * DAY for start, end in late_stretches(spans, first, last) for n in range((end - start).days + 1)]
    every = [first + n * DAY for n in range(period[1] + 1)]
    assert days == [day for day in every if (span := on(spans, day)) and span.state is S.OVERDUE]


@given(TIMELINES, st.integers(0, 40))
def test_it_agrees_with_the_share_of_one_task(parts: list[tuple[int, S]], cut: int) -> None:
    spans, last = timeline(*parts), START + 40 * DAY
    middle = START + cut * DAY
    both = together((days_in_time(spans, START, middle - DAY), days_in_time(spans, middle, last)))
    assert both.share == share_in_time(spans, START, last + DAY)
