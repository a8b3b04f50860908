"""Small pictures of days in full, and the same in words."""

from datetime import date, timedelta

import pytest

from clinic.rules.drawing import (
    BESIDE,
    LETTER,
    TAG_HANGS_RIGHT,
    Bar,
    DayMark,
    Picture,
    Tick,
    at,
    day_ticks,
    months,
    placed_marks,
    spans_in_words,
    steel_rule,
    timeline,
)
from clinic.rules.spans import Span
from clinic.rules.words import short_day
from tests.house.sources import ROOT

FIRST = date(2026, 2, 27)  # a Friday
AFTER = FIRST + timedelta(days=10)


def day(number: int) -> date:
    return FIRST + timedelta(days=number)


def test_a_rule_with_today_and_two_marks_in_full() -> None:
    days = [Tick(n / 10, "week" if n == 3 else "day") for n in range(10)]
    assert steel_rule(
        FIRST, AFTER, day(1), [(day(2), "lapsed", ""), (day(0), "due", "P1"), (day(10), "due", "late")]
    ) == (
        Picture(
            ticks=(*days, Tick(0.2, "month", "")),  # under the tag of today
            says="The days from 27 February 2026 through 8 March 2026, today is 28 February 2026."
            " 27 February 2026: P1, due. 1 March 2026: lapsed",
            today=0.1,
            today_says="28 Feb",
            marks=(DayMark(0.0, 0, "due", "P1", "right"), DayMark(0.2, 0, "lapsed", "", "none")),
            lanes=1,
        )
    )


def test_a_rule_without_today_and_marks_says_only_its_days() -> None:
    empty = steel_rule(FIRST, AFTER, None)
    assert (empty.today, empty.today_says, empty.marks, empty.lanes) == (None, "", (), 0)
    assert empty.says == "The days from 27 February 2026 through 8 March 2026"


def test_a_timeline_in_full() -> None:
    spans = (
        Span(day(-5), day(2), "untrained"),
        Span(day(2), day(6), "current"),
        Span(day(6), day(7), "overdue"),
        Span(day(7), None, "upkeep due"),
    )
    assert timeline(spans, FIRST, AFTER, day(3), [day(9), day(0), day(10), day(-1)]) == Picture(
        ticks=(Tick(0.2, "month", "Mar"),),
        says="Untrained from 22 February 2026, current from 1 March 2026, would be overdue from 5 March 2026,"
        " would be due from 6 March 2026",
        today=0.3,
        bars=(
            Bar(0.2, pytest.approx(0.2), 1.0, "current", ahead=False, hangs=False),
            Bar(0.4, pytest.approx(0.2), 1.0, "current", ahead=True, hangs=False),
            Bar(0.6, pytest.approx(0.1), 0.55, "overdue", ahead=True, hangs=True),
            Bar(0.7, pytest.approx(0.3), 0.55, "upkeep due", ahead=True, hangs=False),
        ),
        entries=(0.0, 0.9),
    )


def test_today_outside_the_picture_is_not_drawn() -> None:
    assert [timeline((), FIRST, AFTER, day(n)).today for n in (-1, 0, 9, 10)] == [None, 0.0, 0.9, None]


def test_a_late_day_is_never_too_narrow_to_see_nor_off_the_picture() -> None:
    year = date(2027, 2, 27)
    (bar,) = timeline([Span(date(2027, 2, 26), None, "overdue")], FIRST, year, day(400)).bars
    assert (bar.width, bar.x) == (0.01, 0.99)


def test_spans_that_only_touch_the_picture_are_not_told() -> None:
    spans = [Span(day(-3), day(0), "current"), Span(day(0), day(1), "due"), Span(day(10), None, "lapsed")]
    assert spans_in_words(spans, FIRST, AFTER, day(9)) == "Due from 27 February 2026"
    assert spans_in_words([], FIRST, AFTER, day(0)) == "Nothing is recorded in these days"


@pytest.mark.parametrize(("count", "kinds"), [(100, {"day", "week"}), (101, set())])
def test_days_are_ticked_while_they_can_be_told_apart(count: int, kinds: set[str]) -> None:
    assert {tick.kind for tick in day_ticks(FIRST, FIRST + timedelta(days=count))} == kinds


