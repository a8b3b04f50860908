"""Whole week plans: who watches whom, on which day, in which order."""

import pytest

from tests.rules.test_week import WEEK, day, days, need, watcher
from training.rules.week import Programme, Unsaved, UnsavedWhy, WeekPlan, WeekWatch, week_plan


def test_watches_stand_by_day_then_supervisor_then_as_they_were_asked() -> None:
    asked = [need("b", 4, at=days(1)), need("a", 4, at=days(1)), need("c", 4, at=days(0)), need("d", 4, procedure="Q")]
    plan = week_plan(asked, [watcher("x", 0, 1), watcher("w", 1, procedure="Q")], WEEK)
    assert plan == WeekPlan(
        (WeekWatch(day(0), "x", "c", 1), WeekWatch(day(1), "w", "d", 1), WeekWatch(day(1), "x", "b", 1), WeekWatch(day(1), "x", "a", 1)),
        (),
    )  # fmt: skip


@pytest.mark.parametrize("at", [(0, 1, 2, 3, 4), (1, 2, 3), (2, 4)])
@pytest.mark.parametrize("watches", [1, 3])
def test_the_earliest_day_that_both_are_at_work_is_taken(at: tuple[int, ...], watches: int) -> None:
    plan = week_plan([need("a", 4, watches, at=days(*at))], [watcher("w")], WEEK)
    assert plan.watches == (WeekWatch(day(at[0]), "w", "a", watches),)


def test_a_full_day_moves_the_later_ones_to_the_next() -> None:
    plan = week_plan([need(name, 4) for name in "abc"], [watcher("w")], WEEK, a_day=2)
    assert [watch.day for watch in plan.watches] == [day(0), day(0), day(1)]


def test_the_last_day_of_the_week_is_within_the_week() -> None:
    plan = week_plan([need("later", 5, lapses=2), need("edge", 4)], [watcher("w", 0)], WEEK, a_day=1)
    assert (plan.saved, plan.unsaved) == ({"edge"}, (Unsaved("later", UnsavedWhy.OTHERS_FIRST),))


def test_two_are_watched_by_two_on_one_day() -> None:
    asked = [need("a", 4, others=1), need("b", 4, others=1)]
    plan = week_plan(asked, [watcher("w", 0), watcher("x", 0)], WEEK, a_day=1)
    assert (plan.saved, [watch.watcher for watch in plan.watches]) == ({"a", "b"}, ["w", "x"])


def test_one_supervisor_on_two_days_is_one_supervisor() -> None:
    plan = week_plan([need("a", 4, 2, others=2)], [watcher("w", 0, 1)], WEEK)
    assert plan.unsaved == (Unsaved("a", UnsavedWhy.TOO_MUCH),)


def test_a_supervisor_may_watch_and_be_watched_on_one_day() -> None:
    plan = week_plan([need("w", 0), need("x", 0)], [watcher("w", 0), watcher("x", 0)], WEEK, a_day=1)
    assert plan.watches == (WeekWatch(day(0), "w", "x", 1), WeekWatch(day(0), "x", "w", 1))


def test_a_programme_that_cannot_be_solved_says_what_the_solver_found() -> None:
    programme = Programme([need("a", 4)], [(0, "w", day(0))], 1)
    programme.rows.append(({0: 1.0}, 5, 5))
    with pytest.raises(ArithmeticError, match="infeasible"):
        programme.solve([{0: 1.0}])
