"""Who may work alone on a day. The clinic asks here; training, which knows the clinic, answers.

The clinic never knows training, so the answer is registered at the start (`training.apps`).
"""

from collections.abc import Callable, Collection
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


Asked = Collection[tuple[str, date]]
Answers = Callable[[Organisation, Asked], dict[tuple[str, date], set[UUID]]]


def one_by_one(organisation: Organisation, asked: Asked) -> dict[tuple[str, date], set[UUID]]:
    return {(procedure, on): usable_people(organisation, procedure, on) for procedure, on in asked}


_many: list[Answers] = [one_by_one]


def register_many(answer: Answers) -> None:
    _many.append(answer)


def usable_on_days(organisation: Organisation, asked: Asked) -> dict[tuple[str, date], set[UUID]]:
    """The same for many (procedure code, day) at once; one query however many there are."""
    return _many[-1](organisation, asked) if asked else {}
