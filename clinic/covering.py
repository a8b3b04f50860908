"""What a procedure says: asked by the clinic, answered by training, which knows the clinic.

The clinic never knows training, so the answer is registered at the start (`training.apps`), as in `clinic.usable`.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date

from clinic.models import Organisation
from clinic.rules.roles import RETURNED, ProcedureRole
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


@dataclass(frozen=True, slots=True)
class Roles:
    """Which procedure, by its code, stands for a role, and which returns a kind of unit."""

    stands_for: Mapping[str, str] = field(default_factory=dict)
    returns: Mapping[str, str] = field(default_factory=dict)


def no_roles(organisation: Organisation) -> Roles:
    return Roles()


_roles: list[Callable[[Organisation], Roles]] = [no_roles]


def register_roles(answer: Callable[[Organisation], Roles]) -> None:
    _roles.append(answer)


def code_of(organisation: Organisation, role: ProcedureRole) -> str:
    """The code of the procedure that stands for the role. Where none does, the role itself: a code that nobody holds, so
    that what asks for it is refused and never open to everybody."""
    return _roles[-1](organisation).stands_for.get(role, str(role))


def returned_by(organisation: Organisation, kind: str) -> str:
    """The code of the procedure that returns such a unit to service, empty for a kind that anybody returns. Where none does
    though it has to, words that are nobody's code, as above."""
    if kind not in RETURNED:
        return ""
    return _roles[-1](organisation).returns.get(kind, f"the procedure that returns a {kind}")
