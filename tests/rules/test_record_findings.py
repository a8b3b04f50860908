"""Findings about records, and what closes a finding."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from clinic.rules.findings import Finding, Weight, on_day
from training.rules.findings_closed import Action, counts, weighed
from training.rules.findings_records import (
    LIVE,
    FactAsked,
    PastDeadline,
    SealCheck,
    SessionKept,
    missing_site_facts,
    records_with_gaps,
    seal_check,
    work_past_deadline,
)

TODAY = date(2025, 3, 3)
KEPT = SessionKept("s1", TODAY, "Bloodborne pathogens (T01)", ())
OLD = PastDeadline("Wren Adeyemi", "w", "P03", "2", TODAY, ())


def test_a_complete_session_is_no_finding() -> None:
    """29 CFR 1910.1030(h)(2)(i): dates, contents, trainer and qualification, names and job titles (row O-05, V)."""
    assert records_with_gaps([KEPT]) == []


def test_a_missing_field_is_named_and_the_session_does_not_count() -> None:
    (found,) = records_with_gaps([replace(KEPT, missing=("the trainer’s qualification", LIVE))])
    assert (found.code, found.weight, found.evidence) == ("record with a gap", Weight.FIX, ("s1",))
    assert "lacks the trainer’s qualification and live questions" in found.sentence


def test_questions_never_asked_live_are_a_finding_of_their_own() -> None:
    """29 CFR 1910.1030(g)(2)(vii)(N) as read by OSHA (row O-04): direct access to a trainer who answers."""
    (found,) = records_with_gaps([replace(KEPT, missing=(LIVE,))])
    assert found.code == "questions not live"


def test_work_after_the_deadline_of_a_version_can_only_be_explained() -> None:
    _, found = work_past_deadline([replace(OLD, entries=(("e2", TODAY), ("e1", TODAY - timedelta(days=1))))])
    assert (found.weight, found.since, found.evidence) == (Weight.NOTE, TODAY - timedelta(days=1), ("e2", "e1"))
    assert "2 pieces of work since 2 March 2025, after version 2" in found.sentence


def test_a_deadline_without_work_since_is_no_finding() -> None:
    assert work_past_deadline([OLD]) == []


def test_a_site_fact_that_is_used_and_empty_names_who_uses_it() -> None:
    (found,) = missing_site_facts(
        [FactAsked("stop control", "unit 2", {"P03": [(TODAY, None)], "P01": [(TODAY, None)]})]
    )
    assert found.sentence == "“stop control” of unit 2 is not filled in, and P01 and P03 use it."


@pytest.mark.parametrize(("ago", "late"), [(7, False), (8, True)])
def test_a_seal_check_is_good_for_a_week(ago: int, late: bool) -> None:
    found = on_day(
        seal_check([SealCheck("c", TODAY - timedelta(days=ago), 0, TODAY)], TODAY - timedelta(days=9)), TODAY
    )
    assert [one.code for one in found] == (["seal check late"] if late else [])


def test_a_broken_seal_stops_however_new_the_check_is() -> None:
    (found,) = on_day(seal_check([SealCheck("c", TODAY, 1, TODAY)], TODAY), TODAY)
    assert (found.weight, found.evidence) == (Weight.STOP, ("c",))


def test_seals_that_were_never_checked_are_late_from_a_week_after_the_start() -> None:
    start = TODAY - timedelta(days=8)
    assert [one.first for one in seal_check([], start)] == [TODAY]


def test_a_site_fact_is_missing_until_it_has_an_answer() -> None:
    used = {"P03": [(TODAY, TODAY + timedelta(days=9))]}
    (found,) = missing_site_facts([FactAsked("lamp", "", used, TODAY + timedelta(days=2))])
    assert (found.first, found.after) == (TODAY, TODAY + timedelta(days=2))


def test_a_broken_seal_ends_with_a_clean_check_and_a_late_check_with_the_next() -> None:
    checks = [SealCheck(f"c{n}", TODAY + timedelta(days=n), 1 if n == 20 else 0, TODAY) for n in (0, 20, 22)]
    spans = {
        (one.code, (one.first - TODAY).days, one.after and (one.after - TODAY).days)
        for one in seal_check(checks, TODAY)
    }
    assert spans == {("seal check late", 8, 20), ("broken seal", 20, 22), ("seal check late", 30, None)}


def finding(weight: Weight, since: date = TODAY, key: str = "k") -> Finding:
    return Finding(key, weight, "c", "about", (), since, "says", "ends", since)


def action(since: date = TODAY, key: str = "k") -> Action:
    return Action("a", key, since, "Talked about it.", "Hester Vane", TODAY)


def test_a_note_is_closed_by_what_was_done_about_it() -> None:
    (one,) = weighed([finding(Weight.NOTE)], [action()])
    assert (one.is_open, counts([one])["note"]) == (False, 0)


@pytest.mark.parametrize("weight", [Weight.STOP, Weight.FIX])
def test_words_alone_do_not_end_what_must_stop_or_be_fixed(weight: Weight) -> None:
    (one,) = weighed([finding(weight)], [action()])
    assert (one.is_open, len(one.actions)) == (True, 1)


@pytest.mark.parametrize("other", [{"since": TODAY - timedelta(days=1)}, {"key": "other"}])
def test_a_finding_that_comes_back_is_open_again(other: dict[str, object]) -> None:
    (one,) = weighed([finding(Weight.NOTE)], [action(**other)])  # type: ignore[arg-type]
    assert one.is_open


def test_the_heaviest_and_then_the_oldest_stands_first() -> None:
    note, fix = finding(Weight.NOTE, key="n"), finding(Weight.FIX, key="f")
    older = finding(Weight.FIX, TODAY - timedelta(days=9), "o")
    stop = finding(Weight.STOP, key="s")
    assert [one.finding.key for one in weighed([note, fix, older, stop], [])] == ["s", "o", "f", "n"]
