"""What a certificate says: its frozen content, and the words made from it."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import groupby

from clinic.rules.words import MONTHS, in_text, listed
from training.rules.learning import counts_sentence

from .content import Content
from .paper import said

NOT_A_LICENCE = (
    "This is no licence. It says what was seen at this practice, to the version and on the unit named. The maker’s "
    "instructions, local rules and licensed practice come first. It ends early if the version changes and asks to be "
    "watched again, if a procedure it rests on ends, or when the work is not done for too long."
)
LANGUAGES = {"en-GB": "English", "en-US": "English", "en": "English"}
BORROWED = (
    "The six elements of 42 CFR 493.1413(b)(8) are a borrowed pattern; that rule is for laboratories and does not apply "
    "to milling."
)


@dataclass(frozen=True)
class Element(Content):
    """One of the six elements of competence assessment: its name, whether it was covered, and how."""

    name: str
    covered: bool
    how: str


@dataclass(frozen=True)
class CertificateContent(Content):
    """Everything a certificate says. Days are ISO; `through` is the last good day, empty where it has none.

    `says` is the sentence of
    the person's standing on the day of issue; `meaning` says what the signature stands for, `statement` is what the signer added in their own words; `unit` is empty
    where any unit of its kind is meant; `lowered` names numbers that a small practice was allowed to lower.
    """

    number: str
    paper: str
    language: str
    organisation: str
    site: str
    address: str
    person: str
    procedure_code: str
    procedure_title: str
    version: int
    in_force_from: str
    unit: str
    through: str
    issued_at: str
    basis: str
    lowered: str
    performances: int
    performances_clean: int
    methods: str
    check: str
    watched_on: list[str]
    watched_by: list[str]
    rests_on: list[str]
    elements: list[Element]
    signer: str
    signer_role: str
    signed_at: str
    signed_how: str
    meaning: str
    check_code: str
    check_url: str
    seal: str
    replaces: str
    maker: str
    statement: str = ""
    log_check: str = ""  # the command that holds today's log against the log of the day of issue
    says: str = ""
    from_paper: list[str] = field(default_factory=list)  # each performance that was entered from a sheet, in words


def sentence(content: CertificateContent) -> str:
    """What follows the name: may work alone at what, on which unit, through which last good day."""
    unit = f", on {content.unit}" if content.unit else ""
    through = f", through {said(content.through)}" if content.through else ""
    return f"may work alone at {in_text(content.procedure_title)}{unit}{through}."


def performances(content: CertificateContent) -> str:
    """Counts; from few performances never a percentage, which would claim a reliability they cannot show."""
    if not content.performances:
        return "no performance was observed for this one; see the basis"
    return counts_sentence(content.performances_clean, content.performances).rstrip(".")


MOST_SHEETS_SAID = 3


def paper_said(content: CertificateContent) -> str:
    """What was written on paper first, said at the foot; empty where nothing was."""
    shown, more = content.from_paper[:MOST_SHEETS_SAID], len(content.from_paper) - MOST_SHEETS_SAID
    rest = [f"{more} more, which the check page names"] if more > 0 else []
    return f"From paper, each confirmed with a proof: {'; '.join([*shown, *rest])}. " if shown else ""


def days_said(days: Sequence[str]) -> str:
    """16 and 30 June, 14 and 28 July 2026: ISO days in order, with the month and the year said once."""
    months = []
    for month, group in groupby(sorted(days), key=lambda day: day[:7]):
        numbers = [str(int(day[8:])) for day in group]
        months.append((month[:4], f"{listed(numbers)} {MONTHS[int(month[5:]) - 1]}"))
    return ", ".join(f"{', '.join(said for _, said in year)} {name}" for name, year in groupby(months, lambda m: m[0]))


def rows(k: CertificateContent) -> list[tuple[str, str]]:
    """The facts beside the sentence: label and words, in the order of reading."""
    unit, code = k.unit or "any unit of its kind there", f"{k.procedure_code} {k.procedure_title}"
    rests = f"{', '.join(k.rests_on)}; all good on the day of signing" if k.rests_on else "no other procedure"
    alone = [("Alone?", k.says)] if k.says else []
    return [
        *alone,
        ("What", f"{code}, version {k.version}, in force since {said(k.in_force_from)}"),
        ("Where", f"{k.site}, {unit}"),
        ("Seen", "; ".join(words for words in (performances(k), k.methods, k.check) if words)),
        ("Watched by", " · ".join(k.watched_by) or "nobody; see the basis"),
        ("On", days_said(k.watched_on) or "no day"),
        ("Rests on", rests),
        ("Basis", f"{k.basis}; {k.lowered or 'no number was lowered'}"),
    ]
