"""The six elements of competence assessment, as a borrowed pattern: which of them the evidence of a sign-off covered.

Source: 42 CFR 493.1413(b)(8)(i)–(vi) (row K-01), mapped to milling by our own choice (row K-06, D). That rule is written
for clinical laboratories and does not apply to milling (row K-05); the mapping says which boxes were met and how.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from clinic.rules.words import counted
from training.rules.facts import Method, Observed, Outcome

NAMES = (
    "Watched doing the routine work",
    "Log entries checked",
    "Records of tools, torque and upkeep reviewed",
    "Watched doing upkeep and function checks",
    "Performance on a known piece",
    "Solving a problem",
)


@dataclass(frozen=True, slots=True)
class CompetenceElement:
    """One of the six: `how` it was covered, empty when it was not."""

    number: int
    name: str
    how: str


def elements(
    met: Sequence[Observed], *, covers_upkeep: bool, entries_checked: int, asked_steps: int, check_passed: bool
) -> tuple[CompetenceElement, ...]:
    """The six, in order, for these met assessments. `entries_checked`: upkeep entries logged from one of them;
    `asked_steps`: steps where the supervisor put the situation."""
    real, piece = by(met, Method.REAL), by(met, Method.PRACTICE)
    records, put = by(met, Method.RECORDS), by(met, Method.TALK) + by(met, Method.DRILL)
    hows = (
        if_any(real + piece, "assessment watched", "assessments watched"),
        if_any(entries_checked, "log entry made under observation", "log entries made under observation"),
        if_any(records, "review of records", "reviews of records"),
        if_any(real, "real upkeep watched", "times real upkeep watched") if covers_upkeep else "",
        if_any(piece, "practice piece", "practice pieces"),
        solving(put, asked_steps, check_passed),
    )
    return tuple(
        CompetenceElement(i, name, how) for i, (name, how) in enumerate(zip(NAMES, hows, strict=True), start=1)
    )


def by(met: Sequence[Observed], method: Method) -> int:
    return sum(1 for seen in met if seen.method is method and seen.outcome is Outcome.MET)


def if_any(number: int, one: str, many: str = "") -> str:
    """The number with its word; empty where there is none."""
    return counted(number, one, many) if number else ""


def solving(put: int, asked_steps: int, check_passed: bool) -> str:
    ways = [
        if_any(put, "drill or talk", "drills or talks"),
        if_any(asked_steps, "situation put at the bench", "situations put at the bench"),
        "knowledge check passed" if check_passed else "",
    ]
    return ", ".join(way for way in ways if way)
