"""Who may work alone on a day. The clinic asks here; training, which knows the clinic, answers.

The clinic never knows training, so the answer is registered at the start (`training.apps`).
"""

from collections.abc import Callable, Collection
from dataclasses import dataclass
from datetime import date, datetime, time
from uuid import UUID

from clinic.models import Organisation, Person, Site

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
Answers = Callable[[Organisation, Asked, datetime | None], dict[tuple[str, date], set[UUID]]]


def one_by_one(
    organisation: Organisation, asked: Asked, known_by: datetime | None = None
) -> dict[tuple[str, date], set[UUID]]:
    return {(procedure, on): usable_people(organisation, procedure, on) for procedure, on in asked}


_many: list[Answers] = [one_by_one]


def register_many(answer: Answers) -> None:
    _many.append(answer)


def usable_on_days(
    organisation: Organisation, asked: Asked, known_by: datetime | None = None
) -> dict[tuple[str, date], set[UUID]]:
    """The same for many (procedure code, day) at once; one query however many there are. `known_by`: as known by the
    instant, from the facts."""
    return _many[-1](organisation, asked, known_by) if asked else {}


@dataclass(frozen=True, slots=True)
class Work:
    """Somebody at some work: at a local time of the day, where one was written down, and when it was recorded."""

    procedure: str
    person: UUID
    day: date
    at: time | None
    recorded_at: datetime


@dataclass(frozen=True, slots=True)
class Then:
    """Whether somebody might work alone at that time. `by_time`: the day as a whole says otherwise."""

    usable: bool
    by_time: bool = False


Within = Callable[[Organisation, Collection[Work], datetime | None], dict[Work, bool]]


def nothing_within(
    organisation: Organisation, works: Collection[Work], known_by: datetime | None = None
) -> dict[Work, bool]:
    return {}


_within: list[Within] = [nothing_within]


def register_within(answer: Within) -> None:
    """`answer` says it for work on days on which something was decided about the person, and leaves out all other."""
    _within.append(answer)


def usable_then(
    organisation: Organisation, works: Collection[Work], known_by: datetime | None = None
) -> dict[Work, Then]:
    """Whether each might do the procedure alone at that time, in the order of that day's facts: what is signed at 15:00
    does not heal work done alone at 09:00, and what is withdrawn at 15:00 does not blame it. A fixed number of queries."""
    asked = [work for work in works if work.procedure]
    days = usable_on_days(organisation, {(work.procedure, work.day) for work in asked}, known_by)
    within = _within[-1](organisation, asked, known_by) if asked else {}
    found = {}
    for work in asked:
        that_day = work.person in days[work.procedure, work.day]
        then = within.get(work, that_day)
        found[work] = Then(then, then != that_day)
    return found


Falls = Callable[[Person, Site, date], list[str]]


def nothing_falls(person: Person, site: Site, day: date) -> list[str]:
    return []


_falls: list[Falls] = [nothing_falls]


def register_falls(answer: Falls) -> None:
    _falls.append(answer)


def what_falls_without(person: Person, site: Site, day: date) -> list[str]:
    """Sentences: what nobody at the site may do alone, or sign, once the person is gone."""
    return _falls[-1](person, site, day)


Meanwhile = Callable[[Site, date, date], list[str]]


def nothing_ends(site: Site, first: date, after: date) -> list[str]:
    return []


_meanwhile: list[Meanwhile] = [nothing_ends]


def register_meanwhile(answer: Meanwhile) -> None:
    _meanwhile.append(answer)


def what_ends_meanwhile(site: Site, first: date, after: date) -> list[str]:
    """Sentences: what people of the site may do alone on the first day, and no more on the day after the last."""
    return _meanwhile[-1](site, first, after)
