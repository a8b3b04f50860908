"""Whole sentences of evidence, policies, signing, sessions and the six elements, as page and paper say them."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from tests.rules.shapes import EASY, d, met, signed, standing
from training.rules import policy_wording, wording
from training.rules.elements import elements
from training.rules.evidence import EvidenceDetail, Piece, PieceKind
from training.rules.facts import Evidence, Method, MethodQuota, Observed, Outcome, Policy, State
from training.rules.sessions import SessionRecord, missing
from training.rules.signing import Code, SigningRefusal, may_sign
from training.rules.standing import StandingSpan

REAL_OR_DRILL = frozenset({Method.DRILL, Method.REAL})
NAMES = {"s1": "wait until it stands still", "P04": "clamping a block", "U01": "deep clean"}
NONE_OR_ONE = [(0, 2), (1, 2), (1, 3)]


def piece(kind: PieceKind, have: int = 1, needed: int = 2, **more: object) -> Piece:
    return Piece(kind, needed, have, needed, methods=REAL_OR_DRILL, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("known", "says"),
    [
        (piece(PieceKind.CHECK), "The knowledge check is passed."),
        (piece(PieceKind.ASSESSMENTS, 1, 1), "One assessment met, one needed."),
        (piece(PieceKind.ASSESSMENTS, 3), "Three assessments met, two needed."),
        (piece(PieceKind.BY_METHOD), "One by real work or drill, two needed."),
        (piece(PieceKind.DAYS, 1, 1), "On one day, one needed."),
        (piece(PieceKind.DAYS, 2), "On two different days, two needed."),
        (piece(PieceKind.SUPERVISORS, 1, 1), "Watched by one person, one needed."),
        (piece(PieceKind.SUPERVISORS, 0, 0), "No number of people watching is needed."),
        (piece(PieceKind.SUPERVISORS, 2), "Watched by two different people, two needed."),
        (piece(PieceKind.STEPS), "Every critical step with a case was done alone or asked."),
        (piece(PieceKind.PREREQUISITES), "Every prerequisite holds."),
    ],
)
def test_what_is_there(known: Piece, says: str) -> None:
    assert wording.piece_there(known) == says


def test_a_lowered_number_is_said_behind_what_is_there() -> None:
    lowered = Piece(PieceKind.SUPERVISORS, 1, 1, 2, lowered_because="the site can offer one")
    assert wording.piece_there(lowered) == (
        "Watched by one person, one needed. Needed: one instead of two: the site can offer one."
    )
    assert wording.lowered_sentence(piece(PieceKind.DAYS)) == ""


@pytest.mark.parametrize(
    ("known", "says", "supply"),
    [
        (piece(PieceKind.CHECK), "The knowledge check is not passed.", "Pass the knowledge check."),
        (piece(PieceKind.ASSESSMENTS), "One more assessment: one of two met.", "Observe an assessment."),
        (piece(PieceKind.ASSESSMENTS, 0), "Two more assessments: none of two met.", "Observe an assessment."),
        (piece(PieceKind.BY_METHOD), "One more by real work or drill: one of two met.", "Observe it so."),
        (piece(PieceKind.DAYS), "One more day: one of two there.", "Observe an assessment on another day."),
        (
            piece(PieceKind.DAYS, 1, 3),
            "Two more different days: one of three there.",
            "Observe an assessment on another day.",
        ),
        (
            piece(PieceKind.SUPERVISORS),
            "One more supervisor: one of two there.",
            "Let another supervisor or an outside witness watch.",
        ),
        (
            piece(PieceKind.SUPERVISORS, 1, 3),
            "Two more supervisors: one of three there.",
            "Let another supervisor or an outside witness watch.",
        ),
        (
            piece(PieceKind.STEPS, missing=("s1", "s2")),
            "Never alone or asked, and critical: wait until it stands still and s2.",
            "Put the case in an assessment; asked is enough.",
        ),
        (
            piece(PieceKind.PREREQUISITES, missing=("P04", "P05")),
            "Does not hold: clamping a block (P04) and P05.",
            "Bring it up to date first.",
        ),
    ],
)
def test_what_is_missing_and_what_supplies_it(known: Piece, says: str, supply: str) -> None:
    assert wording.piece_missing(known, NAMES) == (says, supply)


POLICY = Policy(
    needed=2, methods=REAL_OR_DRILL, by_method=(MethodQuota(frozenset({Method.REAL}), 1),), renewal_needed=1,
    renewal_methods=frozenset({Method.TALK}), distinct_days=2, distinct_supervisors=2, window_days=180, renewal_months=12,
    first_year_months=6, notice_days=30, idle_days=183, reobserve_days=60, prerequisites=("P04", "P01"), grace_days=1,
    upkeep_covered=("U01",),
)  # fmt: skip


def test_a_full_policy_is_said_row_by_row() -> None:
    assert policy_wording.policy_rows(POLICY, names=NAMES) == [
        ("Assessments", "two met, by real work or drill"),
        ("Of them by real work", "one or more"),
        ("On", "two different days or more"),
        ("Watched by", "two different people or more"),
        ("Knowledge check", "passed, once"),
        ("Evidence counts for", "180 days"),
        (
            "From paper, entered later",
            "counts, once it is confirmed by whoever watched or by whoever compared it with the photo",
        ),
        ("A renewal needs", "one met, by what-if talk"),
        ("Good for", "6 months in the first year, then 12 months"),
        ("Due from", "30 days before its last day"),
        ("Ends early", "after 183 days without doing it"),
        ("From an earlier version", "watched again within 60 days"),
        ("Rests on", "clamping a block (P04) and P01"),
        ("On hold when one of these ends", "after 1 day"),
        ("Upkeep that counts as doing it", "deep clean (U01)"),
    ]


def test_what_a_policy_leaves_out_is_an_answer_too() -> None:
    bare = Policy(needed=0, check_asked=False, window_days=1, renewal_months=None)
    assert policy_wording.policy_rows(bare) == [
        ("Assessments", "none"),
        ("Knowledge check", "not needed"),
        ("Evidence counts for", "1 day"),
        ("Good for", "always: it never lapses by the calendar"),
        ("Ends early", "not by standing idle"),
        ("From an earlier version", "goes on as it is"),
        ("Rests on", "nothing else"),
    ]


def test_one_day_one_person_no_assessment_to_renew_and_a_hold_at_once() -> None:
    one = replace(
        POLICY, distinct_days=1, distinct_supervisors=1, renewal_needed=0, grace_days=0, first_year_months=None
    )
    rows = dict(policy_wording.policy_rows(replace(one, renewal_months=1)))
    assert (rows["On"], rows["Watched by"]) == ("one day or more", "one person or more")
    assert (rows["A renewal needs"], rows["Good for"]) == ("no assessment", "1 month")
    assert rows["On hold when one of these ends"] == "at once"


def test_a_topic_counts_by_a_session() -> None:
    assert policy_wording.policy_rows(POLICY, is_topic=True)[0] == (
        "Counts once", "a session with everything on its record, and live questions with the trainer",
    )  # fmt: skip
    assert "Assessments" not in dict(policy_wording.policy_rows(POLICY, is_topic=True))


def test_changes_of_a_policy_show_both_sides_and_an_empty_one_where_a_part_is_new() -> None:
    after = replace(POLICY, window_days=90, upkeep_covered=(), needed=3)
    assert policy_wording.policy_changes(POLICY, after, names=NAMES) == [
        ("Assessments", "two met, by real work or drill", "three met, by real work or drill"),
        ("Evidence counts for", "180 days", "90 days"),
        ("Upkeep that counts as doing it", "deep clean (U01)", ""),
    ]
    assert policy_wording.policy_changes(after, POLICY, names=NAMES)[-1] == (
        "Upkeep that counts as doing it", "", "deep clean (U01)",
    )  # fmt: skip
    assert policy_wording.policy_changes(POLICY, after, is_topic=True)[0][0] == "Upkeep that counts as doing it"


DAY = d("2026-03-10")
LAPSED = StandingSpan(d("2026-01-01"), None, State.LAPSED, cause="idle")
USABLE = standing([signed("2026-01-10")]).on(DAY)


def detail(*pieces: Piece, version: int | None = 1, evidence: Evidence = Evidence.NONE) -> EvidenceDetail:
    return EvidenceDetail(DAY, version, False, evidence, pieces)


def refused(**given: object) -> tuple[SigningRefusal, ...]:
    asked = {
        "person": "a", "signer": "b", "has_authority": True, "signer_standing": USABLE, "checked": True,
        "detail": detail(evidence=Evidence.ENOUGH), "names": NAMES,
    }  # fmt: skip
    return may_sign(**(asked | given))  # type: ignore[arg-type]


def test_everything_against_the_signer_is_said_at_once() -> None:
    assert refused(signer="a", has_authority=False, signer_standing=LAPSED) == (
        SigningRefusal(Code.SELF, "Nobody signs for themselves.", "Let another supervisor sign."),
        SigningRefusal(
            Code.NO_AUTHORITY,
            "You have no authority for this procedure here that day.",
            "Ask the owner for authority, or let somebody who has it sign.",
        ),
        SigningRefusal(
            Code.SIGNER_NOT_USABLE,
            "You may not work alone in it yourself that day. Only with somebody standing by: lapsed since 1 January 2026, "
            "because the idle days were over, with no performance since.",
            "Renew your own sign-off first, or let somebody sign who may work alone in it.",
        ),
    )


def test_a_version_not_in_force_hides_what_would_be_asked_of_it() -> None:
    (one,) = refused(detail=detail(piece(PieceKind.CHECK, 0, 1), version=None), checked=False)
    assert one == SigningRefusal(
        Code.NOT_IN_FORCE,
        "No version of this procedure is in force that day.",
        "Wait for its day, or let the owner approve a version.",
    )


def test_an_unchecked_version_and_each_missing_piece_are_said_in_order() -> None:
    found = refused(
        checked=False,
        detail=detail(piece(PieceKind.CHECK, 0, 1), piece(PieceKind.PREREQUISITES, 0, 1, missing=("P04",))),
    )
    assert found == (
        SigningRefusal(
            Code.NOT_CHECKED,
            "This version was not checked against the maker’s instructions.",
            "Compare it with them and record title, edition, by whom and when.",
        ),
        SigningRefusal(PieceKind.CHECK, "The knowledge check is not passed.", "Pass the knowledge check."),
        SigningRefusal(PieceKind.PREREQUISITES, "Does not hold: clamping a block (P04).", "Bring it up to date first."),
    )


def test_nothing_that_counts_is_said_where_no_piece_is_asked() -> None:
    assert refused(detail=detail(evidence=Evidence.SOME)) == (
        SigningRefusal(Code.NO_EVIDENCE, "No observation and no result counts that day.", "Record what was seen."),
    )
    assert standing([met("2026-03-09")], EASY).on(DAY).state is State.READY


SESSION = SessionRecord(["2026-03-02"], "sharps", "Ada", "trained 2023", "English", "nothing", True, True, 3)


@pytest.mark.parametrize(
    ("changed", "lacks"),
    [
        ({}, []),
        ({"days": []}, ["the day or days"]),
        ({"summary": " "}, ["contents or a summary"]),
        ({"trainer": ""}, ["the trainer’s name"]),
        ({"qualification": " "}, ["the trainer’s qualification"]),
        ({"attended": 0}, ["somebody who attended"]),
        ({"language": ""}, ["the language used"]),
        ({"handed_out": ""}, ["what was handed out (“nothing” is an answer)"]),
        ({"live_questions": None}, ["live questions with the trainer"]),
        ({"live_questions": False}, ["live questions with the trainer"]),
        ({"demonstrated": False}, []),
        ({"demonstrated": False, "sources": ["O-20"]}, ["understanding shown, not only taught"]),
        ({"demonstrated": True, "sources": ["O-20"]}, []),
        ({"untitled": ["Ben"], "summary": ""}, ["contents or a summary", "the job title that Ben had that day"]),
    ],
)
def test_a_session_names_what_its_record_lacks(changed: dict[str, object], lacks: list[str]) -> None:
    assert missing(replace(SESSION, **changed)) == lacks  # type: ignore[arg-type]


def watched(method: Method, outcome: Outcome = Outcome.MET) -> Observed:
    at = datetime(2026, 1, 15, 9, tzinfo=UTC)
    return Observed(id="o", day=at.date(), recorded_at=at, version=1, assessment=True, method=method, outcome=outcome)


def test_the_six_elements_say_how_each_was_covered_by_one() -> None:
    seen = [watched(method) for method in Method] + [watched(Method.REAL, Outcome.NOT_MET)]
    found = elements(seen, covers_upkeep=True, entries_checked=1, asked_steps=1, check_passed=True)
    assert [(each.number, each.how) for each in found] == [
        (1, "2 assessments watched"),
        (2, "1 log entry made under observation"),
        (3, "1 review of records"),
        (4, "1 real upkeep watched"),
        (5, "1 practice piece"),
        (6, "2 drills or talks, 1 situation put at the bench, knowledge check passed"),
    ]


def test_the_six_elements_say_how_each_was_covered_by_several() -> None:
    seen = [
        watched(m) for m in (Method.REAL, Method.REAL, Method.RECORDS, Method.RECORDS, Method.PRACTICE, Method.PRACTICE)
    ]
    found = elements(
        [*seen, watched(Method.TALK)], covers_upkeep=True, entries_checked=2, asked_steps=2, check_passed=False
    )
    assert [each.how for each in found] == [
        "4 assessments watched", "2 log entries made under observation", "2 reviews of records", "2 times real upkeep watched",
        "2 practice pieces", "1 drill or talk, 2 situations put at the bench",
    ]  # fmt: skip


def test_the_names_of_the_six_elements() -> None:
    found = elements([watched(Method.REAL)], covers_upkeep=False, entries_checked=0, asked_steps=0, check_passed=False)
    assert [(each.name, each.how) for each in found] == [
        ("Watched doing the routine work", "1 assessment watched"),
        ("Log entries checked", ""),
        ("Records of tools, torque and upkeep reviewed", ""),
        ("Watched doing upkeep and function checks", ""),
        ("Performance on a known piece", ""),
        ("Solving a problem", ""),
    ]
