"""Knowledge checks and taught sessions."""

import random
from collections.abc import Sequence
from datetime import date
from typing import Any
from uuid import UUID, uuid4

from django.db import transaction

from clinic import clock
from clinic.models import Person, RoleHeld, Site
from clinic.record import Refusal, record, refuse_if
from training.models import Attendance, KnowledgeResult, SessionTopic, TalkedThrough, TaughtSession, Version
from training.permissions import has_authority
from training.rules.check import needs_talk, passed


def shuffled(version: Version, seed: str) -> list[dict[str, Any]]:
    """The questions with their options in an order that the seed decides: a reload shows the same order."""
    order = random.Random(seed)
    asked = []
    for question in version.text.questions:
        options = list(question.options)
        order.shuffle(options)
        asked.append({"key": question.key, "options": options})
    return asked


def tries_on(person: Person, version: Version, day: date) -> tuple[int, int]:
    """Failed tries of the day since the last talk, and all tries of the day."""
    rows = KnowledgeResult.objects.live().filter(person=person, version__procedure=version.procedure, happened_on=day)
    failed = rows.filter(passed=False)
    talk = (
        TalkedThrough.objects.live()
        .filter(person=person, version__procedure=version.procedure, happened_on=day)
        .order_by("-recorded_at")
        .first()
    )
    since = failed.filter(recorded_at__gt=talk.recorded_at) if talk else failed
    return since.count(), rows.count()


def take_check(
    version: Version,
    person: Person,
    answers: dict[str, str],
    *,
    site: Site,
    seed: str,
    by: Person,
    id: UUID | None = None,
) -> KnowledgeResult:
    """Record one try. `answers` maps question keys to the option chosen, in its words."""
    today = clock.today(site.time_zone)
    already = KnowledgeResult.objects.filter(pk=id).first() if id else None
    if already:
        return already
    unanswered = [q.key for q in version.text.questions if answers.get(q.key) not in q.options]
    refuse_if(
        *(Refusal("This question has no answer yet.", "Choose one of the four.", key) for key in unanswered),
        Refusal(
            "Two tries today were not passed.",
            "Ask somebody with authority to talk it through with you; then the third try opens.",
        )
        if needs_talk(tries_on(person, version, today)[0])
        else None,
    )
    return record(
        KnowledgeResult(
            id=id or uuid4(), site=site, happened_on=today, happened_at=clock.time_of_day(site.time_zone), version=version, person=person,
            asked=shuffled(version, seed), answers=answers, passed=passed(version.text.questions, answers),
            language=person.language or site.language,
        ),
        by=by,
    )  # fmt: skip


def talk_through(version: Version, person: Person, *, site: Site, by: Person, id: UUID | None = None) -> TalkedThrough:
    """Somebody with authority talked the check through with the person."""
    today = clock.today(site.time_zone)
    already = TalkedThrough.objects.filter(pk=id).first() if id else None
    if already:
        return already
    refuse_if(
        Refusal("No talk is waiting: there are no two failed tries today.", "Nothing to do.")
        if not needs_talk(tries_on(person, version, today)[0])
        else None,
        Refusal("Only somebody with authority for this procedure talks it through.", "Ask a supervisor who has it.")
        if not has_authority(by, version.procedure, site, today) or by == person
        else None,
    )
    return record(
        TalkedThrough(
            id=id or uuid4(),
            site=site,
            happened_on=today,
            happened_at=clock.time_of_day(site.time_zone),
            version=version,
            person=person,
            by=by,
        ),
        by=by,
    )


@transaction.atomic
def record_session(
    session: TaughtSession, versions: Sequence[Version], attendees: Sequence[Person], *, by: Person
) -> TaughtSession:
    """Record a taught session as it was, complete or not: what is missing keeps it from counting, never from being recorded."""
    refuse_if(
        Refusal("No topic is named.", "Choose at least one topic.", "topics") if not versions else None,
        Refusal("Nobody attended.", "Choose everyone who was there.", "attendees") if not attendees else None,
        Refusal("The session is in the future.", "Record it when it has been held.", "days")
        if session.happened_on > clock.today(session.site.time_zone)
        else None,
    )
    topics = [SessionTopic(session=session, version=version) for version in versions]
    titles = job_titles(attendees, session.happened_on)
    present = [Attendance(session=session, person=person, job_title=titles.get(person.pk, "")) for person in attendees]
    return record(session, *topics, *present, by=by)


def job_titles(people: Sequence[Person], day: date) -> dict[Any, str]:
    """Everybody's job titles as held that day, joined; one query. Somebody without one is left out."""
    titles: dict[Any, list[str]] = {}
    for held in RoleHeld.objects.held_on(day).filter(person__in=people).select_related("job_role"):
        titles.setdefault(held.person_id, []).append(held.job_role.title)
    return {pk: ", ".join(sorted(set(words))) for pk, words in titles.items()}
