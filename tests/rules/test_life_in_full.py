"""Sign-offs and what they rest on, compared whole: grace, what was known when, unknown versions, the sign-off to come."""

from dataclasses import replace
from datetime import date

import pytest

from clinic.rules.spans import Span
from tests.rules.shapes import (
    EASY,
    carried,
    check,
    d,
    instant,
    met,
    procedure,
    signed,
    standing,
    states,
    upkeep,
    version,
    void,
    withdrawn,
)
from training.rules.evidence import Piece, PieceKind
from training.rules.facts import Evidence, PersonFacts, Policy, ProcedureFacts, State
from training.rules.life import End, Life, decisions
from training.rules.order import known_versions
from training.rules.standing import StandingSpan, evidence_on, same_day_allowed, timelines, valid_until_if_signed

ON_P01 = replace(EASY, prerequisites=("P01",))
LOST = (signed("2026-03-01"), withdrawn("2026-03-05"))  # P01 was usable through 4 March


def test_a_sign_off_made_within_the_grace_days_holds_until_they_are_over() -> None:
    programme = {"P01": procedure("P01"), "P03": procedure("P03", replace(ON_P01, grace_days=10))}
    found = timelines(programme, PersonFacts("amina", {"P01": LOST, "P03": (signed("2026-03-07"),)}))["P03"]
    assert states(found)[-3:-1] == [("2026-03-07", "current"), ("2026-03-15", "on hold")]


@pytest.mark.parametrize(("day", "missing"), [("2026-03-04", ()), ("2026-03-05", ("P01",))])
def test_a_new_sign_off_asks_its_prerequisites_on_the_day_itself(day: str, missing: tuple[str, ...]) -> None:
    programme = {"P01": procedure("P01"), "P03": procedure("P03", replace(ON_P01, grace_days=10))}
    found = timelines(programme, PersonFacts("amina", {"P01": LOST, "P03": (met("2026-03-02"),)}))["P03"]
    assert evidence_on(found, d(day)).pieces[-1] == Piece(
        PieceKind.PREREQUISITES, 1, 1 - len(missing), 1, missing=missing
    )


def test_without_an_approved_version_everybody_is_untrained() -> None:
    found = timelines({"P03": ProcedureFacts("P03", ())}, PersonFacts("amina", {"P03": (signed("2026-03-02"),)}))
    assert found["P03"].spans == (StandingSpan(date.min, None, State.UNTRAINED),)


def test_a_sign_off_on_a_version_that_is_not_known_has_no_effect() -> None:
    assert standing([signed("2026-03-02", version=9)]).signoffs == ()


def test_decisions_say_where_among_the_facts_they_stand() -> None:
    facts = (met("2026-03-01"), signed("2026-03-02"), met("2026-03-03"), withdrawn("2026-03-04"))
    signed_off, end = decisions(facts, known_versions(procedure()), {})
    assert isinstance(signed_off, Life) and (signed_off.fact, signed_off.position) == (facts[1], 1)
    assert end == End(facts[3], 3)


def test_a_withdrawal_of_the_day_begins_the_first_year_again() -> None:
    policy = Policy(check_asked=False, first_year_months=6)
    found = standing([signed("2026-01-15"), withdrawn("2027-03-01")], policy)
    assert valid_until_if_signed(found, d("2027-03-01")) == d("2027-09-01")
    assert valid_until_if_signed(found, d("2027-02-28")) == d("2028-02-28")


def test_a_sign_off_to_come_counts_the_upkeep_that_kept_the_last_one_alive() -> None:
    """It renews a life that upkeep kept from the idle limit, so it starts where that one ends; and only while P01 held."""
    policy = Policy(check_asked=False, idle_days=300, notice_days=30, prerequisites=("P01",))
    programme = {"P01": procedure("P01"), "P03": procedure("P03", policy)}
    here = (signed("2026-01-10"), upkeep("2026-10-01"))
    held, lost = (
        timelines(programme, PersonFacts("amina", {"P01": facts, "P03": here}))["P03"]
        for facts in ((signed("2026-01-02"),), (signed("2026-01-02"), withdrawn("2026-05-01")))
    )
    ends = [valid_until_if_signed(found, d("2027-01-05")) for found in (held, lost)]
    assert ends == [d("2028-01-10"), d("2028-01-05")]


def test_a_sign_off_to_come_is_on_the_version_in_force_that_day() -> None:
    found = standing([], Policy(check_asked=False), Policy(check_asked=False, renewal_months=6))
    ends = [valid_until_if_signed(found, d(day)) for day in ("2026-12-31", "2027-01-01")]
    assert ends == [d("2027-12-31"), d("2027-07-01")]


