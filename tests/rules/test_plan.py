"""The plan: prerequisites first, due days inherited, the earliest finish."""

from dataclasses import replace

import pytest

from tests.rules.shapes import EASY, d, met, procedure, signed, taught, withdrawn
from training.rules.facts import PersonFacts, Policy, ProcedureFacts
from training.rules.plan import PlanLine, Required, plan
from training.rules.standing import timelines

DAY = "2026-03-10"
START = d("2026-03-01")
ON_P01 = replace(EASY, prerequisites=("P01",))
TWO_DAYS = replace(EASY, needed=2, distinct_days=2)


def required(code: str, days: int = 30, role: str = "2026-03-01") -> Required:
    return Required(code, d(role), START, START, days)


def lines(
    asked: list[Required], programme: list[ProcedureFacts], facts: dict | None = None, day: str = DAY
) -> dict[str, PlanLine]:
    known = {each.code: each for each in programme}
    found = timelines(known, PersonFacts("amina", facts or {}))
    return {line.procedure: line for line in plan(asked, known, found, d(day))}


def finish(facts: list, policy: Policy = TWO_DAYS, day: str = DAY) -> str:
    found = lines([required("P03")], [procedure("P03", policy)], {"P03": tuple(facts)}, day)["P03"].earliest_finish
    return found.isoformat() if found else "never"


@pytest.mark.parametrize("latest", [0, 1, 2])
def test_the_due_day_counts_from_the_latest_of_the_three_starts(latest: int) -> None:
    starts = [d("2026-05-01") if place == latest else START for place in range(3)]
    assert Required("P03", *starts, 30).due == d("2026-05-31")


def test_the_same_procedure_from_two_roles_is_due_by_the_earlier_day() -> None:
    found = lines([required("P03", 60), required("P03", 30)], [procedure("P03")])
    assert found["P03"].due == d("2026-03-31")


def test_prerequisites_come_first_and_inherit_the_earliest_due_day() -> None:
    programme = [procedure("P02", ON_P01), procedure("P03", ON_P01), procedure("P01")]
    found = lines([required("P02", 10), required("P03", 20), required("P01", 60)], programme)
    assert [(code, line.due.day) for code, line in found.items()] == [("P01", 11), ("P02", 11), ("P03", 21)]


def test_due_days_are_inherited_through_several_floors() -> None:
    programme = [procedure("P03", replace(EASY, prerequisites=("P02",))), procedure("P02", ON_P01), procedure("P01")]
    assert [line.due.day for line in lines([required("P03", 5)], programme).values()] == [6, 6, 6]


def test_a_prerequisite_that_is_not_required_stands_in_the_plan_for_what_rests_on_it() -> None:
    found = lines([required("P03")], [procedure("P03", ON_P01), procedure("P01")])["P01"]
    assert (found.is_required, found.needed_for) == (False, ("P03",))


def test_a_retired_prerequisite_is_asked_of_nobody() -> None:
    programme = [procedure("P03", ON_P01), procedure("P01", retired_on=d("2026-03-05"))]
    assert list(lines([required("P03")], programme)) == ["P03"]


def test_what_is_usable_is_done() -> None:
    found = lines([required("P03", 1)], [procedure("P03")], {"P03": (signed("2026-03-09"),)})["P03"]
    assert (found.is_done, found.is_overdue, found.is_late) == (True, False, False)


@pytest.mark.parametrize(("day", "overdue"), [("2026-03-31", False), ("2026-04-01", True)])
def test_it_is_overdue_after_its_last_good_day(day: str, overdue: bool) -> None:
    assert lines([required("P03", 30)], [procedure("P03")], day=day)["P03"].is_overdue is overdue


def test_one_assessment_can_be_today() -> None:
    assert finish([], EASY) == "2026-03-10"


def test_a_second_distinct_day_cannot_be_today() -> None:
    assert finish([]) == "2026-03-11"


def test_a_day_that_already_counts_serves_no_second_time() -> None:
    assert [finish([met("2026-03-10")]), finish([met("2026-03-09")])] == ["2026-03-11", "2026-03-10"]


def test_enough_evidence_can_be_signed_today() -> None:
    assert finish([met("2026-03-08"), met("2026-03-09")]) == "2026-03-10"


def test_after_a_withdrawal_the_days_begin_again() -> None:
    assert finish([met("2026-03-08"), signed("2026-03-08"), withdrawn("2026-03-09")]) == "2026-03-11"


def test_before_the_first_version_is_in_force_nothing_can_be_finished() -> None:
    assert finish([], day="2025-12-30") == "2026-01-02"


def test_without_an_approved_version_there_is_no_finish() -> None:
    found = lines([required("P03")], [ProcedureFacts("P03", ())])["P03"]
    assert (found.earliest_finish, found.is_late) == (None, True)


def test_nobody_finishes_before_the_prerequisites() -> None:
    slow = replace(EASY, needed=3, distinct_days=3)
    found = lines([required("P03")], [procedure("P03", ON_P01), procedure("P01", slow)])
    assert [line.earliest_finish for line in found.values()] == [d("2026-03-12"), d("2026-03-12")]


def test_what_is_on_hold_finishes_with_its_prerequisites() -> None:
    facts = {"P03": (signed("2026-03-02"),), "P01": (signed("2026-03-01"), withdrawn("2026-03-05"))}
    found = lines(
        [required("P03")], [procedure("P03", replace(TWO_DAYS, prerequisites=("P01",))), procedure("P01")], facts
    )
    assert found["P03"].earliest_finish == d("2026-03-10")


def test_a_topic_can_be_taught_today() -> None:
    topic = procedure("T01", TWO_DAYS, is_topic=True)
    assert lines([required("T01")], [topic])["T01"].earliest_finish == d("2026-03-10")
    assert lines([required("T01")], [topic], {"T01": (taught("2026-03-10"),)})["T01"].is_done
