"""Readings, driver checks and keeping periods in whole sentences, and who is here on which day."""

from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest

from clinic.rules.chemicals import ListedProduct
from clinic.rules.readings import (
    Judged,
    ReadingKind,
    ReadingSpec,
    Value,
    Verdict,
    as_number,
    at_least,
    readings_verdict,
)
from clinic.rules.torque import (
    DriverClass,
    Reference,
    Room,
    TorquePoint,
    reference_refusals,
    room_refusals,
    target_refusals,
    verify,
)

DAY = date(2026, 3, 2)
YES_NO = ReadingSpec("k", "Pump runs", ReadingKind.YES_NO)
NO_IS_GOOD = ReadingSpec("k", "Leak", ReadingKind.YES_NO, good=("no",))
CHOICE = ReadingSpec("k", "Strip", ReadingKind.CHOICE, choices=("pale", "dark"), good=("dark",))
LINERS = ReadingSpec("k", "Liners", ReadingKind.N_OF_N, total=4)
BY_SITE = ReadingSpec("k", "Liners", ReadingKind.N_OF_N, site_total="liners")
BOTH = ReadingSpec("k", "Heat", ReadingKind.NUMBER, unit="°C", low=10, high=30, below=25)
FREE = ReadingSpec("k", "Hours", ReadingKind.NUMBER, unit="h")
NEEDS = ReadingSpec("k", "Torque", ReadingKind.NUMBER, needs_limit=True)
TEXT = ReadingSpec("k", "Note", ReadingKind.TEXT)
CFU = ReadingSpec("k", "Count", ReadingKind.NUMBER, unit="CFU/mL", high=500)
BARE = ReadingSpec("k", "Count", ReadingKind.NUMBER, below=500)


def judged(spec: ReadingSpec, value: Value, **facts: str | float) -> tuple[str, str]:
    (verdict,) = readings_verdict([spec], {"k": value}, facts, DAY)
    return verdict.judged.value, verdict.sentence


@pytest.mark.parametrize(
    ("spec", "value", "word", "says"),
    [
        (YES_NO, True, "good", "Pump runs: yes."),
        (YES_NO, False, "out of limits", "Pump runs: no."),
        (YES_NO, " Yes ", "good", "Pump runs: yes."),
        (YES_NO, "no", "out of limits", "Pump runs: no."),
        (YES_NO, "perhaps", "unreadable", "Pump runs: “perhaps” is neither yes nor no. Choose one."),
        (NO_IS_GOOD, "no", "good", "Leak: no."),
        (NO_IS_GOOD, "yes", "out of limits", "Leak: yes."),
        (CHOICE, "dark", "good", "Strip: dark."),
        (CHOICE, "pale", "out of limits", "Strip: pale."),
        (CHOICE, "blue", "unreadable", "Strip: “blue” is not one of pale, dark. Choose one."),
        (LINERS, 4, "good", "Liners: 4 of 4."),
        (LINERS, "3", "out of limits", "Liners: 3 of 4."),
        (LINERS, 0, "out of limits", "Liners: 0 of 4."),
        (LINERS, 5, "unreadable", "Liners: 5 of 4 cannot be. Enter at most 4."),
        (LINERS, -1, "unreadable", "Liners: “-1” is not a count. Enter a whole number from 0."),
        (LINERS, 1.5, "unreadable", "Liners: “1.5” is not a count. Enter a whole number from 0."),
        (LINERS, "all", "unreadable", "Liners: “all” is not a count. Enter a whole number from 0."),
        (
            BY_SITE,
            2,
            "no limit known",
            "Liners: 2, but how many there are is not written down. Fill in the site fact.",
        ),
        (BOTH, 10, "good", "Heat: 10 °C is within limits."),
        (BOTH, 9.5, "out of limits", "Heat: 9.5 °C is under 10."),
        (BOTH, 25, "out of limits", "Heat: 25 °C is not below 25."),
        (BOTH, 31, "out of limits", "Heat: 31 °C is over 30 and not below 25."),
        (BOTH, "warm", "unreadable", "Heat: “warm” is not a number. Enter digits."),
        (FREE, 1234.5, "good", "Hours: 1,234.5 h."),
        (NEEDS, 20, "no limit known", "Torque: 20."),
        (CFU, 500, "good", "Count: 500 CFU/mL is within limits."),
        (CFU, " ≥ 300 ", "out of limits", "Count: ≥ 300 CFU/mL, too many to count."),
        (CFU, "<10", "good", "Count: <10 CFU/mL is within limits."),
        (CFU, "<500", "good", "Count: <500 CFU/mL is within limits."),
        (CFU, "< 501", "out of limits", "Count: < 501 CFU/mL does not show that it is within 500."),
        (CFU, "<0", "unreadable", "Count: “<0” is not a number. Enter digits."),
        (FREE, "<10", "unreadable", "Hours: “<10” is not a number. Enter digits."),
        (BARE, ">300", "out of limits", "Count: >300, too many to count."),
        (FREE, ">300", "unreadable", "Hours: “>300” is not a number. Enter digits."),
        (TEXT, "as usual", "good", "Note: as usual."),
        (TEXT, "", "missing", "Note: no reading. Enter it, or say in the note why not."),
        (TEXT, None, "missing", "Note: no reading. Enter it, or say in the note why not."),
    ],
)
def test_a_reading_is_judged_in_a_whole_sentence(spec: ReadingSpec, value: Value, word: str, says: str) -> None:
    assert judged(spec, value) == (word, says)


