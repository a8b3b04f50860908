"""A part of the matrix: the people of a job role, one procedure, or what stands in one state; and what is shown as a file."""

from dataclasses import dataclass, replace
from typing import Any

from clinic.csv_rows import FileColumn, written
from clinic.workbooks import workbook
from training.models import Procedure
from training.reads.matrix import Squares
from training.rules.facts import State


@dataclass(frozen=True, slots=True)
class Wish:
    """What the address asks for; empty words ask nothing."""

    role: str = ""
    state: str = ""
    procedure: str = ""

    @property
    def is_any(self) -> bool:
        return bool(self.role or self.state or self.procedure)

    @property
    def query(self) -> dict[str, str]:
        pairs = {"role": self.role, "state": self.state, "procedure": self.procedure}
        return {name: value for name, value in pairs.items() if value}


def narrowed(found: Squares, wish: Wish) -> Squares:
    """The same squares for fewer people and procedures. A state keeps whoever and whatever has a square in it."""
    people = [p for p in found.people if not wish.role or wish.role in roles_of(found, p.pk)]
    procedures = [p for p in found.procedures if wish.procedure in ("", p.code)]
    if wish.state:
        stands = {(who.pk, p.pk) for who in people for p in procedures if in_state(found, who, p, wish.state)}
        people = [who for who in people if any(who.pk == key for key, _ in stands)]
        procedures = [p for p in procedures if any(p.pk == key for _, key in stands)]
    return replace(found, people=people, procedures=procedures)


def in_state(found: Squares, person: Any, procedure: Procedure, state: str) -> bool:
    return found.is_shown(person, procedure) and found.at(person, procedure).state.value == state


def roles_of(found: Squares, person: Any) -> list[str]:
    return [title for title in found.roles.get(person, "").split(", ") if title]


def choices(found: Squares) -> dict[str, list[Any]]:
    """What may be wished for: of everything that the site shows that day."""
    return {
        "roles": sorted({title for person in found.people for title in roles_of(found, person.pk)}),
        "states": [state.value for state in State],
        "procedures": found.procedures,
    }


NAMES = ("person", "staff_number", "job_roles", "procedure", "title", "standing", "ends_on", "asked", "on_day")


def as_workbook(found: Squares) -> bytes:
    """The same lines as one sheet of a workbook (XLSX), every cell text."""
    shown = ((who, p) for who in found.people for p in found.procedures if found.is_shown(who, p))
    return workbook("Who may do what", NAMES, (list(line_of(found, who, p).values()) for who, p in shown))


def as_file(found: Squares) -> str:
    """A line for each square that is shown, as RFC 4180 has it, with what a spreadsheet takes for a formula guarded."""
    columns = [FileColumn(name, is_day=name in ("ends_on", "on_day")) for name in NAMES]
    shown = [(who, p) for who in found.people for p in found.procedures if found.is_shown(who, p)]
    return written(columns, (line_of(found, who, p) for who, p in shown))


def line_of(found: Squares, person: Any, procedure: Procedure) -> dict[str, str]:
    span = found.at(person, procedure).span
    return {
        "person": person.printed_name,
        "staff_number": person.staff_number,
        "job_roles": found.roles.get(person.pk, ""),
        "procedure": procedure.code,
        "title": procedure.title,
        "standing": span.state.value,
        "ends_on": span.ends_on.isoformat() if span.ends_on else "",
        "asked": "yes" if found.asks(person, procedure) else "no",
        "on_day": found.day.isoformat(),
    }
