"""What needs whoever looks, and whom to watch first."""

from datetime import date, timedelta
from typing import Any

import pytest

from training.rules.facts import State
from training.rules.today import Candidate, WatchBy, whom_to_watch
from training.rules.today_needs import NeedKind, Needs, first_sentence, worst_sentence

TODAY = date(2025, 3, 3)
EVE = TODAY - timedelta(days=1)


def one(state: State, **more: Any) -> Candidate:
    return Candidate("1", more.pop("name", "Wren Adeyemi"), "P01", state, **more)


@pytest.mark.parametrize(
    ("needs", "says"),
    [
        (Needs(()), "Nothing needs you today."),
        (Needs((NeedKind.MISS,)), "One thing needs you today: one critical miss to answer."),
        (
            Needs((NeedKind.SIGN, NeedKind.OVERDUE, NeedKind.OVERDUE)),
            "Three things need you today: two overdue upkeep tasks and one sign-off to read.",
        ),
    ],
)
def test_the_first_sentence_counts_what_needs_somebody(needs: Needs, says: str) -> None:
    assert first_sentence(needs) == says


def test_the_worst_is_said_first_whatever_the_order_of_the_rows() -> None:
    needs = Needs(
        (
            NeedKind.SIGN,
            NeedKind.UNSENT,
            NeedKind.APPROVAL,
            NeedKind.UNCOVERED,
            NeedKind.OUT,
            NeedKind.OUT,
            NeedKind.STOPPED,
        )
    )
    assert worst_sentence(needs) == (
        "One unit out of service, two readings out of limits, one duty without anybody, one version to approve, "
        "one observation not sent and one sign-off to read."
    )
    assert needs.counts == "need stopped out uncovered approval unsent sign"


def test_a_version_to_approve_is_no_emergency_and_a_stopped_unit_is() -> None:
    assert [Needs((kind,)).is_urgent for kind in (NeedKind.APPROVAL, NeedKind.STOPPED)] == [False, True]


def test_where_nothing_needs_anybody_the_next_thing_to_learn_is_named() -> None:
    assert first_sentence(Needs(()), "Tool swap (P03)", TODAY) == "Learn next: Tool swap (P03), by 3 March 2025."


def test_what_is_late_goes_before_what_is_next() -> None:
    assert first_sentence(Needs((NeedKind.LEARN,)), "Tool swap (P03)", TODAY).startswith("One thing needs you today")


def test_the_renewal_that_ends_first_is_watched_first() -> None:
    late, soon = one(State.DUE, ends_on=date(2025, 5, 1)), one(State.DUE, ends_on=date(2025, 3, 9))
    learner = one(State.LEARNING, due=date(2025, 4, 1))
    assert [watch.who for watch in whom_to_watch([late, soon, learner], TODAY)] == [soon, learner, late]


def test_whose_evidence_is_enough_waits_for_a_signature_not_for_a_look() -> None:
    assert whom_to_watch([one(State.DUE, ends_on=TODAY, enough=True)], TODAY) == []


@pytest.mark.parametrize(("due", "count"), [(None, 0), (date(2025, 4, 2), 1), (date(2025, 4, 3), 0)])
def test_who_has_not_begun_is_named_from_thirty_days_before_the_due_day(due: date | None, count: int) -> None:
    assert len(whom_to_watch([one(State.UNTRAINED, due=due)], TODAY)) == count


@pytest.mark.parametrize("state", [State.CURRENT, State.ON_HOLD, State.WITHDRAWN])
def test_others_are_not_asked_to_be_watched(state: State) -> None:
    assert whom_to_watch([one(state, due=TODAY)], TODAY) == []


def test_a_lapsed_one_is_watched_only_where_the_role_still_asks_for_it() -> None:
    lapsed = one(State.LAPSED, since=TODAY, due=TODAY)
    assert whom_to_watch([one(State.LAPSED, since=TODAY), lapsed], TODAY)[0].says == "Lapsed since 3 March 2025."
    assert len(whom_to_watch([one(State.LAPSED, since=TODAY), lapsed], TODAY)) == 1


@pytest.mark.parametrize(
    ("state", "given", "by", "says"),
    [
        (State.DUE, {"ends_on": TODAY}, TODAY, "May work alone through 3 March 2025; renewal is due."),
        (State.DUE, {}, None, ""),
        (State.LAPSED, {"due": TODAY, "since": TODAY}, TODAY, "Lapsed since 3 March 2025."),
        (State.LAPSED, {"due": TODAY}, None, "Lapsed."),
        (State.LEARNING, {}, None, "Learning."),
        (State.LEARNING, {"due": TODAY}, TODAY, "Learning; due 3 March 2025."),
        (State.UNTRAINED, {"due": EVE}, EVE, "Nothing seen yet; was due 2 March 2025."),
        (State.UNTRAINED, {"due": TODAY}, TODAY, "Nothing seen yet; due 3 March 2025."),
    ],
)
def test_whom_to_watch_in_full(state: State, given: dict, by: date | None, says: str) -> None:
    whom = one(state, **given)
    assert whom_to_watch([whom], TODAY) == [WatchBy(whom, by, says)]


def test_what_to_learn_next_needs_no_day() -> None:
    assert first_sentence(Needs(()), "tool swap (P03)") == "Learn next: tool swap (P03)."
