"""Days, numbers and lists in words: one way to say each, for every page, paper, mail and refusal.

Days are said in English whatever the computer's locale is, because every other word around them is.
"""

from collections.abc import Sequence
from datetime import date, datetime, time

MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
ENDS = (".", "!", "?", "…", ":")


def day_words(day: date | None) -> str:
    """2 December 2026: in a sentence. Nothing for nothing."""
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}" if day else ""


def short_day(day: date | None) -> str:
    """2 Dec 2026: in a table, a list, or beside a field. Nothing for nothing."""
    return f"{day_of_month(day)} {day.year}" if day else ""


def day_of_month(day: date) -> str:
    """2 Dec: where the year is plain."""
    return f"{day.day} {short_month(day)}"


def short_month(day: date) -> str:
    """Dec."""
    return MONTHS[day.month - 1][:3]


def month_words(day: date) -> str:
    """December 2026."""
    return f"{MONTHS[day.month - 1]} {day.year}"


def clock_words(at: time | datetime) -> str:
    """09:30, on the clock that it is given on."""
    return f"{at:%H:%M}"


def weekday_words(day: date) -> str:
    """Wednesday."""
    return WEEKDAYS[day.weekday()]


def instant_words(at: datetime | None) -> str:
    """2 December 2026 at 09:30, on the clock that it is given on. Nothing for nothing."""
    return f"{day_words(at)} at {clock_words(at)}" if at else ""


def counted(number: int, one: str, many: str = "") -> str:
    """The number in figures with its word: 1 day, 2 days, 1,200 days."""
    return f"{number:,} {one if number == 1 else many or one + 's'}"


def number_words(number: int) -> str:
    """Three; 13. None is "no", as before a word."""
    return NUMBERS[number] if 0 <= number < len(NUMBERS) else f"{number:,}"


def several(number: int, one: str, many: str = "") -> str:
    """The number in words with its word: no days, one day, three days, 13 days."""
    return f"{number_words(number)} {one if number == 1 else many or one + 's'}"


def out_of(have: int, whole: int, one: str, many: str = "") -> str:
    """Part of a whole with the word of the whole: 1 of 1 part, 0 of 20 parts."""
    return f"{have:,} of {counted(whole, one, many)}"


def every(number: int, many: str) -> str:
    """What comes after "every", with a word that is kept in its plural: day, 7 days."""
    return many.removesuffix("s") if number == 1 else counted_many(number, many)


def listed(words: Sequence[str], last: str = "and") -> str:
    """a, b and c."""
    return f" {last} ".join([", ".join(words[:-1]), words[-1]]) if len(words) > 1 else "".join(words)


def begun(words: str) -> str:
    """With a capital, and the rest as it is: "real work by P04" keeps its P."""
    return words[:1].upper() + words[1:]


def in_text(words: str) -> str:
    """As it goes on inside a sentence: Tool swap → tool swap. An abbreviation keeps its letters (SDS, CAD technician), and
    so does what is written as a name, with a second word that begins large (Lead Assistant, Assistant to Dr Lee)."""
    first, *more = words.split() or [""]
    named = first[1:2].isupper() or any(word[:1].isupper() and word[1:2].islower() for word in more)
    return words if named else words[:1].lower() + words[1:]


def after_colon(sentences: str) -> str:
    """As they go on after a colon: the first letter small, unless it begins an abbreviation. Later sentences stay as they are."""
    return sentences if sentences[1:2].isupper() else sentences[:1].lower() + sentences[1:]


def ended(words: str) -> str:
    """With a full stop, unless it has its end already. What people typed often has none."""
    words = words.strip()
    return words if not words or words.endswith(ENDS) else f"{words}."


def counted_many(number: int, many: str) -> str:
    """For a word that is kept in its plural, such as the parts or cycles of a task: 1 part, 20 parts."""
    return counted(number, many.removesuffix("s"), many)


def coordinator_words(named: str) -> str:
    """Who coordinates infection prevention (CDC summary of 2016, row W-21: at least one trained person), or that nobody is
    named."""
    return (
        f"Infection prevention is coordinated by {named}."
        if named
        else "Nobody is named as infection-prevention coordinator."
    )


def printed_name(given: str, family: str, number: str, has_namesake: bool) -> str:
    """Ines Farrow; where two people are called so: Ines Farrow (0042), by the staff number."""
    return f"{given} {family} ({number or 'no staff number'})" if has_namesake else f"{given} {family}"


def name_then(printed: str, given: str, family: str, number: str, has_namesake: bool) -> str:
    """A name as it was printed on a day; with the staff number where somebody else came to be called so afterwards. The other
    columns are as they are now: a bracket that ends the name itself is no number."""
    has_number = printed.endswith(")") and not printed.endswith(f"{given} {family}")
    return f"{printed} ({number or 'no staff number'})" if has_namesake and not has_number else printed


def same_name(one: str, other: str) -> bool:
    """Capitals make no other name."""
    return len(one) == len(other) and one.lower() == other.lower()
