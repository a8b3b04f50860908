"""What is known by an instant, what comes before a moment of a day, and days at the ends of the calendar."""

from datetime import date, datetime, time, timedelta

import pytest

from tests.rules.shapes import EASY, check, d, instant, met, procedure, signed, standing, version, void, withdrawn
from training.rules.evidence import Piece, PieceKind
from training.rules.facts import Evidence, Method, MethodQuota, PersonFacts, Policy, ProcedureFacts, State
from training.rules.order import (
    Moment,
    days_after,
    days_before,
    known_versions,
    live_facts,
    resting_on,
    retired_on,
    settled,
    up_to,
    with_prerequisites,
)
from training.rules.standing import evidence_on, same_day_allowed, timelines, valid_until_if_signed

DAY = d("2026-03-02")
NOON = instant("2026-03-02")
SECOND = timedelta(seconds=1)


@pytest.mark.parametrize(
    ("known_by", "numbers"), [(None, [1, 2]), (NOON, [1]), (NOON - SECOND, []), (NOON + SECOND, [1, 2])]
)
def test_a_version_is_known_from_the_instant_it_was_approved(known_by: datetime | None, numbers: list[int]) -> None:
    second = version("P03", number=2, day="2026-04-01", approved=(NOON + SECOND).isoformat())
    first = version("P03", approved=NOON.isoformat())
    found = known_versions(ProcedureFacts("P03", (second, first)), known_by)
    assert [one.number for one in found.all] == numbers


@pytest.mark.parametrize(("known_by", "found"), [(None, DAY), (NOON, DAY), (NOON - SECOND, None)])
def test_a_retirement_is_known_from_the_instant_it_was_recorded(known_by: datetime | None, found: date | None) -> None:
    assert retired_on(procedure(retired_on=DAY, retired_recorded_at=NOON), known_by) == found


def test_a_retirement_known_later_asks_a_prerequisite_until_then() -> None:
    programme = {
        "P01": procedure("P01", retired_on=DAY, retired_recorded_at=NOON),
        "P03": procedure("P03", Policy(check_asked=False, prerequisites=("P01",))),
    }
    person = PersonFacts("amina", {"P03": (met("2026-01-05"), signed("2026-01-05"))})
    states = [timelines(programme, person, known_by=by)["P03"].on(DAY).state for by in (NOON - SECOND, NOON)]
    assert states == [State.ON_HOLD, State.CURRENT]


@pytest.mark.parametrize(
    ("moment", "after"),
    [
        (Moment(DAY, time(12)), True),
        (Moment(DAY, time(12), NOON), False),
        (Moment(DAY, time(12), NOON + SECOND), True),
        (Moment(DAY, time(11)), False),
        (Moment(DAY, time(12, 1), NOON - SECOND), True),
        (Moment(DAY), True),
        (Moment(DAY - timedelta(days=1)), False),
        (Moment(DAY + timedelta(days=1), time(0)), True),
    ],
)
def test_a_moment_comes_after_a_fact_by_day_time_and_instant(moment: Moment, after: bool) -> None:
    assert moment.is_after(met("2026-03-02", at="12:00")) is after


def test_corrections_are_resolved_before_a_moment_cuts_the_day() -> None:
    first = met("2026-03-02", at="09:00")
    moved = met("2026-03-02", at="15:00", corrects=first.id, recorded="2026-03-03")
    (kept,) = settled([first, moved], None)
    assert (kept.id, kept.at, kept.recorded_at, kept.corrects) == (moved.id, time(15), first.recorded_at, None)
    person = PersonFacts("amina", {"P03": (first, moved)})
    assert up_to(person, Moment(DAY, time(12))).by_procedure == {"P03": ()}
    assert up_to(person, Moment(DAY, time(12)), known_by=first.recorded_at).by_procedure == {"P03": (first,)}


def test_work_without_a_time_stands_before_what_was_recorded_later_and_with_what_was_known() -> None:
    person = PersonFacts("amina", {"P03": (signed("2026-03-02", recorded="2026-03-05"),)})
    programme = {"P03": procedure()}
    early, late = instant("2026-03-04"), instant("2026-03-06")
    assert not same_day_allowed(programme, person, "P03", DAY, recorded_at=early)
    assert same_day_allowed(programme, person, "P03", DAY, recorded_at=late)
    assert not same_day_allowed(programme, person, "P03", DAY, known_by=early)
    assert same_day_allowed(programme, person, "P03", DAY, known_by=late)


def test_corrections_that_name_each_other_end() -> None:
    one, other = met("2026-03-02", id="a", corrects="b"), met("2026-03-02", id="b", corrects="a")
    third = met("2026-03-02", id="c", corrects="a")
    assert [fact.id for fact in live_facts([one, other, third])] == ["c"]


def test_what_rests_on_a_procedure_is_found_however_far_and_nothing_else() -> None:
    on_first, on_second = Policy(prerequisites=("P01",)), Policy(prerequisites=("P02",))
    programme = {
        "P01": procedure("P01"), "P02": procedure("P02", on_first), "P03": procedure("P03", on_second), "P04": procedure("P04"),
    }  # fmt: skip
    assert resting_on(programme, {"P01"}) == {"P01", "P02", "P03"}
    assert resting_on(programme, {"P03", "P04"}) == {"P03", "P04"}
    assert resting_on(programme, {"gone"}) == set()


