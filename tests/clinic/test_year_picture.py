"""The year of an upkeep task as markup: a path for each kind of stretch, however many there are."""

from datetime import date, timedelta
from typing import Any

from clinic.rules.spans import Span
from clinic.rules.upkeep_facts import UpkeepState as S
from clinic.templatetags.register import drawn_year, year_picture

FIRST, DAYS = date(2026, 1, 1), 100
AFTER = FIRST + timedelta(days=DAYS)


def day(number: int) -> date:
    return FIRST + timedelta(days=number)


def drawn(*spans: Span[S], today: int = DAYS) -> dict:
    return drawn_year(spans, FIRST, AFTER, day(today), [day(10)])


def test_stretches_of_one_state_are_one_path() -> None:
    spans = [Span(day(n), day(n + 10), S.DUE if n % 20 else S.IN_TIME, f"entry {n}") for n in range(0, 100, 10)]
    bars = drawn(*spans)["bars"]
    assert set(bars) == {(False, "in time"), (False, "upkeep due")}
    assert bars[False, "in time"].count("M") == 5


def test_neighbours_that_differ_in_their_cause_alone_are_one_bar() -> None:
    bars = drawn(Span(day(0), day(10), S.IN_TIME, "entry 1"), Span(day(10), day(50), S.IN_TIME, "entry 2"))["bars"]
    assert bars == {(False, "in time"): "M0 29h500v-23H0z"}


def test_what_was_late_hangs_below_the_line_and_what_is_ahead_is_told_apart() -> None:
    bars = drawn(Span(day(0), day(50), S.OVERDUE), today=19)["bars"]
    assert bars == {(False, "overdue"): "M0 29h200v12.65H0z", (True, "overdue"): "M200 29h300v12.65H200z"}


def test_entries_are_dots_on_the_line() -> None:
    assert drawn(Span(day(0), None, S.IN_TIME))["dots"] == "M100 29h0"


def test_one_picture_is_not_taken_for_another() -> None:
    """Each is put together once, and told apart by all that it shows."""
    spans = (Span(day(0), None, S.IN_TIME, "entry 1"),)
    shown = {"spans": spans, "first": FIRST, "after": AFTER, "today": day(50), "entries": [day(10)], "label": "Purge"}
    others: list[dict[str, Any]] = [
        {"spans": (Span(day(0), None, S.OVERDUE, "entry 1"),)},
        {"first": day(-1)},
        {"after": day(150)},
        {"today": day(51)},
        {"entries": [day(11)]},
        {"label": "Rinse <b>"},
    ]
    pictures = [year_picture(**shown), *(year_picture(**(shown | other)) for other in others)]
    assert len(set(pictures)) == len(pictures) and year_picture(**shown) == pictures[0]
    assert "Rinse &lt;b&gt;" in pictures[-1]
