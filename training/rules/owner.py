"""What an owner asks first: what would be objected to, what hangs on one person, and whether the record is safe."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from clinic.rules.findings import Finding, Weight
from clinic.rules.words import begun, day_words, number_words, several

SEAL_CHECK = "seal check"
TROUBLE = {
    "backup": ("backup failed", "backup late"),
    "restore drill": ("restore drill failed", "restore drill late"),
    SEAL_CHECK: ("broken seal", "seal check late"),
}
"""Codes of the findings about each thing that keeps the record safe, the heavier first."""


@dataclass(frozen=True, slots=True)
class Able:
    """Who of those at work may do a duty alone on a day, and who of them can sign it, by name."""

    duty: str
    code: str
    alone: tuple[str, ...]
    signers: tuple[str, ...]

    @property
    def says(self) -> str:
        """Empty where at least two may do it and at least two can sign it."""
        parts = [lacking(self.alone, "may do it alone"), lacking(self.signers, "can sign it")]
        said = ", and ".join(part for part in parts if part)
        return f"{begun(said)}." if said else ""

    @property
    def row(self) -> tuple[str, str, str]:
        """Its line in the table of all duties: who is named while there are few enough to know by name."""
        return self.duty, few_named(self.alone, "alone"), few_named(self.signers, "can sign")


NAMED = 3


def few_named(names: tuple[str, ...], can: str) -> str:
    """ "nobody alone", "two alone: Ada, Bo", "seven alone": a cell that says itself where a phone shows no headings."""
    if not names:
        return f"nobody {can}"
    said = f"{number_words(len(names))} {can}"
    return said if len(names) > NAMED else f"{said}: {', '.join(names)}"


def thinnest(duties: Iterable[Able]) -> list[Able]:
    """Those that the fewest may do alone or sign first."""
    return sorted(duties, key=lambda one: (min(len(one.alone), len(one.signers)), len(one.alone), one.code))


def lacking(names: tuple[str, ...], can: str) -> str:
    if len(names) > 1:
        return ""
    return f"only {names[0]} {can}" if names else f"nobody {can}"


def hang_on_one(duties: Iterable[Able]) -> list[Able]:
    """Duties that one absence stops, those nobody may do first."""
    return sorted((one for one in duties if one.says), key=lambda one: (len(one.alone), len(one.signers), one.code))


@dataclass(frozen=True, slots=True)
class SafeLine:
    """A thing that keeps the record safe. `weight` is that of the finding about it; None where it is in time."""

    kind: str
    says: str
    weight: Weight | None

    @property
    def state(self) -> str:
        return self.weight.value if self.weight else "current"


def safe_lines(last: Mapping[str, date], found: Iterable[Finding], today: date) -> list[SafeLine]:
    """Backup, restore drill and seal check, by their last days; a kind without one was never done."""
    by_code = {one.code: one for one in found}
    return [safe_line(kind, last.get(kind), by_code, today) for kind in TROUBLE]


def safe_line(kind: str, day: date | None, by_code: Mapping[str, Finding], today: date) -> SafeLine:
    finding = next((by_code[code] for code in TROUBLE[kind] if code in by_code), None)
    if finding:
        return SafeLine(kind, f"{finding.sentence} {finding.ends_when}", finding.weight)
    return SafeLine(
        kind, f"{day_words(day)}, {age(day, today)}, in time." if day else "Not done yet, and not late yet.", None
    )


def age(day: date, today: date) -> str:
    """today, yesterday, five days ago: how old the newest copy is, in words that need no sum."""
    days = (today - day).days
    return {0: "today", 1: "yesterday"}.get(days, f"{several(days, 'day', 'days')} ago")


def objections(counts: Mapping[str, int]) -> str:
    """The first sentence: how much an inspector would object to, as far as the register knows."""
    number, stop = sum(counts.values()), counts[Weight.STOP.value]
    if not number:
        return "An inspector would object to nothing that the register knows of."
    must = f"; {number_words(stop)} must stop at once" if stop else ", and nothing must stop"
    return f"An inspector would object to {several(number, 'thing', 'things')} today{must}."
