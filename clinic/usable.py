"""Who may work alone on a day. The clinic asks here; training, which knows the clinic, answers.

The clinic never knows training, so the answer is registered at the start (`training.apps`).
"""

from collections.abc import Callable
from datetime import date
from uuid import UUID

from clinic.models import Organisation

Answer = Callable[[Organisation, str, date], set[UUID]]


def nobody(organisation: Organisation, procedure: str, on: date) -> set[UUID]:
    return set()


_answers: list[Answer] = [nobody]


def register(answer: Answer) -> None:
    _answers.append(answer)


def usable_people(organisation: Organisation, procedure: str, on: date) -> set[UUID]:
    """Primary keys of everybody who may do the procedure (by code) alone on the day. An empty code: nobody is asked."""
    return _answers[-1](organisation, procedure, on) if procedure else set()
