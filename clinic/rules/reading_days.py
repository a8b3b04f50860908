"""Days as people type them: 20 Nov 2026, Nov 20, 20/11/2026, 2026-11-20. What may mean two days says so.

Figures alone are read in the order of the site's country, and 03/04/2026 is still two days: a form asks once, with the day in
words, before anything is kept, and a file shows it in words before it is entered. A year that is left out is the one that puts
the day nearest to today, and is asked where that is not plain. Years have four figures, or they would be days as well.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from clinic.rules.words import MONTHS

# Sums of days stay within the calendar: twenty years kept after the last of them is still a day.
FIRST_DAY, LAST_DAY = date(1900, 1, 1), date(2199, 12, 31)
PLAIN_DAYS = 120  # a day without a year that is this near to today cannot well be of another year
MONTH_FIRST = {"US", "AS", "GU", "MP", "PR", "UM", "VI"}  # the United States and their territories; from memory of CLDR
YEAR_FIRST = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})")
FIGURES = re.compile(r"(\d{1,2})[-/.](\d{1,2})[-/.](\d{4})")
NAMED = re.compile(
    r"(?:(\d{1,2})(?:st|nd|rd|th)?\.?[ -]?([a-z]{3,9})\.?|([a-z]{3,9})\.?[ -]?(\d{1,2})(?:st|nd|rd|th)?)(?:[ -](\d{4}))?"
)


class Order(StrEnum):
    """Which of two figures before the year is the day."""

    DAY_FIRST = "day first"
    MONTH_FIRST = "month first"


class Doubt(StrEnum):
    """Why somebody has to be asked."""

    NONE = ""
    ORDER = "order"
    YEAR = "year"


@dataclass(frozen=True, slots=True)
class Reading:
    """The likeliest day, the other one it may mean, and why. `is_turned`: it is a day in the other order only."""

    day: date
    other: date | None = None
    doubt: Doubt = Doubt.NONE
    is_turned: bool = False


def order_of(language: str) -> Order:
    """The order in which a country writes a day in figures, by the region of its language: en-US, en-GB."""
    region = language.replace("_", "-").rpartition("-")[2].upper()
    return Order.MONTH_FIRST if region in MONTH_FIRST else Order.DAY_FIRST


def read_day(words: str, order: Order, today: date) -> Reading | None:
    """What somebody typed, or None where it is no day. It may lie outside the calendar of the register."""
    said = " ".join(words.replace(",", " ").split()).lower()
    if found := YEAR_FIRST.fullmatch(said):
        day = day_of(*map(int, found.groups()))
        return Reading(day) if day else None
    if found := FIGURES.fullmatch(said):
        first, second, year = map(int, found.groups())
        return in_order(day_of(year, second, first), day_of(year, first, second), order)
    if found := NAMED.fullmatch(said):
        before, name, other_name, after, year_said = found.groups()
        month, number = month_of(name or other_name), int(before or after)
        return of_month(number, month, year_said, today) if month else None
    return None


def in_order(day_first: date | None, month_first: date | None, order: Order) -> Reading | None:
    mine, other = (day_first, month_first) if order is Order.DAY_FIRST else (month_first, day_first)
    if mine and other and mine != other:
        return Reading(mine, other, Doubt.ORDER)
    if mine:
        return Reading(mine)
    return Reading(other, is_turned=True) if other else None


def of_month(number: int, month: int, year: str | None, today: date) -> Reading | None:
    if year:
        day = day_of(int(year), month, number)
        return Reading(day) if day else None
    near = sorted(around(number, month, today), key=lambda day: abs(day - today))
    if not near:
        return None
    other = near[1] if len(near) > 1 else None
    return Reading(near[0]) if abs(near[0] - today).days <= PLAIN_DAYS else Reading(near[0], other, Doubt.YEAR)


def around(number: int, month: int, today: date) -> Iterator[date]:
    """That day of last year, this one and the next, where they have it."""
    for year in (today.year - 1, today.year, today.year + 1):
        if day := day_of(year, month, number):
            yield day


def month_of(name: str) -> int:
    """1 to 12 for the name of a month, or its first three letters or more; 0 for anything else."""
    return next((n for n, month in enumerate(MONTHS, 1) if month.lower().startswith(name)), 0)


def day_of(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None
