"""What a procedure says: asked by the clinic, answered by training, which knows the clinic.

The clinic never knows training, so the answer is registered at the start (`training.apps`), as in `clinic.usable`.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from clinic.models import Organisation
from clinic.rules.site_text import Answers


@dataclass(frozen=True, slots=True)
class StepSaid:
    """One line as a reminder: what to do, in which case, with its caution."""

    says: str
    critical: bool = False
    when: str = ""
    caution: str = ""


@dataclass(frozen=True, slots=True)
class Procedure:
    """A procedure as it stands on a day: its title and its steps with the site facts filled in."""

    code: str
    title: str
    steps: tuple[StepSaid, ...] = ()


Answer = Callable[[Organisation, str, date, Answers], Procedure | None]


def nothing(organisation: Organisation, code: str, on: date, answers: Answers) -> Procedure | None:
    return None


_answers: list[Answer] = [nothing]


def register(answer: Answer) -> None:
    _answers.append(answer)


def procedure_on(organisation: Organisation, code: str, on: date, answers: Answers) -> Procedure | None:
    """The text in force on the day, or None where there is none. `answers`: the site facts of the unit, by name."""
    return _answers[-1](organisation, code, on, answers) if code else None
