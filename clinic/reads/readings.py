"""The readings that a task asks for at one unit, with the site's answers in their words and limits."""

from dataclasses import dataclass, fields
from typing import Any

from clinic.models import Equipment, Site, UpkeepTask
from clinic.reads.site_answers import answers_for, numbers_in
from clinic.rules.readings import FactValue, Kind, ReadingSpec
from clinic.rules.site_text import with_answers

NAMES = {each.name for each in fields(ReadingSpec)}
LISTS = {"choices", "good"}


@dataclass(frozen=True, slots=True)
class Asked:
    """What is read at a unit, and the numbers that site facts hold for its limits."""

    specs: tuple[ReadingSpec, ...]
    numbers: dict[str, FactValue]
    answers: dict[str, str]


def asked_at(site: Site, unit: Equipment, task: UpkeepTask) -> Asked:
    answers = answers_for(site, unit)
    return Asked(tuple(spec_of(row, answers) for row in task.readings), numbers_in(answers), answers)


def spec_of(row: dict[str, Any], answers: dict[str, str]) -> ReadingSpec:
    """A stored reading of a task as the rules take it."""
    known: dict[str, Any] = {
        name: tuple(value) if name in LISTS else value for name, value in row.items() if name in NAMES
    }
    words = {name: with_answers(row.get(name) or "", answers) for name in ("label", "what_to_do")}
    return ReadingSpec(**known | words | {"kind": Kind(row["kind"].replace("yes-no", "yes/no"))})