def test_only_what_a_procedure_rests_on_is_looked_at() -> None:
    rests = Policy(prerequisites=("P01",))
    programme = {"P01": procedure("P01"), "P02": procedure("P02"), "P03": procedure("P03", rests)}
    assert set(with_prerequisites(programme, "P03")) == {"P01", "P03"}
    assert set(with_prerequisites(programme, "P02")) == {"P02"}


@pytest.mark.parametrize("days", [0, 1, 5000000])
def test_the_calendar_ends_and_no_day_is_beyond_it(days: int) -> None:
    assert days_after(date.max, days) == date.max
    assert days_before(date.min, days) == date.min
    assert days_after(date.min, 1) == date.min + timedelta(days=1)


def test_the_evidence_of_a_first_sign_off_in_full() -> None:
    policy = Policy(
        needed=2, methods=frozenset({Method.REAL, Method.DRILL}), by_method=(MethodQuota(frozenset({Method.DRILL}), 1),),
        distinct_days=3, distinct_supervisors=2, prerequisites=("P01",),
    )  # fmt: skip
    found = evidence_on(standing([met("2026-03-01"), check("2026-03-01")], policy), DAY)
    fewer = "no more than 2 assessments are needed"
    assert (found.evidence, found.for_renewal, found.version) == (Evidence.SOME, False, 1)
    assert found.pieces == (
        Piece(PieceKind.CHECK, 1, 1, 1),
        Piece(PieceKind.ASSESSMENTS, 2, 1, 2, policy.methods),
        Piece(PieceKind.BY_METHOD, 1, 0, 1, frozenset({Method.DRILL})),
        Piece(PieceKind.DAYS, 2, 1, 3, lowered_because=fewer),
        Piece(PieceKind.SUPERVISORS, 2, 1, 2),
        Piece(PieceKind.PREREQUISITES, 1, 0, 1, missing=("P01",)),
    )


def test_the_evidence_of_a_renewal_is_what_came_since_by_its_own_methods() -> None:
    policy = Policy(needed=2, renewal_methods=frozenset({Method.TALK}), check_asked=True)
    first = [met("2026-01-05"), met("2026-01-06"), check("2026-01-05"), signed("2026-01-07")]
    talk, again = met("2026-03-01", method=Method.TALK), check("2026-03-01")
    found = evidence_on(standing([*first, met("2026-02-01"), talk, again], policy), DAY)
    assert (found.evidence, found.for_renewal) == (Evidence.ENOUGH, True)
    assert found.pieces == (
        Piece(PieceKind.CHECK, 1, 1, 1),
        Piece(PieceKind.ASSESSMENTS, 1, 1, 1, frozenset({Method.TALK})),
    )
    assert found.rests_on == (talk.id, again.id)


def test_before_the_first_version_there_is_no_evidence_to_ask_for() -> None:
    found = evidence_on(standing([], EASY), d("2025-12-31"))
    assert (found.version, found.for_renewal, found.evidence, found.pieces) == (None, False, Evidence.NONE, ())


def test_a_standing_knows_its_procedure_whether_or_not_anything_was_recorded() -> None:
    programme = {"P01": procedure("P01"), "P03": procedure("P03")}
    found = timelines(programme, PersonFacts("amina", {"P03": (signed("2026-03-02"),)}))
    assert {code: (one.procedure, one.course.procedure) for code, one in found.items()} == {
        "P01": ("P01", "P01"), "P03": ("P03", "P03"),
    }  # fmt: skip
    assert found["P01"].signoffs == ()


@pytest.mark.parametrize(
    ("day", "until"), [("2025-12-31", None), ("2026-03-02", "2027-03-02"), ("2026-03-01", "2027-03-01")]
)
def test_a_sign_off_of_the_day_would_be_good_until(day: str, until: str | None) -> None:
    found = standing([met("2026-03-02"), withdrawn("2026-03-02", at="08:00")], EASY)
    assert valid_until_if_signed(found, d(day)) == (d(until) if until else None)


def test_an_end_by_a_later_version_names_it_and_one_by_the_calendar_names_nothing() -> None:
    again = Policy(check_asked=False, reobserve_days=30, renewal_months=24)
    by_version = standing([signed("2026-12-01")], Policy(check_asked=False, renewal_months=24), again).on(
        d("2027-01-05")
    )
    by_calendar = standing([signed("2026-03-02")], EASY).on(DAY)
    assert (by_version.ends_on, by_version.ends_because, by_version.ends_by) == (d("2027-01-31"), "deadline", "2")
    assert (by_calendar.ends_because, by_calendar.ends_by) == ("valid until", None)


def test_a_voided_fact_is_gone_for_whoever_knows_of_the_voiding() -> None:
    fact = signed("2026-03-02")
    gone = void(fact, "2026-03-04")
    assert live_facts([fact, gone], instant("2026-03-03")) == (fact,)
    assert live_facts([fact, gone]) == ()
