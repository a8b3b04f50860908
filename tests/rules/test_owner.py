"""What an owner asks first, in sentences."""

from datetime import date, timedelta

import pytest

from clinic.rules.findings import Finding, Weight
from training.rules.owner import Able, age, few_named, hang_on_one, objections, safe_lines, thinnest

DAY = date(2026, 11, 20)


def finding(code: str, weight: Weight = Weight.FIX) -> Finding:
    return Finding(code, weight, code, "the record", (), DAY, f"{code}.", "Doing it ends it.", DAY)


@pytest.mark.parametrize(
    ("alone", "signers", "says"),
    [
        (("Ada", "Bo"), ("Ada", "Bo"), ""),
        (("Ada", "Bo"), ("Ada",), "Only Ada can sign it."),
        (("Ada",), (), "Only Ada may do it alone, and nobody can sign it."),
        ((), (), "Nobody may do it alone, and nobody can sign it."),
    ],
)
def test_a_duty_says_what_hangs_on_one(alone: tuple[str, ...], signers: tuple[str, ...], says: str) -> None:
    assert Able("Tool swap (P03)", "P03", alone, signers).says == says


def test_what_nobody_may_do_stands_first_and_what_two_may_stands_nowhere() -> None:
    two = ("Ada", "Bo")
    duties = [Able("", "P01", two, two), Able("", "P02", two, ("Ada",)), Able("", "P03", (), ())]
    assert [one.code for one in hang_on_one(duties)] == ["P03", "P02"]


def test_each_safeguard_says_the_finding_about_it_or_its_last_day() -> None:
    found = [finding("restore drill late"), finding("broken seal", Weight.STOP), finding("upkeep overdue")]
    lines = safe_lines({"backup": DAY, "seal check": DAY}, found, DAY + timedelta(days=3))
    assert [(one.kind, one.says, one.state) for one in lines] == [
        ("backup", "20 November 2026, three days ago, in time.", "current"),
        ("restore drill", "restore drill late. Doing it ends it.", "fix"),
        ("seal check", "broken seal. Doing it ends it.", "stop"),
    ]


@pytest.mark.parametrize(("days", "says"), [(0, "today"), (1, "yesterday"), (2, "two days ago"), (40, "40 days ago")])
def test_the_age_of_a_copy_needs_no_sum(days: int, says: str) -> None:
    assert age(DAY, DAY + timedelta(days=days)) == says


def test_what_was_never_done_and_is_not_late_says_so() -> None:
    assert {one.says for one in safe_lines({}, [], DAY)} == {"Not done yet, and not late yet."}


@pytest.mark.parametrize(
    ("counts", "says"),
    [
        ((0, 0, 0), "An inspector would object to nothing that the register knows of."),
        ((0, 1, 0), "An inspector would object to one thing today, and nothing must stop."),
        ((2, 3, 0), "An inspector would object to five things today; two must stop at once."),
    ],
)
def test_the_first_sentence_counts_and_says_what_must_stop(counts: tuple[int, int, int], says: str) -> None:
    assert objections(dict(zip(("stop", "fix", "note"), counts, strict=True))) == says


@pytest.mark.parametrize(
    ("names", "says"),
    [
        ((), "nobody alone"),
        (("Ada",), "one alone: Ada"),
        (("Ada", "Bo", "Cy"), "three alone: Ada, Bo, Cy"),
        (tuple("abcd"), "four alone"),
    ],
)
def test_names_are_said_while_they_are_few(names: tuple[str, ...], says: str) -> None:
    assert few_named(names, "alone") == says


def test_the_duty_with_the_fewest_stands_first() -> None:
    duties = [
        Able("", "P01", ("a", "b", "c"), ("a", "b")),
        Able("", "P02", ("a", "b"), ("a", "b")),
        Able("", "P03", ("a", "b"), ("a",)),
    ]
    assert [one.code for one in thinnest(duties)] == ["P03", "P02", "P01"]
