"""Spore tests: what the published sequences leave open is held on the safe side."""

from collections.abc import Iterable
from datetime import date, timedelta
from functools import reduce

import pytest

from clinic.rules.spores import (
    Event,
    RecallDone,
    Repaired,
    SporeResult,
    SporeState,
    SporeTest,
    Status,
    comes_with_its_result,
    following,
    judged,
    story_after,
    story_sentence,
    what_to_do,
)


def status_after(events: Iterable[Event], status: Status | None = None) -> Status:
    """The steriliser after the events, in their order."""
    return reduce(following, events, status or Status())


START = date(2026, 6, 1)


def spore_test(grew: bool | None = False, days: int = 0, **more: object) -> SporeTest:
    facts = {"control_grew": True, "test_lot": "L7", "control_lot": "L7"} | more
    return SporeTest(START + timedelta(days=days), grew, **facts)


PASS, FAIL = spore_test(), spore_test(grew=True)
IN_REPAIR = status_after([PASS, FAIL, FAIL])


def test_growth_fails_even_with_a_control_of_another_lot() -> None:
    assert judged(spore_test(True, control_lot="L8")) is SporeResult.FAIL


def test_nothing_happened_leaves_it_in_use_with_nothing_to_do() -> None:
    assert status_after([]) == Status(SporeState.IN_USE, None, hold=False, recall=False, repaired=False, clean_runs=0)
    assert what_to_do(Status()) == []


def test_a_recall_goes_on_until_it_is_recorded_as_done() -> None:
    back = status_after([PASS, spore_test(True, 7, implant=True), spore_test(days=8)])
    assert (back.state, back.hold, back.recall) == (SporeState.IN_USE, False, True)
    assert not status_after([RecallDone(START)], back).recall


def test_an_invalid_test_leaves_an_out_of_service_steriliser_out() -> None:
    assert status_after([PASS, FAIL, spore_test(days=8, control_grew=False)]).state is SporeState.OUT


def test_challenges_before_the_repair_do_not_count() -> None:
    runs = [spore_test(days=day, empty_chamber=True) for day in range(3)]
    assert status_after(runs, IN_REPAIR) == IN_REPAIR


def test_a_repair_outside_repair_changes_nothing() -> None:
    assert status_after([Repaired(START)]) == Status()


@pytest.mark.parametrize("flaw", [{"empty_chamber": False}, {"readings_fine": False}, {"control_grew": False}])
def test_a_flawed_challenge_resets_the_count(flaw: dict[str, bool]) -> None:
    good = spore_test(empty_chamber=True)
    flawed = spore_test(**({"empty_chamber": True} | flaw))
    assert status_after([Repaired(START), good, good, flawed], IN_REPAIR).clean_runs == 0


def test_another_repair_starts_the_count_again() -> None:
    good = spore_test(empty_chamber=True)
    assert status_after([Repaired(START), good, good, Repaired(START)], IN_REPAIR).clean_runs == 0


def test_the_return_names_its_own_day_as_the_last_pass() -> None:
    runs = [spore_test(days=day, empty_chamber=True) for day in (10, 11, 12)]
    status = status_after([Repaired(START), *runs, RecallDone(START)], IN_REPAIR)
    assert status == Status(last_pass=START + timedelta(days=12))


@pytest.mark.parametrize(
    ("runs", "says"),
    [(0, "3 more passes in a row"), (1, "2 more passes in a row"), (2, "1 more pass in a row")],
)
def test_repair_says_how_many_passes_are_left(runs: int, says: str) -> None:
    status = status_after([Repaired(START), *[spore_test(empty_chamber=True)] * runs], IN_REPAIR)
    assert says in what_to_do(status)[0]


def test_every_state_says_what_to_do() -> None:
    assert "inspected and repaired" in what_to_do(IN_REPAIR)[0]
    assert "Repeat the spore test" in what_to_do(Status(SporeState.REPEAT, hold=True))[0]
    assert len(what_to_do(status_after([FAIL]))) == 4


def test_a_recall_takes_the_place_of_the_hold_in_the_sentences() -> None:
    steps = " ".join(what_to_do(IN_REPAIR))
    assert "Recall" in steps
    assert "Hold" not in steps


def test_without_a_pass_on_record_the_paper_is_named() -> None:
    assert "Hold every unused pack since the last pass on paper." in what_to_do(status_after([FAIL]))


def test_the_return_to_service_keeps_a_recall_that_is_not_done() -> None:
    runs = [spore_test(days=day, empty_chamber=True) for day in (3, 4, 5)]
    back = status_after([Repaired(START), *runs], IN_REPAIR)
    assert back == Status(SporeState.IN_USE, START + timedelta(days=5), recall=True, since=START)


def test_of_one_day_only_a_pass_that_was_read_before_the_fail_is_the_last_good_one() -> None:
    read_later = spore_test(True, 7, read_on=START + timedelta(days=9))
    same_day = spore_test(days=7)
    assert status_after([PASS, same_day, read_later]).since == START
    assert status_after([PASS, same_day, spore_test(True, 7)]).since == same_day.day


def test_a_second_fail_never_brings_the_hold_or_the_recall_nearer() -> None:
    implant = spore_test(True, 7, implant=True)
    back = status_after([PASS, implant, spore_test(days=8)])
    assert status_after([spore_test(True, 14)], back).since == START
    assert status_after([FAIL, spore_test(True, 14)]).since is None
    assert status_after([FAIL, spore_test(days=2), spore_test(True, 14)]).since == START + timedelta(days=2)


def test_the_story_says_when_a_fail_and_its_repeat_were_read() -> None:
    read = {"read_on": START + timedelta(days=9)}
    story = story_after([PASS, spore_test(True, 7, **read)])
    assert story.out_since == START + timedelta(days=9)
    again = story_after([PASS, spore_test(True, 7), spore_test(days=8, **read)])
    assert (again.back_on, again.status.last_pass) == (START + timedelta(days=9), START + timedelta(days=8))


def test_what_waits_is_said_beside_where_it_stands() -> None:
    waiting = spore_test(None, 7, control_grew=None)
    assert story_sentence(story_after([PASS, waiting])) == (
        "In use; last pass 1 June 2026. The test put in on 8 June 2026 is not read yet, and counts for nothing."
    )


@pytest.mark.parametrize(
    ("test", "later"), [(PASS, False), (FAIL, True), (spore_test(control_grew=False), True), (spore_test(None), False)]
)
def test_only_what_proves_nothing_good_waits_for_its_reading(test: SporeTest, later: bool) -> None:
    assert comes_with_its_result(test) is later


def test_what_is_recorded_in_use_beside_a_test_changes_nothing_of_the_story() -> None:
    assert story_after([PASS, RecallDone(START)]) == story_after([PASS])


def test_without_a_control_a_negative_test_is_invalid() -> None:
    assert judged(spore_test(control_grew=None)) is SporeResult.INVALID
