"""The sentences: every state, basis, ending and piece has one, and days read as people write them."""

from dataclasses import replace

import pytest

from tests.rules.shapes import EASY, d, met, signed, standing
from training.rules import wording
from training.rules.evidence import Piece, PieceKind
from training.rules.facts import Basis, Evidence, Method, State
from training.rules.standing import StandingSpan, evidence_on

NAMES = {"P04": "clamping a block"}


def test_a_day_is_written_out() -> None:
    assert wording.day_words(d("2026-12-02")) == "2 December 2026"


def test_every_state_basis_and_evidence_is_worded() -> None:
    assert {*wording.NOT_HELD, *wording.HOLDS, State.LAPSED, State.ON_HOLD} == set(State)
    for words, kinds in ((wording.HELD_BY, Basis), (wording.BASES, Basis), (wording.EVIDENCES, Evidence)):
        assert set(words) == set(kinds)
    assert set(wording.METHODS) == set(Method)


def test_a_lapse_says_since_when_and_why() -> None:
    span = standing([signed("2026-03-02")]).spans[-1]
    assert wording.cause_sentence(span) == "Lapsed since 3 March 2027, because its validity ended the day before."


def test_a_deadline_names_the_version() -> None:
    span = standing([signed("2026-12-01")], EASY, replace(EASY, reobserve_days=30)).spans[-1]
    assert "version 2 asked to be watched again" in wording.cause_sentence(span)


def test_a_hold_names_what_does_not_hold() -> None:
    span = StandingSpan(d("2026-12-03"), None, State.ON_HOLD, cause="prerequisite:P04")
    says = "On hold since 3 December 2026, because clamping a block (P04) does not hold."
    assert wording.cause_sentence(span, NAMES) == says


@pytest.mark.parametrize("kind", list(PieceKind))
def test_every_piece_says_what_is_there_and_what_is_missing(kind: PieceKind) -> None:
    piece = Piece(kind, 3, 1, 3, frozenset({Method.REAL}), ("P04",))
    assert wording.piece_there(piece).endswith(".")
    assert all(words.endswith(".") for words in wording.piece_missing(piece))


def test_a_lowered_number_says_why() -> None:
    piece = Piece(
        PieceKind.SUPERVISORS, 1, 1, 2, lowered_because="only 1 other than the learner had authority that day"
    )
    says = "Needed: one instead of two: only 1 other than the learner had authority that day."
    assert wording.lowered_sentence(piece) == says


def test_pieces_count_in_words() -> None:
    found = standing([met("2026-03-02")], replace(EASY, needed=3))
    piece = next(p for p in evidence_on(found, d("2026-03-02")).pieces if p.kind is PieceKind.ASSESSMENTS)
    assert wording.piece_missing(piece)[0] == "Two more assessments: one of three met."


@pytest.mark.parametrize(
    ("codes", "says"),
    [
        (["P04", "P01", "P03", "P02", "P06", "T01", "T02"], "P01 to P04, P06, T01, T02"),
        (["P09", "P10", "P11", "T01"], "P09 to P11, T01"),
        (["P01", "LOCAL", "P02"], "LOCAL, P01, P02"),
        ([], ""),
    ],
)
def test_three_codes_in_a_row_are_said_by_the_first_and_the_last(codes: list[str], says: str) -> None:
    assert wording.codes_in_runs(codes) == says


@pytest.mark.parametrize(
    ("state", "basis", "says"),
    [
        (State.CURRENT, Basis.OBSERVED, "Signed, and current."),
        (State.DUE, Basis.OBSERVED, "Signed, and renewal is due."),
        (State.CURRENT, Basis.TAUGHT, "Taught, and current."),
        (State.DUE, Basis.CARRIED_OVER, "Carried over, and renewal is due."),
        (State.CURRENT, Basis.FOUNDING, "Granted at the founding, and current."),
    ],
)
def test_what_holds_is_said_by_what_it_rests_on(state: State, basis: Basis, says: str) -> None:
    span = StandingSpan(d("2026-01-01"), None, state, basis, "fact-1")
    assert wording.cause_sentence(span) == says