def test_how_many_there_are_comes_from_the_site() -> None:
    assert judged(BY_SITE, 6, liners="6") == ("good", "Liners: 6 of 6.")


def test_a_reading_out_of_limits_carries_what_to_do_and_by_when() -> None:
    spec = ReadingSpec("k", "Strip", ReadingKind.CHOICE, choices=("pale",), what_to_do="Retest.", follow_up_days=3)
    assert readings_verdict([spec], {"k": "pale"}, {}, DAY) == [
        Verdict("k", Judged.OUT, "Strip: pale.", "Retest.", date(2026, 3, 5))
    ]


@pytest.mark.parametrize(
    ("typed", "number"), [("≥ 300", 300), (">=300", 300), (">300", 300), ("300", None), ("> many", None), (None, None)]
)
def test_only_a_sign_makes_a_reading_at_least(typed: Value, number: float | None) -> None:
    assert at_least(typed) == number


@pytest.mark.parametrize(
    ("value", "number"), [("1.5", 1.5), (True, None), (None, None), ("nan", None), ("inf", None), ("", None)]
)
def test_only_a_finite_number_is_one(value: Value, number: float | None) -> None:
    assert as_number(value) == number


NO_TARGET = {"set_torque": "Enter the maker’s figure: there is no default."}
NO_SOURCE = {"target_source": "Say where it stands in the maker’s instructions."}


@pytest.mark.parametrize(
    ("target", "source", "refusals"),
    [
        (None, "page 3", NO_TARGET),
        ("", "", NO_TARGET | NO_SOURCE),
        ("-1", "page 3", {"set_torque": "A target torque of -1 is not above 0."}),
        ("0.5", " ", NO_SOURCE),
        ("0.5", "page 3", {}),
    ],
)
def test_a_target_is_refused_in_whole_sentences(target: str | None, source: str, refusals: dict[str, str]) -> None:
    """T-14."""
    assert target_refusals(target, source) == refusals


@pytest.mark.parametrize(
    ("lowest", "highest", "says"),
    [
        ("18", "20", []),
        ("26", "28", []),
        ("17.9", "19", ["The room was 17.9 to 19 °C; it must stay within 18 to 28 °C."]),
        ("27", "28.1", ["The room was 27 to 28.1 °C; it must stay within 18 to 28 °C."]),
        ("20", "22.1", ["The room moved by 2.1 °C; it must stay within ±1 °C."]),
    ],
)
def test_what_is_wrong_with_the_room_is_said_whole(lowest: str, highest: str, says: list[str]) -> None:
    """T-09."""
    assert room_refusals(Room(Decimal(lowest), Decimal(highest))) == says


def test_what_is_wrong_with_the_reference_is_said_whole() -> None:
    """T-09."""
    assert reference_refusals(Reference(Decimal("1.1"), date(2026, 3, 1)), DAY) == [
        "The reference is good to 1.1 %; 1 % or better is needed.",
        "The reference was in date through 2026-03-01 only.",
    ]


def test_a_reading_outside_is_named_with_its_torque_and_its_distance() -> None:
    point = TorquePoint(Decimal(20), (Decimal(25), *[Decimal(20)] * 9))
    room, reference = Room(Decimal(20), Decimal(20)), Reference(Decimal(1), DAY)
    found = verify(DriverClass.E, [point], Fraction(6), DAY, reference, room)
    assert (found.passed, found.limit) == (False, Fraction(6))
    assert found.reasons == ("At 20: a reading of 25 is off by -20.000 %.",)


def test_a_product_is_here_from_its_first_day_until_the_day_it_is_gone() -> None:
    gone = ListedProduct("1", date(2026, 3, 2), "product", ("aerosol",), after=date(2026, 3, 4))
    here = ListedProduct("1", date(2026, 3, 2), "product", ("aerosol",))
    days = [date(2026, 3, day) for day in (1, 2, 3, 4)]
    assert [gone.is_here_on(day) for day in days] == [False, True, True, False]
    assert [here.is_here_on(day) for day in days] == [False, True, True, True]
