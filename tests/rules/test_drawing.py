"""Pictures of days: what stands where, what it says, and that nothing covers anything else."""

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clinic.rules import drawing
from clinic.rules.spans import Span
from clinic.rules.words import day_words, short_day
from tests.rules.amount import examples

FIRST, AFTER, TODAY = date(2026, 1, 1), date(2027, 1, 1), date(2026, 7, 1)
DAYS = st.dates(FIRST, AFTER - timedelta(days=1))
MARKS = st.lists(st.tuples(DAYS, st.just("due"), st.text("abc ", max_size=20)), max_size=12)


def bars(*spans: Span[str], today: date = TODAY) -> tuple[drawing.Bar, ...]:
    return drawing.timeline(spans, FIRST, AFTER, today).bars


def test_a_day_stands_where_its_morning_begins() -> None:
    assert drawing.at(FIRST, FIRST, AFTER) == 0
    assert drawing.at(date(2026, 7, 2), FIRST, date(2026, 12, 31)) == pytest.approx(182 / 364)
    assert drawing.at(AFTER + timedelta(days=9), FIRST, AFTER) == 1


def test_a_picture_without_days_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one day"):
        drawing.at(FIRST, FIRST, FIRST)


def test_tall_means_may_work_alone() -> None:
    tall = {state for state, height in drawing.HEIGHTS.items() if height == drawing.TALL}
    assert tall == {"current", "due", "in time"}


def test_a_span_is_cut_after_today_and_the_rest_is_ahead() -> None:
    known, ahead = bars(Span(date(2026, 6, 1), date(2026, 8, 1), "current"))
    assert not known.ahead and ahead.ahead
    assert known.x + known.width == pytest.approx(drawing.at(TODAY + timedelta(days=1), FIRST, AFTER)) == ahead.x


def test_untrained_leaves_the_floor_alone() -> None:
    assert bars(Span(FIRST, None, "untrained")) == ()


def test_one_late_day_hangs_below_the_line_and_can_be_seen() -> None:
    (late,) = bars(Span(date(2026, 3, 1), date(2026, 3, 2), "overdue"))
    assert late.hangs
    assert late.width == drawing.LEAST_LATE


def test_a_late_last_day_stays_inside_the_picture() -> None:
    (late,) = bars(Span(date(2026, 12, 31), None, "overdue"), today=date(2026, 12, 31))
    assert late.x + late.width == pytest.approx(1)


def test_an_unknown_state_is_an_error_not_a_blank() -> None:
    with pytest.raises(KeyError):
        bars(Span(FIRST, None, "asleep"))


def test_coming_states_are_said_as_what_would_be() -> None:
    spans = [Span(date(2026, 2, 1), date(2026, 9, 1), "current"), Span(date(2026, 9, 1), None, "lapsed")]
    says = drawing.timeline(spans, FIRST, AFTER, TODAY).says
    assert says == "Current from 1 February 2026, would be lapsed from 1 September 2026"


def test_the_rule_says_its_days_and_marks_through_the_last_one() -> None:
    says = drawing.steel_rule(FIRST, AFTER, TODAY, [(date(2026, 12, 3), "due", "Ines, P04")]).says
    assert says == (
        "The days from 1 January 2026 through 31 December 2026, today is 1 July 2026. 3 December 2026: Ines, P04, due"
    )


def test_months_keep_their_names_and_years_their_numbers() -> None:
    named = [tick.words for tick in drawing.months(FIRST, AFTER, None) if tick.words]
    assert named == ["2026", "Mar", "May", "Jul", "Sep", "Nov"]


def test_mondays_are_longer_than_other_days() -> None:
    ticks = drawing.day_ticks(date(2026, 11, 23), date(2026, 12, 7))
    assert [tick.kind for tick in ticks].count("week") == 2
    assert ticks[0].kind == ticks[7].kind == "week"


def test_marks_outside_the_picture_are_left_out() -> None:
    assert drawing.steel_rule(FIRST, AFTER, TODAY, [(AFTER, "due", "")]).marks == ()


@settings(max_examples=examples(60), deadline=None)
@given(MARKS)
def test_every_mark_in_the_picture_is_drawn_once(marks: list[tuple[date, str, str]]) -> None:
    placed = drawing.steel_rule(FIRST, AFTER, TODAY, marks).marks
    assert [mark.x for mark in placed] == sorted(drawing.at(day, FIRST, AFTER) for day, _, _ in marks)
    assert all(0 <= mark.lane < drawing.MOST_LANES for mark in placed)


@settings(max_examples=examples(60), deadline=None)
@given(MARKS)
def test_words_never_cross_the_stem_of_a_later_mark(marks: list[tuple[date, str, str]]) -> None:
    placed = drawing.steel_rule(FIRST, AFTER, TODAY, marks).marks
    for index, mark in enumerate(placed):
        end = mark.x + drawing.BESIDE + len(mark.words) * drawing.LETTER
        crossed = [other for other in placed[index + 1 :] if other.x < end and other.lane >= mark.lane]
        assert not (mark.side == "right" and crossed)


@settings(max_examples=examples(60), deadline=None)
@given(st.lists(DAYS, min_size=2, max_size=8, unique=True), DAYS)
def test_bars_of_a_timeline_touch_and_never_cover(days: list[date], today: date) -> None:
    ordered = sorted(days)
    states = ["current", "due", "lapsed", "learning"] * 2
    spans = [Span(a, b, state) for a, b, state in zip(ordered, ordered[1:], states, strict=False)]
    drawn = bars(*spans, today=today)
    ends = [bar.x + bar.width for bar in drawn]
    assert [bar.x for bar in drawn[1:]] == pytest.approx(ends[:-1])


@pytest.mark.parametrize(
    ("day", "words"), [(date(2026, 12, 2), "2 December 2026"), (date(2026, 1, 31), "31 January 2026")]
)
def test_a_month_in_a_sentence_is_never_shortened(day: date, words: str) -> None:
    assert day_words(day) == words
    assert short_day(day) == f"{words[: words.index(' ') + 4]} 2026"
