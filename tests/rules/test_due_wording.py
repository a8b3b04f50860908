"""The first sentence of the upkeep pages, and the order of need."""

from datetime import date

import pytest

from clinic.rules.due_wording import counter_sentence, due_sentence, one_of, rank
from clinic.rules.upkeep_facts import TaskRule, UpkeepState

DUE, OVERDUE, FINE = UpkeepState.DUE, UpkeepState.OVERDUE, UpkeepState.IN_TIME
SINCE = date(2026, 3, 2)


def test_need_goes_from_overdue_to_not_in_service() -> None:
    order = [OVERDUE, DUE, UpkeepState.OUT_OF_SERVICE, FINE, UpkeepState.PAUSED, None]
    assert [rank(state) for state in order] == [0, 1, 2, 3, 4, 5]


@pytest.mark.parametrize(
    ("states", "since", "sentence"),
    [
        ([], None, "No unit is entered yet."),
        ([FINE, None], None, "Nothing is due. Everything is in time."),
        ([DUE], None, "1 thing is due, nothing is overdue."),
        ([DUE, DUE, FINE], None, "2 things are due, nothing is overdue."),
        ([DUE, OVERDUE], SINCE, "1 thing is due, 1 is overdue since 2 March 2026."),
        ([DUE, DUE, OVERDUE, OVERDUE], SINCE, "2 things are due, 2 are overdue since 2 March 2026."),
        ([OVERDUE], SINCE, "1 thing is overdue since 2 March 2026."),
        ([OVERDUE, OVERDUE, FINE], SINCE, "2 things are overdue since 2 March 2026."),
        ([DUE, OVERDUE], None, "1 thing is due, 1 is overdue."),
        ([OVERDUE, OVERDUE], None, "2 things are overdue."),
    ],
)
def test_how_many_are_due_and_overdue(states: list[UpkeepState | None], since: date | None, sentence: str) -> None:
    assert due_sentence(states, since) == sentence


def test_a_counter_stands_beside_its_limit_where_use_counts() -> None:
    rule = TaskRule(code="U", every_days=7, every_units=1200, warn_days=1, plan_units=None)
    assert counter_sentence(rule, 23, "parts") == "23 of 1,200 parts"
    by_days = TaskRule(code="U", every_days=7, every_units=None, warn_days=1, plan_units=None)
    assert counter_sentence(by_days, 23, "parts") == ""


def test_one_of_many() -> None:
    assert (one_of("parts"), one_of("uses")) == ("part", "use")
