"""Sheets of paper in words. Nobody's name stands for what they did not do: a sheet is *entered by* somebody, and
*confirmed by* whoever watched."""

from datetime import date

from clinic.rules.words import day_words


def sheet_words(number: int) -> str:
    """As it is printed on the sheet, with at least four figures: sheet 0123."""
    return f"sheet {number:04}"


def number_of(words: str) -> int | None:
    """The number as somebody types it off the sheet: 0123, 123, no. 0123; None where there is none, or more than one."""
    figures = "".join(letter if letter.isdecimal() else " " for letter in words).split()
    return int(figures[0]) if len(figures) == 1 and len(figures[0]) <= 9 and int(figures[0]) else None


def from_paper_words(number: int, entered_by: str, entered_on: date) -> str:
    """How a record from paper says so, wherever it is shown."""
    return f"from paper, {entered_words(number, entered_by, entered_on)}"


def entered_words(number: int, entered_by: str, entered_on: date) -> str:
    return f"{sheet_words(number)}, entered by {entered_by} on {day_words(entered_on)}"


def waits_words(watcher: str) -> str:
    return f"It counts for nothing until {watcher}, who is said to have watched, confirms it."
