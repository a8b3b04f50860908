"""A block's code is counted by what the walk round says of it. All common practice, no source."""

from decimal import Decimal

import pytest

from clinic.rules.block_codes import CodeAsked, code_asked, counted_in, plain_number, wrong_length

EIGHT = CodeAsked(8)


@pytest.mark.parametrize(
    ("answer", "asked"),
    [
        ("eight characters, the point counted", EIGHT),
        ("8 characters", EIGHT),
        ("eight characters, the point not counted", CodeAsked(8, ".,")),
        ("ten characters, blanks and dashes not counted, the point counted", CodeAsked(10, " \u00a0-–—‐‑−")),
        ("ten characters without blanks and with the point", CodeAsked(10, " \u00a0")),
        ("twelve, without blanks or points", CodeAsked(12, " \u00a0.,")),
        ("a plain number", None),
        ("a plain number of five digits", None),
        ("as on the packet", None),
        ("1 character", None),
        ("400 characters", None),
        ("", None),
    ],
)
def test_the_answer_says_how_many_characters_count(answer: str, asked: CodeAsked | None) -> None:
    assert code_asked(answer) == asked


@pytest.mark.parametrize(
    ("code", "says"),
    [
        ("1.2272-A", ""),
        (" 1.2272-A ", ""),
        ("1.2272A", "7 of 8 characters, one short: look for a blank, a printed dash or a point that counts."),
        ("1.22", "4 of 8 characters, too few: read it again as it is printed."),
        ("1.2272-AB", "9 of 8 characters, too many: read it again as it is printed."),
        ("1.2272 A", ""),
    ],
)
def test_one_short_means_a_sign_that_was_not_seen(code: str, says: str) -> None:
    assert wrong_length(code, EIGHT) == says


def test_what_does_not_count_may_stand_there_or_not() -> None:
    asked = CodeAsked(7, ".,")
    assert counted_in("1.2272-A", asked) == counted_in("12272-A ", asked) == 7


@pytest.mark.parametrize(
    ("code", "number"), [("1.2272", "1.2272"), (" 1,2272 ", "1.2272"), ("1.22-A", None), ("NaN", None), ("", None)]
)
def test_a_code_that_is_a_plain_number_is_one(code: str, number: str | None) -> None:
    assert plain_number(code) == (number and Decimal(number))
