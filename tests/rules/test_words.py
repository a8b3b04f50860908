"""Days, numbers and lists in words: the one way to say each."""

from datetime import UTC, date, datetime

import pytest

from clinic.rules import words
from clinic.rules.words import counted, ended, listed, out_of, several

DAY = date(2026, 12, 2)


def test_a_day_is_said_in_full_short_and_without_its_year() -> None:
    assert [say(DAY) for say in (words.day_words, words.short_day, words.day_of_month, words.short_month)] == [
        "2 December 2026", "2 Dec 2026", "2 Dec", "Dec",
    ]  # fmt: skip
    assert words.month_words(DAY) == "December 2026"
    assert words.instant_words(datetime(2026, 12, 2, 9, 5, tzinfo=UTC)) == "2 December 2026 at 09:05"


def test_no_day_is_said_as_nothing() -> None:
    assert (words.day_words(None), words.short_day(None)) == ("", "")


def test_an_instant_that_never_came_is_said_as_nothing() -> None:
    assert words.instant_words(None) == ""


def test_every_weekday_is_the_one_of_the_calendar() -> None:
    """Against the C locale's own names, which are English."""
    week = [date(2026, 11, day) for day in range(23, 30)]
    assert [words.weekday_words(day) for day in week] == [f"{day:%A}" for day in week]


@pytest.mark.parametrize("month", range(1, 13))
def test_every_month_is_the_one_of_the_calendar(month: int) -> None:
    """Against the C locale's own names, which are English."""
    day = date(2025, month, 9)
    assert (words.month_words(day), words.short_month(day)) == (f"{day:%B %Y}", f"{day:%b}")


@pytest.mark.parametrize(
    ("number", "figures", "spelt"),
    [
        (0, "0 days", "no days"),
        (1, "1 day", "one day"),
        (2, "2 days", "two days"),
        (12, "12 days", "twelve days"),
        (1200, "1,200 days", "1,200 days"),
    ],
)
def test_only_one_is_one(number: int, figures: str, spelt: str) -> None:
    assert (counted(number, "day"), several(number, "day")) == (figures, spelt)


def test_a_word_with_its_own_plural_gets_that() -> None:
    assert (counted(2, "entry", "entries"), several(3, "person", "people")) == ("2 entries", "three people")


def test_a_part_of_a_whole_takes_the_word_of_the_whole() -> None:
    assert (out_of(10, 1, "part"), out_of(1, 20, "part")) == ("10 of 1 part", "1 of 20 parts")


@pytest.mark.parametrize(
    ("parts", "said"), [([], ""), (["a"], "a"), (["a", "b"], "a and b"), (["a", "b", "c"], "a, b and c")]
)
def test_a_list_ends_with_and(parts: list[str], said: str) -> None:
    assert listed(parts) == said
    assert listed(parts, "or") == said.replace(" and ", " or ")


@pytest.mark.parametrize(
    ("typed", "said"), [("It slipped", "It slipped."), ("It slipped. ", "It slipped."), ("Why?", "Why?"), ("", "")]
)
def test_what_people_typed_gets_its_full_stop_once(typed: str, said: str) -> None:
    assert ended(typed) == said


def test_after_a_colon_only_the_first_sentence_begins_small() -> None:
    assert words.after_colon("Nothing is due. Everything is in time.") == "nothing is due. Everything is in time."
    assert words.after_colon("SDS first.") == "SDS first."


def test_a_capital_changes_nothing_else() -> None:
    assert words.begun("real work by P04") == "Real work by P04"


@pytest.mark.parametrize(
    ("title", "said"),
    [
        ("Tool swap", "tool swap"),
        ("SDS and labels", "SDS and labels"),
        ("CAD technician", "CAD technician"),
        ("Hepatitis B offers", "hepatitis B offers"),
        ("Change the HEPA filter", "change the HEPA filter"),
        ("Lead Assistant", "Lead Assistant"),
        ("Assistant to Dr Lee", "Assistant to Dr Lee"),
        ("X", "x"),
        ("", ""),
    ],
)
def test_inside_a_sentence_only_a_plain_first_word_begins_small(title: str, said: str) -> None:
    assert words.in_text(title) == said
