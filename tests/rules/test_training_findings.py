"""Findings about people: when they begin, when they end."""

from datetime import date, timedelta

import pytest

from clinic.rules.findings import Weight, on_day
from training.rules.findings import (
    Ask,
    CriticalMiss,
    Duty,
    EverRequired,
    JudgedSignature,
    too_few_signers,
    training_overdue,
    unanswered_misses,
    wrong_signatures,
)

DAY = date(2026, 3, 2)
NEXT = DAY + timedelta(days=1)


def required(*usable: tuple[date, date | None]) -> EverRequired:
    return EverRequired("Anna", "a", "Milling (P07)", "P07", [Ask(DAY - timedelta(days=30), None, DAY)], usable)


def test_training_is_overdue_from_the_day_after_its_due_day():
    found = training_overdue([required()])
    assert on_day(found, DAY) == []
    assert on_day(found, NEXT)[0].sentence == "Anna, Milling (P07): was due 2 March 2026, 1 day ago."
    assert training_overdue([required((DAY, None))]) == []


def test_what_was_held_and_lapsed_is_late_from_the_day_on_which_it_stopped():
    (found,) = on_day(training_overdue([required((DAY, NEXT + timedelta(days=30)))]), NEXT + timedelta(days=31))
    assert found.since == NEXT + timedelta(days=30)
    assert found.sentence == "Anna, Milling (P07): not held since 2 April 2026, 2 days."


def test_what_is_signed_late_ends_it_and_a_lapse_is_another_occurrence():
    late, lapsed = training_overdue([required((NEXT + timedelta(days=3), NEXT + timedelta(days=9)))])
    assert (late.first, late.after, lapsed.first, lapsed.after) == (
        NEXT, NEXT + timedelta(days=3), NEXT + timedelta(days=9), None,
    )  # fmt: skip
    assert late.key != lapsed.key


def test_nothing_is_late_once_the_job_role_has_ended():
    ask = Ask(DAY - timedelta(days=30), NEXT + timedelta(days=1), DAY)
    (found,) = training_overdue([EverRequired("Anna", "a", "P07", "P07", [ask], ())])
    assert (found.first, found.after) == (NEXT, NEXT + timedelta(days=1))


@pytest.mark.parametrize(
    ("signer", "authority", "usable", "says"),
    [
        ("a", True, True, "signed for oneself"),
        ("b", False, True, "without authority that day"),
        ("b", True, False, "while not usable in it"),
        ("a", False, True, "signed for oneself and without authority that day"),
    ],
)
def test_a_wrong_signature_stops_the_work_and_names_all_that_is_wrong(signer, authority, usable, says):
    one = JudgedSignature("s", DAY, "Anna", "a", "X", signer, "P07", authority, usable)
    (found,) = wrong_signatures([one])
    assert found.weight is Weight.STOP
    assert found.sentence == f"Anna, P07: signed by X on 2 March 2026, {says}."


def test_a_right_signature_and_a_withdrawn_one_are_no_finding():
    right = JudgedSignature("s", DAY, "Anna", "a", "Bo", "b", "P07", True, True)
    gone = JudgedSignature("s", DAY, "Anna", "a", "Anna", "a", "P07", True, True, withdrawn=DAY)
    assert wrong_signatures([right, gone]) == []


def test_a_withdrawal_ends_a_wrong_signature():
    one = JudgedSignature("s", DAY, "Anna", "a", "Anna", "a", "P07", True, True, withdrawn=NEXT)
    assert [(f.first, f.after) for f in wrong_signatures([one])] == [(DAY, NEXT)]


def test_a_critical_miss_has_until_the_end_of_its_day():
    one = CriticalMiss("o", DAY, "Anna", "P07")
    assert on_day(unanswered_misses([one]), DAY) == []
    assert [f.weight for f in on_day(unanswered_misses([one]), NEXT)] == [Weight.STOP]
    assert unanswered_misses([CriticalMiss("o", DAY, "Anna", "P07", NEXT)]) == []


ALWAYS = [(DAY, None)]
NAMES = {"a": "Ada Lind", "b": "Ada Lind", "c": "Cy"}


def duty(code: str, *who: str) -> Duty:
    return Duty(code, "Milling", ALWAYS, dict.fromkeys(who, ALWAYS))


def test_two_signers_are_enough_and_one_is_not():
    found = too_few_signers([duty("P07", "a"), duty("P08", "a", "c"), duty("P09")], NAMES, DAY)
    assert sorted(f.about for f in found) == ["Milling (P07)", "Milling (P09)"]
    assert "nobody can sign" in {f.about: f for f in found}["Milling (P09)"].sentence


def test_two_signers_of_the_same_name_are_two() -> None:
    assert too_few_signers([duty("P07", "a", "b")], NAMES, DAY) == []


def test_all_that_hangs_on_one_person_is_one_finding_with_its_procedures() -> None:
    (found,) = too_few_signers([duty(f"P{n:02}", "a") for n in range(1, 36)], NAMES, DAY)
    assert found.about == "35 procedures (P01 to P35)"


def test_it_stays_the_same_finding_while_what_hangs_on_that_person_changes() -> None:
    later = [(NEXT, None)]
    both = [duty("P07", "a"), Duty("P08", "Sintering", later, {"a": later})]
    first, then = too_few_signers(both, NAMES, DAY)
    assert (first.key, first.after) == (then.key, then.first) and then.about == "2 procedures (P07, P08)"
