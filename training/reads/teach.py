"""Knowledge checks and taught sessions as pages show them."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import QuerySet

from clinic.models import Person, Site
from clinic.record import Refusal
from training.models import KnowledgeResult, Procedure, TalkedThrough, TaughtSession
from training.permissions import procedures_of
from training.rules.check import needs_talk, wrong


def tries_of(person: Person, procedure: Procedure) -> list[KnowledgeResult]:
    """One person's tries, newest first."""
    rows = KnowledgeResult.objects.live().filter(person=person, version__procedure=procedure)
    return list(rows.select_related("version__procedure").order_by("-recorded_at"))


@dataclass(frozen=True, slots=True)
class Wrong:
    """A question not answered rightly. `right` is empty until the check is passed, so that it can be tried again."""

    ask: str
    is_safety: bool
    chosen: str
    why: str
    right: str


def wrong_answers(result: KnowledgeResult) -> list[Wrong]:
    missed = wrong(result.version.text.questions, result.answers)
    return [
        Wrong(q.ask, q.is_safety, result.answers.get(q.key, ""), q.why, q.right if result.passed else "")  # type: ignore[attr-defined]
        for q in missed
    ]


@dataclass(frozen=True, slots=True)
class TalkWaiting:
    """Somebody failed twice today, and the third try waits for a talk."""

    person: Person
    procedure: Procedure


def talks_waiting(supervisor: Person, site: Site, on: date) -> list[TalkWaiting]:
    """Among the procedures that the supervisor has authority for; never oneself. A few queries."""
    covered = procedures_of(supervisor, site, on)
    rows = KnowledgeResult.objects.live().filter(
        site=site, happened_on=on, passed=False, version__procedure__code__in=covered
    )
    talks = TalkedThrough.objects.live().filter(site=site, happened_on=on).select_related("version")
    talked: dict[tuple[Any, int], Any] = {}
    for talk in talks.order_by("recorded_at"):
        talked[talk.person_id, talk.version.procedure_id] = talk.recorded_at
    failed: dict[tuple[Any, int], list[KnowledgeResult]] = defaultdict(list)
    for row in rows.exclude(person=supervisor).select_related("person", "version__procedure"):
        key = row.person_id, row.version.procedure_id
        if key not in talked or row.recorded_at > talked[key]:
            failed[key].append(row)
    return [TalkWaiting(rows[0].person, rows[0].version.procedure) for rows in failed.values() if needs_talk(len(rows))]


@dataclass(frozen=True, slots=True)
class SessionShown:
    """A taught session with what its record still lacks."""

    session: TaughtSession
    days: list[date]
    topics: list[Any]
    attendances: list[Any]
    missing: list[str]

    @property
    def counts(self) -> bool:
        return not self.missing

    @property
    def refusals(self) -> list[Refusal]:
        """What keeps it from counting; one and the same correction mends it all."""
        return [Refusal(f"It lacks {part}.") for part in self.missing]


def session_shown(session: TaughtSession) -> SessionShown:
    days = [date.fromisoformat(day) for day in session.days]
    topics, attendances = list(session.topics.all()), list(session.attendances.all())
    return SessionShown(session, days, topics, attendances, session.missing_fields)


def with_parts(rows: "QuerySet[TaughtSession]") -> "QuerySet[TaughtSession]":
    parts = ("topics__version__procedure", "attendances__person")
    return rows.select_related("trainer", "recorded_by", "site").prefetch_related(*parts)


def sessions_at(site: Site) -> "QuerySet[TaughtSession]":
    """Sessions that stand, newest first."""
    rows: QuerySet[TaughtSession] = TaughtSession.objects.live().filter(site=site)
    return with_parts(rows).order_by("-happened_on", "-recorded_at", "pk")


def attended_by(rows: "QuerySet[TaughtSession]", people: Iterable[Person]) -> "QuerySet[TaughtSession]":
    return rows.filter(attendances__person__in=list(people)).distinct()
