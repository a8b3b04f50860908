"""Findings about people: when they begin, when they end."""

from datetime import date, timedelta

import pytest

from clinic.rules.findings import Weight
from training.rules.findings import (
    CriticalMiss,
    Required,
    Signature,
    too_few_signers,
    training_overdue,
    unanswered_misses,
    wrong_signatures,
)

DAY = date(2026, 3, 2)
NEXT = DAY + timedelta(days=1)


def test_training_is_overdue_from_the_day_after_its_due_day():
    one = Required("Anna", "a", "P07", DAY, usable=False)
    assert training_overdue([one], DAY) == []
    assert training_overdue([one], NEXT)[0].sentence == "Anna, P07: was due 2 March 2026, 1 day ago."
    assert training_overdue([Required("Anna", "a", "P07", DAY, usable=True)], NEXT) == []


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
    one = Signature("s", DAY, "Anna", "a", "X", signer, "P07", authority, usable)
    (found,) = wrong_signatures([one])
    assert found.weight is Weight.STOP
    assert found.sentence == f"Anna, P07: signed by X on 2 March 2026, {says}."


def test_a_right_signature_and_a_withdrawn_one_are_no_finding():
    right = Signature("s", DAY, "Anna", "a", "Bo", "b", "P07", True, True)
    gone = Signature("s", DAY, "Anna", "a", "Anna", "a", "P07", True, True, withdrawn=True)
    assert wrong_signatures([right, gone]) == []


def test_a_critical_miss_has_until_the_end_of_its_day():
    one = CriticalMiss("o", DAY, "Anna", "P07")
    assert unanswered_misses([one], DAY) == []
    assert [f.weight for f in unanswered_misses([one], NEXT)] == [Weight.STOP]
    assert unanswered_misses([CriticalMiss("o", DAY, "Anna", "P07", NEXT)], NEXT) == []


def test_two_signers_are_enough_and_one_is_not():
    found = too_few_signers([("P07", ("Anna",), DAY), ("P08", ("Anna", "Bo"), DAY), ("P09", (), DAY)])
    assert [f.about for f in found] == ["P07", "P09"]
    assert "nobody can sign" in found[1].sentence


def test_two_signers_of_the_same_name_are_two() -> None:
    assert too_few_signers([("P07", ("Ada Lind", "Ada Lind"), DAY)]) == []
