"""The sentences of upkeep: what stands today, through when, and how often it is asked."""

from datetime import date

import pytest

from clinic.rules.upkeep_facts import TaskRule, UpkeepSpan, UpkeepState
from clinic.rules.wording import overdue_since, rule_sentence, units_done, upkeep_sentence
from clinic.rules.words import counted, day_words

FIRST, AFTER, TODAY = date(2026, 3, 2), date(2026, 3, 9), date(2026, 3, 4)
LAST = date(2026, 3, 8)
FINE, DUE, OVERDUE = UpkeepState.IN_TIME, UpkeepState.DUE, UpkeepState.OVERDUE


def says(state: UpkeepState, last_good: date | None = None, units_left: int | None = None, **words: str) -> str:
    return upkeep_sentence([UpkeepSpan(FIRST, AFTER, state, None, last_good, units_left)], TODAY, **words)


@pytest.mark.parametrize(
    ("given", "sentence"),
    [
        ((FINE,), "In time, with no interval set."),
        ((FINE, LAST), "In time through 8 March 2026."),
        ((DUE, LAST), "Due through 8 March 2026."),
        ((FINE, LAST, 5), "In time through 8 March 2026, or after 5 more parts."),
        ((FINE, LAST, 1), "In time through 8 March 2026, or after 1 more part."),
        ((FINE, None, 5), "In time until 5 more parts are made."),
        ((DUE, LAST, 0), "Due through 8 March 2026: the parts it may do are done."),
        ((DUE, None, 0), "Due: the parts it may do are done."),
        ((OVERDUE,), "Overdue since 2 March 2026, 3 days."),
        ((UpkeepState.PAUSED,), "Paused since 2 March 2026; the days do not count."),
        ((UpkeepState.OUT_OF_SERVICE,), "Out of service since 2 March 2026; the days do not count."),
    ],
)
def test_the_state_of_today_in_one_sentence(given: tuple, sentence: str) -> None:
    assert says(*given) == sentence


def test_another_word_for_what_is_counted() -> None:
    assert says(FINE, LAST, 1, word="uses", one="use") == "In time through 8 March 2026, or after 1 more use."
    assert says(FINE, LAST, 2, word="uses", one="use") == "In time through 8 March 2026, or after 2 more uses."


def test_outside_every_span_it_is_not_in_service() -> None:
    assert upkeep_sentence([UpkeepSpan(FIRST, AFTER, FINE)], AFTER) == "Not in service."
    assert upkeep_sentence([], TODAY) == "Not in service."


def test_an_overdue_run_begins_where_its_first_span_does() -> None:
    spans = [
        UpkeepSpan(date(2026, 2, 1), date(2026, 2, 9), OVERDUE),
        UpkeepSpan(date(2026, 2, 9), FIRST, FINE),
        UpkeepSpan(FIRST, TODAY, OVERDUE, "a"),
        UpkeepSpan(TODAY, AFTER, OVERDUE, "b"),
        UpkeepSpan(AFTER, None, FINE),
    ]
    found = [overdue_since(spans, day) for day in (date(2026, 2, 3), date(2026, 2, 9), FIRST, TODAY, LAST, AFTER)]
    assert found == [date(2026, 2, 1), None, FIRST, FIRST, FIRST, None]
    assert overdue_since(spans[2:3], AFTER) is None


@pytest.mark.parametrize(
    ("days", "units", "sentence"),
    [
        (7, 1200, "Every 7 days or 1,200 parts, whichever comes first."),
        (1, None, "Every day."),
        (None, 20, "Every 20 parts."),
        (None, None, "No interval set."),
    ],
)
def test_how_often(days: int | None, units: int | None, sentence: str) -> None:
    assert rule_sentence(TaskRule("U", every_days=days, every_units=units)) == sentence


def test_days_and_numbers_are_written_out() -> None:
    assert day_words(date(2026, 12, 2)) == "2 December 2026"
    assert [counted(n, "day") for n in (0, 1, 2, 1200)] == ["0 days", "1 day", "2 days", "1,200 days"]
    assert counted(2, "person", "people") == "2 people" and counted(1, "person", "people") == "1 person"
    assert units_done(1023, 2000) == "1,023 of 2,000 parts" and units_done(3, 4, "uses") == "3 of 4 uses"
