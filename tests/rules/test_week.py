"""The week plan: small rules, and every random small case against trying every possibility."""

from collections import Counter
from collections.abc import Iterator
from datetime import date, timedelta
from itertools import combinations, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.rules.amount import examples
from training.rules.week import Need, Unsaved, UnsavedWhy, Watcher, WeekWatch, week_plan

MONDAY = date(2026, 3, 2)


def day(number: int) -> date:
    return MONDAY + timedelta(days=number)


def days(*numbers: int) -> frozenset[date]:
    return frozenset(day(number) for number in numbers)


WEEK = tuple(day(number) for number in range(5))
ALL = frozenset(WEEK)


def need(name: str, last: int, watches: int = 1, **more) -> Need:
    return Need(
        name, more.pop("person", name), more.pop("procedure", "P"), day(last), watches, more.pop("at", ALL), **more
    )


def watcher(name: str, *numbers: int, procedure: str = "P") -> Watcher:
    return Watcher(name, {procedure: days(*numbers) if numbers else ALL})


def test_one_who_lapses_is_watched_on_the_first_day_both_are_at_work():
    plan = week_plan([need("a", 4, at=days(2, 3))], [watcher("w", 1, 3, 4)], WEEK)
    assert plan.watches == (WeekWatch(day(3), "w", "a", 1),)


def test_nobody_watches_himself_or_without_authority_or_after_the_last_good_day():
    plan = week_plan(
        [need("w", 4), need("late", 1), need("other", 4, procedure="Q")], [watcher("w", 2, 3)], WEEK
    )  # fmt: skip
    assert plan.unsaved == (
        Unsaved("late", UnsavedWhy.NOBODY),
        Unsaved("other", UnsavedWhy.NOBODY),
        Unsaved("w", UnsavedWhy.NOBODY),
    )


def test_what_else_is_missing_comes_first():
    plan = week_plan([need("a", 4, blocked=("The knowledge check is not passed.",))], [watcher("w")], WEEK)
    assert plan.unsaved == (Unsaved("a", UnsavedWhy.BLOCKED),)


def test_who_lapses_this_week_goes_before_more_who_lapse_later():
    plan = week_plan([need("soon", 1, 2), need("later", 20), need("last", 21)], [watcher("w", 0)], WEEK, a_day=2)
    assert plan.saved == {"soon"}
    assert {one.why for one in plan.unsaved} == {UnsavedWhy.OTHERS_FIRST}


def test_one_on_which_others_rest_counts_with_them():
    plan = week_plan([need("alone", 20), need("base", 21, lapses=3)], [watcher("w", 0)], WEEK, a_day=1)
    assert plan.saved == {"base"}


def test_the_sooner_last_good_day_decides_between_equals():
    plan = week_plan([need("later", 21), need("sooner", 20)], [watcher("w", 0)], WEEK, a_day=1)
    assert plan.saved == {"sooner"}


def test_different_days_and_different_people_are_kept():
    plan = week_plan([need("a", 4, 2, apart=2)], [watcher("w", 0, 1)], WEEK)
    assert [watch.day for watch in plan.watches] == [day(0), day(1)]
    plan = week_plan([need("a", 4, 2, others=1, counted=frozenset("w"))], [watcher("w", 0), watcher("x", 3)], WEEK)
    assert {watch.watcher for watch in plan.watches} == {"w", "x"}


def test_what_never_fits_is_told_from_what_others_take():
    assert week_plan([need("a", 4, 2, apart=2)], [watcher("w", 0)], WEEK).unsaved == (
        Unsaved("a", UnsavedWhy.TOO_MUCH),
    )


def test_a_need_without_a_watch_is_refused():
    with pytest.raises(ValueError, match=r"^A need without a watch only waits for a signature\.$"):
        week_plan([need("a", 4, 0)], [watcher("w")], WEEK)


def test_nothing_to_save_is_an_empty_week():
    assert week_plan([], [watcher("w")], WEEK).watches == ()


# ---- every possibility tried ----

