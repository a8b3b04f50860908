"""Where everything stands in the charts of judging and coverage: fractions of width and height."""

from datetime import date, timedelta

import pytest

from training.rules.coverage import DutyCoverage, DutyDay
from training.rules.drawing import CoverColumn, cover_picture, score_picture, share_picture

FIRST = date(2026, 3, 2)
AFTER = FIRST + timedelta(days=10)


def cover(*counts: int, minimum: int = 2, unsigned=()) -> DutyCoverage:
    days = [
        DutyDay(FIRST + timedelta(days=n), tuple("abcdef"[:count]), minimum, (), () if n in unsigned else ("s",))
        for n, count in enumerate(counts)
    ]
    return DutyCoverage("P", tuple(days), None)


def test_columns_are_as_tall_as_people_and_as_wide_as_their_days():
    picture = cover_picture(cover(4, 4, 1, 1, 1), FIRST, AFTER)
    assert picture.columns == (
        CoverColumn(x=0.0, width=0.2, height=1.0, missing=0.0, count=4),
        CoverColumn(x=0.2, width=pytest.approx(0.3), height=0.25, missing=0.25, count=1),
    )
    assert picture.least == 0.5


def test_the_least_sets_the_height_where_fewer_are_at_work():
    picture = cover_picture(cover(1, minimum=4), FIRST, AFTER)
    assert (picture.columns[0].height, picture.columns[0].missing, picture.least) == (0.25, 0.75, 1.0)


def test_days_without_a_signer_are_drawn_where_they_lie():
    picture = cover_picture(cover(2, 2, 2, 2, unsigned=(1, 2)), FIRST, AFTER)
    assert picture.unsigned == ((0.1, pytest.approx(0.2)),)


def test_a_duty_without_days_or_people_divides_by_nothing():
    empty = cover_picture(DutyCoverage("P", (), None), FIRST, AFTER)
    assert (empty.columns, empty.least, empty.says) == ((), 0.0, "No working day lies ahead")
    assert cover_picture(cover(0, minimum=0), FIRST, AFTER).columns[0].height == 0


def test_the_picture_is_told_in_words_and_has_its_months():
    picture = cover_picture(cover(2, 1), date(2026, 2, 20), AFTER)
    assert picture.says == "1 of 2 working days is covered, below the least on 3 March 2026"
    assert [tick.words for tick in picture.ticks] == ["Mar"]


def test_scores_stand_in_order_below_a_limit_that_leaves_room():
    picture = score_picture([1.0, 2.0], [True, False], 4.0, "two")
    top = 4.0 * 1.1 * 1.05
    assert [(one.x, one.y, one.met) for one in picture.points] == [(0.25, 1 / top, True), (0.75, 2 / top, False)]
    assert (picture.limit, picture.band, picture.says) == (4.0 / top, (), "two")


def test_a_score_above_the_limit_sets_the_height():
    picture = score_picture([9.0], [False], 4.0, "one")
    assert picture.points[0].y == 9.0 / (9.0 * 1.05) and picture.limit == 4.0 / (9.0 * 1.05)


def test_a_score_for_every_performance_or_an_error():
    with pytest.raises(ValueError, match="zip"):
        score_picture([1.0], [], 4.0, "")


def test_a_share_has_its_interval_around_it():
    picture = share_picture([(0.5, 0.2, 0.8), (0.75, 0.4, 0.9)], "says")
    assert [(one.x, one.y, one.met) for one in picture.points] == [(0.25, 0.5, True), (0.75, 0.75, True)]
    assert picture.band == ((0.25, 0.2, 0.8), (0.75, 0.4, 0.9))
    assert (picture.limit, picture.says) == (1.0, "says")


@pytest.mark.parametrize(
    ("count", "named"),
    [
        (1, ["1"]),
        (3, ["1", "2", "3"]),
        (11, ["1", "5", "10"]),
        (60, ["1", "10", "20", "30", "40", "50", "60"]),
        (120, ["1", "50", "100"]),
    ],
)
def test_performances_are_named_below_the_floor_as_far_as_they_stand_apart(count: int, named: list[str]) -> None:
    picture = score_picture([1.0] * count, [True] * count, 4.0, "")
    assert [says for _, says in picture.numbers] == named
    assert picture.numbers[0][0] == picture.points[0].x


def test_the_levels_of_a_chart_carry_their_words() -> None:
    shares = share_picture([(0.5, 0.2, 0.8)], "")
    assert shares.levels == ((1.0, "100 %"), (0.5, "50 %"))
    score = score_picture([1.0], [True], 2.5, "")
    assert score.levels == ((score.limit, "limit 2.5"),)


def test_one_person_where_one_is_the_least_fills_the_height():
    picture = cover_picture(cover(1, minimum=1), FIRST, AFTER)
    assert (picture.columns[0].height, picture.least) == (1.0, 1.0)
