"""What the clinic asks of training, all of it here. The clinic never knows training, which knows the clinic: what answers is
put in at the start (`training.port`). Without it nobody may do anything alone, and no procedure has a text.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time
from typing import Protocol
from uuid import UUID

from clinic.models import Organisation, Person, Site
from clinic.rules.chemicals import NewHazard
from clinic.rules.roles import RETURNED, ProcedureRole
from clinic.rules.site_text import Answers

OnDays = dict[tuple[str, date], set[UUID]]


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


@dataclass(frozen=True, slots=True)
class StepSaid:
    """One line as a reminder: what to do, in which case, with its caution."""

    says: str
    critical: bool = False
    when: str = ""
    caution: str = ""


@dataclass(frozen=True, slots=True)
class ProcedureSaid:
    """A procedure as it stands on a day: its title and its steps with the site facts filled in."""

    code: str
    title: str
    steps: tuple[StepSaid, ...] = ()


@dataclass(frozen=True, slots=True)
class Roles:
    """Which procedure, by its code, stands for a role, and which returns a kind of unit."""

    stands_for: Mapping[str, str] = field(default_factory=dict)
    returns: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Watched:
    """Somebody who was watched at a unit on a day, at tightening: a tool, or a block. `fact`: of the observation."""

    fact: UUID
    person: UUID
    unit: UUID
    day: date
    says: str


@dataclass(frozen=True, slots=True)
class ToTeach:
    """A new hazard with everybody who is required to be taught about it and was not. People as (key, name)."""

    hazard: NewHazard
    topic: str
    people: tuple[tuple[UUID, str], ...]

    @property
    def names(self) -> str:
        return ", ".join(name for _, name in self.people)


class TrainingAnswers(Protocol):
    """Whoever answers. What each is asked for stands at the function of the same name below."""

    def usable_people(self, organisation: Organisation, procedure: str, on: date) -> set[UUID]: ...

    def usable_on_days(
        self,
        organisation: Organisation,
        asked: Collection[tuple[str, date]],
        people: Collection[UUID],
        known_by: datetime | None,
    ) -> OnDays: ...

    def usable_within(
        self, organisation: Organisation, works: Collection[Work], known_by: datetime | None
    ) -> dict[Work, bool]:
        """Of work on days on which something was decided about the person; all other is left out."""
        ...

    def what_falls_without(self, person: Person, site: Site, day: date) -> list[str]: ...

    def what_ends_meanwhile(self, site: Site, first: date, after: date) -> list[str]: ...

    def to_teach(self, site: Site, on: date) -> list[ToTeach]: ...

    def watched_tightening(self, site: Site, first: date, last: date) -> list[Watched]: ...

    def procedure_on(
        self, organisation: Organisation, code: str, on: date, answers: Answers
    ) -> ProcedureSaid | None: ...

    def roles_of(self, organisation: Organisation) -> Roles: ...


_training: TrainingAnswers | None = None


def answer_with(training: TrainingAnswers) -> None:
    """From now on this is asked."""
    global _training
    _training = training


def usable_people(organisation: Organisation, procedure: str, on: date) -> set[UUID]:
    """Primary keys of everybody who may do the procedure (by code) alone on the day. An empty code: nobody is asked."""
    return _training.usable_people(organisation, procedure, on) if _training and procedure else set()


def usable_on_days(
    organisation: Organisation,
    asked: Collection[tuple[str, date]],
    people: Collection[UUID],
    known_by: datetime | None = None,
) -> OnDays:
    """Who of these people, for many (procedure code, day) at once; one query however many there are. `known_by`: as known by
    the instant, from the facts."""
    if not asked:
        return {}
    return (
        _training.usable_on_days(organisation, asked, people, known_by)
        if _training
        else {each: set() for each in asked}
    )


def usable_then(
    organisation: Organisation, works: Collection[Work], known_by: datetime | None = None
) -> dict[Work, Then]:
    """Whether each might do the procedure alone at that time, in the order of that day's facts: what is signed at 15:00
    does not heal work done alone at 09:00, and what is withdrawn at 15:00 does not blame it. A fixed number of queries."""
    asked = [work for work in works if work.procedure]
    people = {work.person for work in asked}
    days = usable_on_days(organisation, {(work.procedure, work.day) for work in asked}, people, known_by)
    within = _training.usable_within(organisation, asked, known_by) if _training and asked else {}
    found = {}
    for work in asked:
        that_day = work.person in days[work.procedure, work.day]
        then = within.get(work, that_day)
        found[work] = Then(then, then != that_day)
    return found


def what_falls_without(person: Person, site: Site, day: date) -> list[str]:
    """Sentences: what nobody at the site may do alone, or sign, once the person is gone."""
    return _training.what_falls_without(person, site, day) if _training else []


def what_ends_meanwhile(site: Site, first: date, after: date) -> list[str]:
    """Sentences: what people of the site may do alone on the first day, and no more on the day after the last."""
    return _training.what_ends_meanwhile(site, first, after) if _training else []


def watched_tightening(site: Site, first: date, last: date) -> list[Watched]:
    """Everybody who was watched at a unit of the site while they tightened something, first and last day included."""
    return _training.watched_tightening(site, first, last) if _training else []


def to_teach(site: Site, on: date) -> list[ToTeach]:
    """Hazards that came new about which somebody is still to be taught, oldest first."""
    return _training.to_teach(site, on) if _training else []


def procedure_on(organisation: Organisation, code: str, on: date, answers: Answers) -> ProcedureSaid | None:
    """The text in force on the day, or None where there is none. `answers`: the site facts of the unit, by name."""
    return _training.procedure_on(organisation, code, on, answers) if _training and code else None


def roles_of(organisation: Organisation) -> Roles:
    return _training.roles_of(organisation) if _training else Roles()


def code_of(organisation: Organisation, role: ProcedureRole) -> str:
    """The code of the procedure that stands for the role. Where none does, the role itself: a code that nobody holds, so
    that what asks for it is refused and never open to everybody."""
    return roles_of(organisation).stands_for.get(role, str(role))


def returned_by(organisation: Organisation, kind: str) -> str:
    """The code of the procedure that returns such a unit to service, empty for a kind that anybody returns. Where none does
    though it has to, words that are nobody's code, as above."""
    if kind not in RETURNED:
        return ""
    return roles_of(organisation).returns.get(kind, f"the procedure that returns a {kind}")
