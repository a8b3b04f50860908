"""The year of an upkeep task in words: only what is out of the ordinary, and what follows."""

from datetime import date, timedelta

import pytest

from clinic.rules import drawing
from clinic.rules.spans import Span

FIRST, AFTER, TODAY = date(2026, 1, 1), date(2027, 1, 1), date(2026, 6, 30)


def spans(*states: tuple[int, str]) -> list[Span[str]]:
    """Each state from its day of the year (0 is 1 January) to the next one's."""
    firsts = [FIRST + timedelta(days=n) for n, _ in states]
    return [
        Span(day, after, state) for day, after, (_, state) in zip(firsts, [*firsts[1:], None], states, strict=False)
    ]


def words(*states: tuple[int, str]) -> str:
    return drawing.year(spans(*states), FIRST, AFTER, TODAY).says


@pytest.mark.parametrize(
    ("states", "says"),
    [
        ([], "Nothing is recorded in these days"),
        ([(0, "in time")], "In time throughout"),
        ([(-9, "upkeep due"), (3, "in time")], "In time throughout"),
        ([(0, "in time"), (9, "overdue"), (10, "in time")], "Overdue on 10 January 2026, otherwise in time"),
        (
            [(0, "in time"), (9, "overdue"), (11, "in time"), (20, "paused"), (31, "in time")],
            "Overdue from 10 January 2026 through 11 January 2026, paused from 21 January 2026 through 31 January 2026, "
            "otherwise in time",
        ),
        ([(-5, "overdue"), (2, "in time")], "Overdue from 1 January 2026 through 2 January 2026, otherwise in time"),
        ([(179, "overdue")], "Overdue from 29 June 2026 through 30 June 2026"),
        ([(180, "overdue")], "Overdue on 30 June 2026"),
        (
            [(0, "in time"), (181, "upkeep due"), (190, "overdue")],
            "In time throughout; would be due from 1 July 2026, would be overdue from 10 July 2026",
        ),
        ([(181, "in time")], "Would be in time from 1 July 2026"),
        ([(365, "in time")], "Nothing is recorded in these days"),
        ([(-20, "overdue"), (0, "in time")], "In time throughout"),
    ],
)
def test_a_year_tells_what_was_out_of_the_ordinary_and_what_follows(states: list, says: str) -> None:
    assert words(*states) == says


def test_a_year_is_drawn_like_any_timeline_with_its_entries() -> None:
    kept = spans((0, "in time"))
    drawn, plain = (make(kept, FIRST, AFTER, TODAY, [TODAY]) for make in (drawing.year, drawing.timeline))
    assert (drawn.bars, drawn.entries, drawn.ticks, drawn.today) == (
        plain.bars,
        plain.entries,
        plain.ticks,
        plain.today,
    )
    assert len(drawn.entries) == 1
