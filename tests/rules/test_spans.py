"""Spans: the look-up of a day, neighbours that are one, and days counted."""

from datetime import date, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from clinic.rules.spans import Span, days_in, merged, on
from tests.rules.amount import examples

START = date(2026, 3, 2)


def day(number: int) -> date:
    return START + timedelta(days=number)


def span(first: int, after: int | None, state: str = "a", cause: str | None = None) -> Span[str]:
    return Span(day(first), None if after is None else day(after), state, cause)


WEEK = (span(0, 2), span(2, 5, "b"), span(7, None, "c"))


def test_a_span_holds_from_its_first_day_up_to_its_end() -> None:
    assert [span(0, 2).holds_on(day(n)) for n in (-1, 0, 1, 2)] == [False, True, True, False]
    assert span(0, None).holds_on(day(9999))


def test_a_day_is_looked_up_and_outside_every_span_there_is_none() -> None:
    found = [on(WEEK, day(n)) for n in (-1, 0, 1, 2, 4, 5, 6, 7, 100)]
    assert [one and one.state for one in found] == [None, "a", "a", "b", "b", None, None, "c", "c"]
    assert on((), START) is None


def test_neighbours_with_equal_state_and_cause_become_one() -> None:
    assert merged([span(0, 2), span(2, 4)]) == (span(0, 4),)
    assert merged([span(0, 2), span(2, None)]) == (span(0, None),)


def test_another_state_another_cause_or_a_hole_parts_them() -> None:
    for apart in ([span(0, 2), span(2, 4, "b")], [span(0, 2), span(2, 4, "a", "c")], [span(0, 2), span(3, 4)]):
        assert merged(apart) == tuple(apart)


def test_empty_spans_vanish() -> None:
    assert merged([span(0, 0), span(0, 2), span(2, 1, "b"), span(2, 3)]) == (span(0, 3),)


@settings(max_examples=examples(100), deadline=None)
@given(st.integers(-3, 12), st.integers(-3, 12))
def test_days_in_wanted_states_are_counted_one_by_one(first: int, after: int) -> None:
    each = [on(WEEK, day(n)) for n in range(first, after)]
    wanted = sum(one is not None and one.state in "bc" for one in each)
    assert days_in(WEEK, day(first), day(after), lambda state: state in "bc") == wanted
