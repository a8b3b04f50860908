"""A water line is sampled more often while new, failed or changed, until two passes in a row: by stretches, and day by day.

The interval and the two passes are common practice, from memory (task U12 of the library).
"""

from datetime import date, timedelta
from itertools import pairwise

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from clinic.rules.closer import ReadSample, closer_spans, with_closer
from clinic.rules.spans import on
from clinic.rules.upkeep_facts import TaskRule
from tests.rules.amount import examples

START = date(2026, 3, 2)
RULE = TaskRule("U12", every_days=90, warn_days=14)
thorough = settings(max_examples=examples(150), deadline=None, suppress_health_check=list(HealthCheck))


def day(number: int) -> date:
    return START + timedelta(days=number)


def samples(*said: tuple[int, bool]) -> list[ReadSample]:
    return [ReadSample(day(number), passed) for number, passed in said]


def stretches(new: int | None, changed: list[int], *said: tuple[int, bool]) -> list[tuple[str, int, int | None]]:
    found = closer_spans(None if new is None else day(new), [day(n) for n in changed], samples(*said))
    return [(s.state, (s.first - START).days, (s.after - START).days if s.after else None) for s in found]


def test_a_line_that_always_passed_keeps_the_ordinary_interval() -> None:
    assert stretches(None, [], (0, True), (90, True)) == []


def test_a_new_line_is_sampled_more_often_until_its_second_pass() -> None:
    assert stretches(0, []) == [("new", 0, None)]
    assert stretches(0, [], (0, True)) == [("new", 0, None)]
    assert stretches(0, [], (0, True), (30, True), (120, True)) == [("new", 0, 30)]


def test_a_fail_starts_it_and_a_fail_between_two_passes_starts_the_count_again() -> None:
    assert stretches(None, [], (0, False), (5, True), (35, False), (40, True), (70, True)) == [("failed", 0, 70)]
    assert stretches(None, [], (0, False), (1, True), (2, True), (3, False)) == [("failed", 0, 2), ("failed", 3, None)]


def test_a_change_counts_after_the_samples_of_its_day() -> None:
    assert stretches(None, [10], (10, True), (11, True)) == [("changed", 10, None)]
    assert stretches(0, [1], (0, True), (1, True)) == [("new", 0, 1), ("changed", 1, None)]


def test_the_closer_interval_is_never_a_longer_one() -> None:
    spans = closer_spans(day(0), [], samples((10, True), (40, True)))
    weekly = TaskRule("U12", every_days=7)
    assert with_closer([(day(-50), RULE), (day(20), weekly)], spans, 30) == (
        (day(-50), RULE),
        (day(0), TaskRule("U12", every_days=30, warn_days=14)),
        (day(20), weekly),
        (day(40), weekly),
    )


def slow_closer(new: int | None, changed: list[int], said: list[tuple[int, bool]], number: int) -> bool:
    """One day by the text: something began it by then, and no two passes in a row came after it."""
    ends = [(n, 0, "begin") for n in [new] if n is not None]
    ends += [(n, 1, "pass" if passed else "begin") for n, passed in said] + [(n, 2, "begin") for n in changed]
    until = [what for n, _, what in sorted(ends, key=lambda e: e[:2]) if n <= number]
    if "begin" not in until:
        return False
    since = until[len(until) - until[::-1].index("begin") :]
    return len(since) < 2


numbers = st.integers(0, 20)


@thorough
@given(st.none() | numbers, st.lists(numbers, max_size=3), st.lists(st.tuples(numbers, st.booleans()), max_size=8))
def test_every_day_is_what_counting_by_hand_says(
    new: int | None, changed: list[int], said: list[tuple[int, bool]]
) -> None:
    said.sort(key=lambda one: one[0])
    spans = closer_spans(None if new is None else day(new), [day(n) for n in changed], samples(*said))
    for number in range(-1, 23):
        assert (on(spans, day(number)) is not None) == slow_closer(new, changed, said, number), number
    assert all(a.after is not None and a.after <= b.first for a, b in pairwise(spans))
