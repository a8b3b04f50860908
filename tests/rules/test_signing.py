"""Who may sign: every reason against it, at once."""

from dataclasses import replace
from typing import Any

import pytest

from tests.rules.shapes import EASY, check, d, met, signed, standing
from training.rules.evidence import EvidenceDetail, PieceKind
from training.rules.facts import State
from training.rules.signing import Code, SigningRefusal, may_sign
from training.rules.standing import StandingSpan, evidence_on

DAY = "2026-03-10"
GOOD = [met("2026-03-09")]
CAUSES = {State.LAPSED: "valid until", State.ON_HOLD: "prerequisite:P01"}
USABLE = standing([signed("2026-01-10")]).on(d(DAY))


def refusals(facts: list = GOOD, policy: Any = EASY, **given: Any) -> tuple[SigningRefusal, ...]:
    asked = {
        "person": "amina",
        "signer": "rivka",
        "has_authority": True,
        "signer_standing": USABLE,
        "detail": evidence_on(standing(facts, policy), d(DAY)),
        "checked": True,
    }
    return may_sign(**(asked | given))


def codes(found: tuple[SigningRefusal, ...]) -> list[str]:
    return [refusal.code.value for refusal in found]


def test_with_authority_usable_and_with_enough_evidence_it_may_be_signed() -> None:
    assert refusals() == ()


def test_nobody_signs_for_oneself() -> None:
    assert codes(refusals(signer="amina")) == [Code.SELF]


def test_the_signer_has_authority_that_day() -> None:
    assert codes(refusals(has_authority=False)) == [Code.NO_AUTHORITY]


@pytest.mark.parametrize("state", [state for state in State if not state.is_usable])
def test_the_signer_is_usable_that_day(state: State) -> None:
    assert codes(refusals(signer_standing=replace(USABLE, state=state, cause=CAUSES.get(state)))) == [
        Code.SIGNER_NOT_USABLE
    ]


def test_a_version_not_checked_against_the_makers_instructions_is_not_signed() -> None:
    assert codes(refusals(checked=False)) == [Code.NOT_CHECKED]


def test_without_a_version_in_force_nothing_is_signed() -> None:
    early: EvidenceDetail = evidence_on(standing(GOOD), d("2025-12-31"))
    assert codes(refusals(detail=early)) == [Code.NOT_IN_FORCE]


def test_every_missing_piece_is_named_with_what_supplies_it() -> None:
    found = refusals([met("2026-03-09")], replace(EASY, check_asked=True, needed=3, distinct_days=2))
    assert codes(found) == [PieceKind.CHECK, PieceKind.ASSESSMENTS, PieceKind.DAYS]
    assert found[1].says == "Two more assessments: one of three met."
    assert all(refusal.supply for refusal in found)


def test_all_reasons_are_given_at_once() -> None:
    nobody: StandingSpan = standing([]).on(d(DAY))
    found = refusals([], signer="amina", has_authority=False, signer_standing=nobody, checked=False)
    assert codes(found) == [
        Code.SELF,
        Code.NO_AUTHORITY,
        Code.SIGNER_NOT_USABLE,
        Code.NOT_CHECKED,
        PieceKind.ASSESSMENTS,
        PieceKind.DAYS,
        PieceKind.SUPERVISORS,
    ]


def test_where_nothing_is_asked_something_is_still_needed() -> None:
    policy = replace(EASY, needed=0)
    assert codes(refusals([], policy)) == [Code.NO_EVIDENCE]
    assert refusals([check("2026-03-09")], policy) == ()