SMALL = tuple(day(number) for number in range(3))
some_days = st.frozensets(st.sampled_from(SMALL))
watchers_made = st.lists(st.fixed_dictionaries({"P": some_days, "Q": some_days}), min_size=1, max_size=2)
needs_made = st.lists(
    st.builds(
        dict,
        person=st.sampled_from(["a", "b", "0"]),
        procedure=st.sampled_from("PQ"),
        last=st.integers(0, 6),
        watches=st.integers(1, 2),
        lapses=st.integers(1, 3),
        at=some_days,
        apart=st.integers(1, 2),
        others=st.integers(0, 2),
        counted=st.frozensets(st.sampled_from("01")),
    ),
    max_size=3,
)


def ways(one: Need, watchers: list[Watcher]) -> Iterator[tuple[tuple[str, date], ...]]:
    """Every way to watch a need, by itself."""
    open_slots = [
        (w.id, d) for w in watchers for d in SMALL
        if w.id != one.person and d in one.days and d in w.may[one.procedure] and d <= one.last_good
    ]  # fmt: skip
    for chosen in combinations(sorted(open_slots * one.watches), one.watches):
        enough_days = len({d for _, d in chosen}) >= one.apart
        if enough_days and len({w for w, _ in chosen} - one.counted) >= one.others:
            yield chosen


def fits(needs: tuple[Need, ...], watchers: list[Watcher], a_day: int) -> bool:
    for chosen in product(*(set(ways(one, watchers)) for one in needs)):
        load = Counter((who, d) for way in chosen for who, d in way)
        load += Counter(
            ("watched " + one.person, d) for one, way in zip(needs, chosen, strict=True) for _, d in way
        )  # fmt: skip
        if max(load.values(), default=0) <= a_day:
            return True
    return False


def rank(needs: tuple[Need, ...]) -> tuple[int, int, int]:
    soon = sum(one.lapses for one in needs if one.last_good <= SMALL[-1])
    return soon, sum(one.lapses for one in needs), -sum((one.last_good - MONDAY).days for one in needs)


@settings(max_examples=examples(150), deadline=None)
@given(needs_made, watchers_made, st.integers(1, 2))
def test_the_plan_saves_as_much_as_trying_every_possibility(made, may, a_day):
    needs = [need(f"n{n}", **one) for n, one in enumerate(made)]
    watchers = [Watcher(str(n), one) for n, one in enumerate(may)]
    plan = week_plan(needs, watchers, SMALL, a_day)
    saved = tuple(one for one in needs if one.id in plan.saved)
    subsets = [chosen for size in range(len(needs) + 1) for chosen in combinations(needs, size)]
    assert rank(saved) == max(rank(chosen) for chosen in subsets if fits(chosen, watchers, a_day))
    assert keeps_every_rule(saved, watchers, plan.watches, a_day)


def keeps_every_rule(
    saved: tuple[Need, ...], watchers: list[Watcher], watches: tuple[WeekWatch, ...], a_day: int
) -> bool:
    """The assignment itself is one of the ways of each need, within what a day holds."""
    given_to = {
        one.id: tuple(sorted((w.watcher, w.day) for w in watches if w.need == one.id for _ in range(w.times)))
        for one in saved
    }
    load = Counter((w.watcher, w.day) for w in watches for _ in range(w.times))
    return all(given_to[one.id] in set(ways(one, watchers)) for one in saved) and max(load.values(), default=0) <= a_day


@settings(max_examples=examples(100), deadline=None)
@given(needs_made, watchers_made, st.integers(1, 2))
def test_every_need_is_saved_or_named_with_the_reason(made, may, a_day):
    needs = [need(f"n{n}", **one) for n, one in enumerate(made)]
    watchers = [Watcher(str(n), one) for n, one in enumerate(may)]
    plan = week_plan(needs, watchers, SMALL, a_day)
    assert plan.saved | {one.need for one in plan.unsaved} == {one.id for one in needs}
    for one in plan.unsaved:
        it = next(each for each in needs if each.id == one.need)
        assert (one.why is UnsavedWhy.OTHERS_FIRST) == fits((it,), watchers, a_day)
