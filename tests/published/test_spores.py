"""Handbook section 2 (rows W-16 to W-19): spore tests of a steriliser.

Marks: V read in the source (CDC 2003), M from memory, D own design.
"""

from collections.abc import Iterable
from dataclasses import replace
from datetime import date, timedelta
from functools import reduce

import pytest

from clinic.rules.spores import (
    Event,
    Monitors,
    RecallDone,
    Repaired,
    SporeResult,
    SporeState,
    SporeTest,
    Status,
    following,
    judged,
    load_refusals,
    result_of,
    story_after,
    story_sentence,
    what_to_do,
)


def status_after(events: Iterable[Event], status: Status | None = None) -> Status:
    """The steriliser after the events, in their order."""
    return reduce(following, events, status or Status())


MONDAY = date(2026, 6, 1)


def spore_test(grew: bool | None = False, days: int = 0, **more: object) -> SporeTest:
    facts = {"control_grew": True, "test_lot": "L7", "control_lot": "L7"} | more
    return SporeTest(MONDAY + timedelta(days=days), grew, **facts)


def run(*grew: bool) -> list[Event]:
    """Repaired, then challenges with the chamber empty."""
    return [Repaired(MONDAY), *(spore_test(one, days, empty_chamber=True) for days, one in enumerate(grew, 1))]


PASS, FAIL = spore_test(), spore_test(grew=True, days=7)


def test_a_control_of_another_lot_makes_the_test_invalid() -> None:
    """W-16, V."""
    assert judged(spore_test(control_lot="L8")) is SporeResult.INVALID
    assert judged(spore_test(test_lot="", control_lot="")) is SporeResult.INVALID


LOADS = [
    ((True, True, True, False), 0),
    ((True, True, False, True), 0),
    ((True, True, False, False), 1),
    ((True, False, True, True), 1),
    ((False, False, False, False), 3),
]


@pytest.mark.parametrize(("monitors", "refusals"), LOADS)
def test_a_load_needs_its_readings_and_its_indicators(monitors: tuple[bool, ...], refusals: int) -> None:
    """W-17, V: inside each pack, and outside where the inside one cannot be seen; all missing pieces at once."""
    assert len(load_refusals(Monitors(*monitors))) == refusals


TRUTH = [
    pytest.param(False, True, SporeResult.PASS, id="W-19 M+D (−,+) pass"),
    pytest.param(True, True, SporeResult.FAIL, id="W-19 M+D (+,+) fail"),
    pytest.param(True, False, SporeResult.FAIL, id="W-19 M+D (+,−) fail"),
    pytest.param(False, False, SporeResult.INVALID, id="W-19 M+D (−,−) invalid"),
]


@pytest.mark.parametrize(("test_grew", "control_grew", "result"), TRUTH)
def test_the_truth_table(test_grew: bool, control_grew: bool, result: SporeResult) -> None:
    assert result_of(test_grew, control_grew) is result


def test_a_positive_takes_it_out_and_holds_the_packs_since_the_last_pass() -> None:
    """W-18, V; the hold at the first positive M+D."""
    status = status_after([PASS, FAIL])
    assert status == Status(SporeState.OUT, last_pass=MONDAY, hold=True, since=MONDAY)
    assert "Hold every unused pack since the pass of 1 June 2026." in what_to_do(status)


def test_a_negative_repeat_with_fine_readings_lifts_the_hold() -> None:
    """W-18, V."""
    repeat = spore_test(days=8)
    assert status_after([PASS, FAIL, repeat]) == Status(SporeState.IN_USE, last_pass=repeat.day)


def test_a_negative_repeat_with_failed_readings_does_not() -> None:
    """W-18, V: "repeat negative and readings fine"."""
    assert status_after([PASS, FAIL, spore_test(days=8, readings_fine=False)]).state is SporeState.OUT


def test_a_positive_repeat_asks_repair_and_recall() -> None:
    """W-18, V."""
    status = status_after([PASS, FAIL, FAIL])
    assert (status.state, status.recall, status.last_pass) == (SporeState.REPAIR, True, MONDAY)
    assert "Recall and reprocess every pack since the pass of 1 June 2026." in what_to_do(status)


CHALLENGES = [
    pytest.param((False, False), SporeState.REPAIR, 2, id="W-18 M two negatives are not enough"),
    pytest.param((False, False, False), SporeState.IN_USE, 0, id="W-18 M three negatives return it"),
    pytest.param((False, False, True), SporeState.REPAIR, 0, id="W-18 M a positive resets the count"),
    pytest.param((False, False, True, False, False), SporeState.REPAIR, 2, id="W-18 M the count starts again"),
    pytest.param((False, False, True, False, False, False), SporeState.IN_USE, 0, id="W-18 M and then returns it"),
]


