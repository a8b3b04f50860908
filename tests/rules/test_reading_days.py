"""Days as people type them, in both orders, at month ends and on leap days."""

from datetime import date

import pytest
from django.conf.locale.en import formats as american  # as Django ships them, after CLDR
from django.conf.locale.en_GB import formats as british
from hypothesis import given
from hypothesis import strategies as st

from clinic.rules.reading_days import FIRST_DAY, LAST_DAY, Doubt, Order, order_of, read_day
from clinic.rules.titles import nearest, unknown_role, without_mark
from clinic.rules.words import MONTHS, day_words, short_day

TODAY = date(2026, 11, 28)
DAY, MONTH = Order.DAY_FIRST, Order.MONTH_FIRST
TWENTIETH = [
    "20 Nov 2026", "20 November 2026", "20-Nov-2026", "20th nov. 2026", "Nov 20, 2026", "NOVEMBER 20 2026", "2026-11-20",
    "2026/11/20", "20/11/2026", "20.11.2026", "11/20/2026", "20 Nov", "nov 20", "20nov", " 20  Nov , 2026 ",
]  # fmt: skip


@pytest.mark.parametrize("words", TWENTIETH)
@pytest.mark.parametrize("order", Order)
def test_what_can_be_one_day_only_is_read_in_either_order(words: str, order: Order) -> None:
    read = read_day(words, order, TODAY)
    assert read and (read.day, read.other, read.doubt) == (date(2026, 11, 20), None, Doubt.NONE)


def test_figures_that_are_two_days_follow_the_order_and_say_so() -> None:
    ours, theirs = read_day("03/04/2026", DAY, TODAY), read_day("3.4.2026", MONTH, TODAY)
    assert ours and (ours.day, ours.other, ours.doubt) == (date(2026, 4, 3), date(2026, 3, 4), Doubt.ORDER)
    assert theirs and (theirs.day, theirs.other) == (date(2026, 3, 4), date(2026, 4, 3))


def test_the_same_day_in_both_orders_is_no_question() -> None:
    read = read_day("05/05/2026", MONTH, TODAY)
    assert read and (read.day, read.doubt, read.is_turned) == (date(2026, 5, 5), Doubt.NONE, False)


@pytest.mark.parametrize(("words", "order"), [("11/20/2026", DAY), ("20/11/2026", MONTH), ("31.01.2026", MONTH)])
def test_a_day_in_the_other_order_only_is_known_for_it(words: str, order: Order) -> None:
    read = read_day(words, order, TODAY)
    assert read and read.is_turned


@pytest.mark.parametrize(
    "words",
    ["", "soon", "31 Apr 2026", "29 Feb 2026", "29/02/2026", "31/04/2026", "2026-02-30", "0/1/2026", "32 Jan 2026", "20/11",
     "20/11/26", "20 Nov 26", "Nov 2026", "2026", "20 Novel 2026", "20 ju 2026", "²0 Nov 2026", "1 2 3 2026"],
)  # fmt: skip
def test_what_is_no_day_is_none(words: str) -> None:
    assert read_day(words, DAY, TODAY) is None


@pytest.mark.parametrize("words", ["29 Feb 2028", "29/02/2028", "2/29/2028", "2028-02-29"])
def test_a_leap_day_is_a_day_in_a_leap_year(words: str) -> None:
    read = read_day(words, DAY, TODAY)
    assert read and read.day == date(2028, 2, 29)


@pytest.mark.parametrize(
    ("words", "today", "day", "other"),
    [
        ("20 Nov", date(2026, 1, 10), date(2025, 11, 20), None),
        ("5 Jan", date(2026, 12, 20), date(2027, 1, 5), None),
        ("20 Nov", date(2026, 5, 25), date(2026, 11, 20), date(2025, 11, 20)),
        ("29 Feb", date(2028, 3, 1), date(2028, 2, 29), None),
        ("29 Feb", date(2027, 3, 1), date(2028, 2, 29), None),
    ],
)
def test_without_a_year_it_is_the_nearest_and_asked_where_that_is_far(
    words: str, today: date, day: date, other: date | None
) -> None:
    read = read_day(words, DAY, today)
    assert read and (read.day, read.other) == (day, other)


def test_a_leap_day_without_a_year_and_no_leap_year_near_is_no_day() -> None:
    assert read_day("29 Feb", DAY, date(2026, 3, 1)) is None


@given(st.dates(FIRST_DAY, LAST_DAY), st.sampled_from(Order))
def test_every_day_that_the_register_writes_reads_back(day: date, order: Order) -> None:
    for words in (day_words(day), short_day(day), day.isoformat()):
        read = read_day(words, order, TODAY)
        assert read and (read.day, read.doubt) == (day, Doubt.NONE)


@given(st.dates(FIRST_DAY, LAST_DAY))
def test_the_likeliest_day_is_what_the_order_writes(day: date) -> None:
    """Slow twin: strftime writes what is read."""
    for order, pattern in ((DAY, "%d/%m/%Y"), (MONTH, "%m/%d/%Y")):
        read = read_day(day.strftime(pattern), order, TODAY)
        assert read and read.day == day
        assert (read.doubt is Doubt.ORDER) == (day.day <= 12 and day.day != day.month)


def test_the_order_is_that_of_the_country() -> None:
    assert (american.SHORT_DATE_FORMAT, order_of("en-US")) == ("m/d/Y", MONTH)
    assert (british.SHORT_DATE_FORMAT, order_of("en-GB")) == ("d/m/Y", DAY)
    assert order_of("en") == order_of("") == order_of("de-CH") == DAY


def test_a_month_is_known_by_three_letters_or_more_and_no_two_share_them() -> None:
    assert len({month[:3] for month in MONTHS}) == 12


TITLES = ("Dental assistant", "Lead assistant", "Dentist")


@pytest.mark.parametrize(
    ("said", "near"), [("dental asistant", "Dental assistant"), ("Denist", "Dentist"), ("Porter", ""), ("", "")]
)
def test_the_nearest_title_is_the_one_most_like_it(said: str, near: str) -> None:
    assert nearest(said, TITLES) == near


def test_an_unknown_role_is_said_with_the_nearest_or_without() -> None:
    assert unknown_role("Porter", TITLES) == "There is no job role “Porter” here."
    assert without_mark("NEW:  Porter") == ("Porter", True) and without_mark("Newcomer") == ("Newcomer", False)
