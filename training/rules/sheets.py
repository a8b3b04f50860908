"""Sheets of paper in words. Nobody's name stands for what they did not do: a sheet is *entered by* somebody, and
*confirmed by* whoever watched. What an outside witness signed on paper is *compared with the photo by* a third."""

from datetime import date

from clinic.rules.words import day_words


def sheet_words(number: int) -> str:
    """As it is printed on the sheet, with at least four figures: sheet 0123."""
    return f"sheet {number:04}"


def number_of(words: str) -> int | None:
    """The number as somebody types it off the sheet: 0123, 123, no. 0123; None where there is none, or more than one."""
    figures = "".join(letter if letter.isdecimal() else " " for letter in words).split()
    return int(figures[0]) if len(figures) == 1 and len(figures[0]) <= 9 and int(figures[0]) else None


def from_paper_words(number: int, entered_by: str, entered_on: date, compared_by: str = "") -> str:
    """How a record from paper says so, wherever it is shown."""
    return f"from paper, {entered_words(number, entered_by, entered_on, compared_by)}"


def entered_words(number: int, entered_by: str, entered_on: date, compared_by: str = "") -> str:
    """`compared_by`: who held it against the photo of the sheet; empty where whoever watched confirmed it."""
    compared = f", compared with the photo by {compared_by}" if compared_by else ""
    return f"{sheet_words(number)}, entered by {entered_by} on {day_words(entered_on)}{compared}"


def waits_words(watcher: str) -> str:
    return f"It counts for nothing until {watcher}, who is said to have watched, confirms it."


TO_BE_COMPARED = (
    "It counts for nothing until somebody with authority, who neither did the work nor entered it, has compared it with "
    "the photo of the sheet, and confirms it."
)
NO_PHOTO = (
    "A sheet that an outside witness signed needs its photo.",
    "Photograph the sheet: the entry is compared with it before it counts.",
)


def against_comparing(*, authority: bool, did_it: bool, entered_it: bool, photo: bool) -> list[tuple[str, str]]:
    """Every reason, with its remedy, why somebody may not confirm that an entry says what an outside witness signed on
    paper: two people of the practice stand between the witness and the record, and neither of them is who was watched.
    Our own choice (D): no source asks for it."""
    other = "Let somebody else with authority compare it with the photo."
    checks = [
        (not authority, "You had no authority for it here that day.", other),
        (did_it, "Nobody confirms their own work.", other),
        (entered_it, "You entered it, and whoever enters a sheet does not confirm it.", other),
        (not photo, NO_PHOTO[0], "Take the entry back, and enter the sheet again with its photo."),
    ]
    return [(says, remedy) for wrong, says, remedy in checks if wrong]