def test_work_is_judged_by_the_corrections_known_then() -> None:
    fact = signed("2026-03-02")
    person = PersonFacts("amina", {"P03": (fact, void(fact, "2026-03-04"))})
    asked = [same_day_allowed({"P03": procedure()}, person, "P03", d("2026-03-03"), known_by=by)
             for by in (instant("2026-03-03"), None)]  # fmt: skip
    assert asked == [True, False]


def test_work_is_judged_by_the_retirements_known_then() -> None:
    retired = procedure("P01", retired_on=d("2026-03-02"), retired_recorded_at=instant("2026-03-04"))
    person = PersonFacts("amina", {"P03": (signed("2026-03-02"),)})
    programme = {"P01": retired, "P03": procedure("P03", ON_P01)}
    asked = [same_day_allowed(programme, person, "P03", d("2026-03-03"), known_by=by)
             for by in (instant("2026-03-03"), None)]  # fmt: skip
    assert asked == [False, True]


def test_every_part_of_an_unbroken_run_names_the_version_that_ends_it() -> None:
    lasting = replace(EASY, renewal_months=24)
    found = standing([signed("2026-06-01"), signed("2026-12-01")], lasting, replace(lasting, reobserve_days=30))
    ends = [(span.ends_on, span.ends_by) for span in found.spans if span.state.is_usable]
    assert ends == [(d("2027-01-31"), "2")] * 2


def test_the_first_fact_of_all_is_the_cause_of_what_it_began() -> None:
    fact = met("2026-03-02", assessment=False)
    assert standing([fact]).on(d("2026-03-02")).cause == fact.id


def test_two_passed_checks_are_one_piece_and_steps_are_asked_as_many_as_there_are() -> None:
    shown = version("P03", Policy(), keys="wet dry")
    facts = {"P03": (check("2026-03-01"), check("2026-03-02"))}
    found = timelines({"P03": ProcedureFacts("P03", (shown,))}, PersonFacts("amina", facts))["P03"]
    pieces = {piece.kind: piece for piece in evidence_on(found, d("2026-03-02")).pieces}
    assert pieces[PieceKind.CHECK] == Piece(PieceKind.CHECK, 1, 1, 1)
    assert pieces[PieceKind.STEPS] == Piece(PieceKind.STEPS, 2, 0, 2, missing=("dry", "wet"))


def test_after_a_year_without_a_sign_off_what_came_before_it_counts_again() -> None:
    before = met("2026-01-05")
    found = standing([before, signed("2026-01-10")], replace(EASY, window_days=1000))
    rests = [evidence_on(found, d(day)).rests_on for day in ("2028-01-10", "2028-01-11")]
    assert rests == [(), (before.id,)]


@pytest.mark.parametrize(
    ("facts", "found"),
    [
        ([met("2026-03-02"), signed("2026-03-02"), withdrawn("2026-03-02")], [("2026-03-02", "withdrawn")]),
        ([carried("2026-03-02", "2025-03-01", "2026-03-01")], [("2026-03-02", "lapsed")]),
        (
            [met("2026-03-02"), signed("2026-03-02"), withdrawn("2026-03-04")],
            [("2026-03-02", "current"), ("2026-03-04", "withdrawn")],
        ),
        (
            [signed("2026-03-02"), withdrawn("2026-03-05", at="08:00"), signed("2026-03-05", at="09:00")],
            [("2026-03-02", "current"), ("2026-03-05", "current"), ("2027-02-03", "due"), ("2027-03-06", "lapsed")],
        ),
        (
            [signed("2026-03-02"), withdrawn("2027-01-31")],
            [("2026-03-02", "current"), ("2027-01-31", "withdrawn")],
        ),
        (
            [carried("2026-03-02", "2026-03-01", "2026-03-20"), withdrawn("2026-03-21")],
            [("2026-03-02", "due"), ("2026-03-21", "withdrawn")],
        ),
    ],
)
def test_no_span_is_without_a_day(facts: list, found: list[tuple[str, str]]) -> None:
    """Signed and withdrawn on a day, over before it began, withdrawn as the notice days or the lapse would begin."""
    assert states(standing(facts, EASY))[-len(found) :] == found
    assert all(span.after is None or span.first < span.after for span in standing(facts, EASY).spans)


def test_evidence_that_a_later_version_takes_over_is_one_span() -> None:
    fact = met("2026-06-01")
    assert standing([fact], EASY, EASY).evidence == (
        Span(date.min, d("2026-06-01"), Evidence.NONE),
        Span(d("2026-06-01"), d("2027-06-02"), Evidence.ENOUGH, fact.id),
        Span(d("2027-06-02"), None, Evidence.NONE, "window"),
    )