def names(first: date, after: date, today: date | None = None) -> list[str]:
    return [tick.words for tick in months(first, after, today) if tick.words]


def test_as_many_months_are_named_as_fit() -> None:
    assert names(date(2026, 1, 1), date(2026, 7, 31)) == ["2026", "Feb", "Mar", "Apr", "May", "Jun", "Jul"]
    assert names(date(2026, 1, 1), date(2026, 8, 2))[:3] == ["2026", "Mar", "May"]
    assert names(date(2026, 1, 1), date(2027, 4, 2))[:3] == ["2026", "Apr", "Jul"]
    assert names(date(2026, 1, 1), date(2028, 1, 2))[:3] == ["2026", "Jul", "2027"]
    assert names(date(2026, 1, 1), date(2030, 1, 2))[:3] == ["2026", "2027", "2028"]


def test_beyond_six_years_only_years_have_a_line() -> None:
    assert len(months(date(2020, 1, 1), date(2026, 1, 1), None)) == 72
    assert len(months(date(2020, 1, 1), date(2026, 1, 2), None)) == 7


def test_a_month_is_not_named_under_the_tag_of_today_or_where_it_would_run_off() -> None:
    first, after = date(2026, 1, 1), date(2026, 4, 11)  # a hundred days
    assert names(first, after, date(2026, 2, 11)) == ["2026", "Mar", "Apr"]
    assert names(first, after, date(2026, 2, 1)) == ["2026", "Feb", "Mar", "Apr"]
    assert names(first, date(2026, 4, 3)) == ["2026", "Feb", "Mar"]
    begun, end = date(2025, 11, 20), date(2026, 2, 28)  # today near the left edge: its tag hangs to the right
    assert names(begun, end, date(2025, 11, 29)) == ["2026", "Feb"]
    assert names(begun, end, date(2025, 12, 12)) == ["2026", "Feb"]
    assert at(date(2025, 12, 9), begun, end) < TAG_HANGS_RIGHT
    assert names(begun, end) == ["Dec", "2026", "Feb"]


def test_the_page_hangs_the_tag_on_the_side_that_the_rule_reckons_with() -> None:
    assert f"picture.today < {TAG_HANGS_RIGHT}" in (ROOT / "templates/parts/steel.html").read_text()


def test_words_go_left_at_the_right_edge_unless_an_earlier_mark_is_in_their_way() -> None:
    after = FIRST + timedelta(days=100)
    alone = placed_marks([(day(95), "due", "P01, P02")], FIRST, after)
    assert (alone[0].side, alone[0].lane) == ("left", 0)
    crowded = placed_marks([(day(88), "due", ""), (day(95), "due", "P01, P02")], FIRST, after)
    assert [mark.side for mark in crowded] == ["none", "none"]


def test_words_that_just_fit_go_right() -> None:
    words = "x" * 10
    after = FIRST + timedelta(days=1000)
    last = 1000 * (1 - (BESIDE + 10 * LETTER))
    sides = [placed_marks([(day(int(last) + more), "due", words)], FIRST, after)[0].side for more in (0, 1)]
    assert sides == ["right", "left"]


def test_one_whose_words_reach_the_next_goes_above_it_up_to_the_fourth_lane() -> None:
    marks = placed_marks([(day(n), "due", "P01") for n in range(6)], FIRST, FIRST + timedelta(days=100))
    assert [(mark.lane, mark.side) for mark in marks] == [
        (3, "none"), (3, "none"), (3, "right"), (2, "right"), (1, "right"), (0, "right"),
    ]  # fmt: skip


def test_days_stand_inside_the_picture_and_a_picture_has_days() -> None:
    assert [at(day(n), FIRST, AFTER) for n in (-1, 0, 5, 10, 11)] == [0.0, 0.0, 0.5, 1.0, 1.0]
    with pytest.raises(ValueError, match="needs at least one day"):
        at(FIRST, FIRST, FIRST)
    assert short_day(date(2026, 12, 2)) == "2 Dec 2026"