@pytest.mark.parametrize(("grew", "state", "runs"), CHALLENGES)
def test_three_passes_in_a_row_after_the_repair(grew: tuple[bool, ...], state: SporeState, runs: int) -> None:
    status = status_after([PASS, FAIL, FAIL, *run(*grew)])
    assert (status.state, status.clean_runs) == (state, runs)


@pytest.mark.parametrize(
    "why", [{"readings_fine": False}, {"implant": True}], ids=["W-18 V+D reading", "W-18 V+D implant"]
)
def test_a_failed_reading_or_an_implant_load_recalls_at_the_first_positive(why: dict[str, bool]) -> None:
    status = status_after([PASS, spore_test(True, 7, **why)])
    assert (status.state, status.hold, status.recall) == (SporeState.OUT, True, True)


def test_an_invalid_test_is_repeated_before_any_release() -> None:
    """W-19, M+D."""
    invalid = status_after([PASS, spore_test(days=7, control_grew=False)])
    assert (invalid.state, invalid.hold, invalid.state.is_usable) == (SporeState.REPEAT, True, False)
    assert status_after([spore_test(days=8)], invalid).state is SporeState.IN_USE
    assert status_after([FAIL], invalid).state is SporeState.OUT


WAITING = spore_test(None, days=8, control_grew=None)


def test_no_result_is_no_pass() -> None:
    """W-19: every pass of the truth table has a test that was read."""
    assert judged(WAITING) is SporeResult.WAITING
    assert judged(spore_test(None, control_grew=True)) is SporeResult.WAITING


@pytest.mark.parametrize("before", [[PASS], [PASS, FAIL], [PASS, FAIL, FAIL], [PASS, spore_test(control_grew=False)]])
def test_put_in_and_not_read_releases_nothing_and_heals_nothing(before: list[Event]) -> None:
    """W-18, W-19: only a repeat that is negative ends a hold; what was not read is neither."""
    status = status_after([*before, WAITING])
    assert replace(status, waiting=()) == status_after(before)
    assert "nothing is released by it before" in " ".join(what_to_do(status))


def test_a_challenge_that_is_not_read_is_no_pass_after_the_repair() -> None:
    """W-18, M: three passes."""
    waits = replace(WAITING, empty_chamber=True)
    assert status_after([PASS, FAIL, FAIL, *run(False, False), waits]).clean_runs == 2


def test_the_recall_reaches_to_the_last_good_test_before_the_first_failed_one_and_stays_so() -> None:
    """W-18: recall and reprocess as far back as the last negative. Later passes bring no pack back."""
    passes = [spore_test(days=day) for day in (0, 7, 14)]
    fails = [spore_test(True, day) for day in (21, 22)]
    back = run(False, False, False)
    later = [spore_test(days=day) for day in (28, 35)]
    recall = "Recall and reprocess every pack since the pass of 15 June 2026."
    for events in ([*passes, *fails], [*passes, *fails, *back], [*passes, *fails, *back, *later]):
        assert recall in what_to_do(status_after(events))
    assert what_to_do(status_after([*passes, *fails, *back, *later, RecallDone(MONDAY)])) == []


def test_a_fail_that_is_read_late_reaches_back_before_the_test_and_not_before_the_reading() -> None:
    """W-18: the packs since the last negative; a pass that was put in after the failed test clears none of them."""
    late = spore_test(True, 7, read_on=MONDAY + timedelta(days=10))
    status = status_after([PASS, spore_test(days=8), late])
    assert (status.state, status.since) == (SporeState.OUT, MONDAY)
    assert "Hold every unused pack since the pass of 1 June 2026." in what_to_do(status)


def told(*events: Event) -> str:
    return story_sentence(story_after(events))


def test_the_story_says_since_when_it_is_out_and_why() -> None:
    """CDC 2003 (W-18, V): out of service at the first positive."""
    assert told(PASS, FAIL) == "Out of service since 8 June 2026: a spore test failed."


def test_the_story_says_that_one_good_repeat_brings_it_back() -> None:
    """CDC 2003 (W-18, V): repeat negative → in use."""
    assert (
        told(PASS, FAIL, spore_test(days=8)) == "In use again since 9 June 2026, after 1 pass (out since 8 June 2026)."
    )


def test_the_story_says_that_three_passes_bring_it_back_after_a_repair() -> None:
    """W-18, M: three passes in a row with the chamber empty."""
    runs = run(False, False, False)
    assert told(FAIL, FAIL, *runs) == "In use again since 4 June 2026, after 3 passes (out since 8 June 2026)."


@pytest.mark.parametrize(("grew", "says"), [((False, False), "2 of 3 passes"), ((False, False, True), "0 of 3 passes")])
def test_the_story_counts_the_passes_since_the_repair(grew: tuple[bool, ...], says: str) -> None:
    """W-18, M: two passes, then a fail, count for nothing."""
    assert says in told(FAIL, FAIL, *run(*grew))
