"""Half-open stretches met with one another, and what lies outside them."""

from datetime import date, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.rules.amount import examples
from training.rules.stretches import both, outside

START = date(2026, 3, 2)


def day(number: int) -> date:
    return START + timedelta(days=number)


def days(stretches) -> set[int]:
    return {n for first, after in stretches for n in range(-5, 40) if first <= day(n) and (not after or day(n) < after)}


ends = st.none() | st.integers(-2, 30)
kinds = st.lists(st.tuples(st.integers(-3, 30), ends), max_size=4).map(
    lambda pairs: [(day(first), None if last is None else day(max(first + 1, last))) for first, last in pairs]
)


@settings(max_examples=examples(100), deadline=None)
@given(kinds, kinds)
def test_both_hold_on_the_days_on_which_each_does(ones, others):
    found = list(both(ones, others))
    assert days(found) == days(ones) & days(others)
    assert all(after is None or first < after for first, after in found)


@settings(max_examples=examples(100), deadline=None)
@given(kinds, st.integers(-5, 20), st.integers(0, 20))
def test_outside_are_the_days_between_that_no_stretch_holds(stretches, first, length):
    found = list(outside(stretches, day(first), day(first + length)))
    assert days(found) == set(range(first, first + length)) - days(stretches)
    assert all(begin < end for begin, end in found)


def test_what_has_no_end_stays_without_one():
    assert list(both([(day(0), None)], [(day(3), None)])) == [(day(3), None)]
