"""The first sentence of the upkeep pages, and the order of need."""

from datetime import date
from typing import Any

import pytest

from clinic.rules.due_wording import Care, CountedHead, counter_sentence, due_head, one_of, rank
from clinic.rules.upkeep_facts import TaskRule, UpkeepState

DUE, OVERDUE, FINE, OUT = UpkeepState.DUE, UpkeepState.OVERDUE, UpkeepState.IN_TIME, UpkeepState.OUT_OF_SERVICE
SINCE = date(2026, 3, 2)


def test_need_goes_from_overdue_to_not_in_service() -> None:
    order = [OVERDUE, DUE, UpkeepState.OUT_OF_SERVICE, FINE, UpkeepState.PAUSED, None]
    assert [rank(state) for state in order] == [0, 1, 2, 3, 4, 5]


def head(*states: UpkeepState | None, done: int = 1, **more: Any) -> CountedHead:
    return due_head(Care(states, done, **more))


@pytest.mark.parametrize(
    ("says", "names", "shown"),
    [
        ("2 tasks due.", ("due",), head(DUE, DUE, FINE)),
        ("1 task overdue since 2 March 2026, 1 task due.", ("overdue", "due"), head(DUE, OVERDUE, since=SINCE)),
        ("2 tasks overdue.", ("overdue",), head(OVERDUE, OVERDUE)),
        ("1 unit out of service, 2 readings out of limits.", ("stopped", "out"), head(FINE, OUT, stopped=1, out=2)),
    ],
)
def test_the_worst_is_said_first_with_what_each_number_counts(
    says: str, names: tuple[str, ...], shown: CountedHead
) -> None:
    assert (shown.says, shown.names) == (says, names)


@pytest.mark.parametrize(
    ("says", "shown"),
    [
        ("No unit is entered yet.", head()),
        ("Nothing is due. Everything is in time.", head(FINE, None)),
        ("Nothing is due yet. Nothing was done yet.", head(FINE, FINE, done=0)),
        ("Nothing is due: no task runs, because everything is paused or out of service.", head(OUT, None)),
        ("1 unit out of service.", head(OUT, OUT, stopped=1)),
    ],
)
def test_all_is_in_time_only_where_something_runs_and_was_done(says: str, shown: CountedHead) -> None:
    assert shown.says == says


def test_a_counter_stands_beside_its_limit_where_use_counts() -> None:
    rule = TaskRule(code="U", every_days=7, every_units=1200, warn_days=1, plan_units=None)
    assert counter_sentence(rule, 23, "parts") == "23 of 1,200 parts"
    by_days = TaskRule(code="U", every_days=7, every_units=None, warn_days=1, plan_units=None)
    assert counter_sentence(by_days, 23, "parts") == ""


def test_one_of_many() -> None:
    assert (one_of("parts"), one_of("uses")) == ("part", "use")
