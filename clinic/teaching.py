"""Who is still to be taught about a hazard that came new: asked by the clinic, answered by training.

The clinic never knows training, so the answer is registered at the start (`training.apps`), as in `clinic.usable`.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from clinic.models import Site
from clinic.rules.chemicals import NewHazard


@dataclass(frozen=True, slots=True)
class ToTeach:
    """A new hazard with everybody who is required to be taught about it and was not. People as (key, name)."""

    hazard: NewHazard
    topic: str
    people: tuple[tuple[UUID, str], ...]

    @property
    def names(self) -> str:
        return ", ".join(name for _, name in self.people)


Answer = Callable[[Site, date], list[ToTeach]]


def nothing(site: Site, on: date) -> list[ToTeach]:
    return []


_answers: list[Answer] = [nothing]


def register(answer: Answer) -> None:
    _answers.append(answer)


def to_teach(site: Site, on: date) -> list[ToTeach]:
    """Only hazards about which somebody is still to be taught, oldest first."""
    return _answers[-1](site, on)
