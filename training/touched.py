"""Whose standing a fact may change, and in which procedures."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from django.db.models import Q

from clinic import clock
from clinic.models import Fact, JobStarted, Organisation, Person, ToolMounted, UpkeepEntry
from clinic.prepared import Prepared
from training import gather
from training.doing import KINDS, roles_of
from training.models import (
    Authority,
    CarriedOver,
    FoundingGrant,
    KnowledgeResult,
    Observation,
    Procedure,
    Retirement,
    SignOff,
    TaughtSession,
    Version,
    Withdrawal,
)
from training.rules.order import resting_on

Touched = dict[Any, set[str]]  # by person: the codes of the procedures in which their standing may change


def together(one: Touched, other: Touched) -> Touched:
    """The first, with what the other adds."""
    for person, codes in other.items():
        one.setdefault(person, set()).update(codes)
    return one


def touched_by(fact: Fact) -> Touched:
    """People whose standing may change by the fact, and in which procedures. What rests on these follows where somebody's
    days of working alone turn out to change; a retirement changes what rests on it though no day of the person does."""
    if isinstance(fact, Observation):
        return {person: {fact.version.procedure.code} for person in (fact.person_id, fact.observer_id) if person}
    if isinstance(fact, KnowledgeResult | SignOff):
        return {fact.person_id: {fact.version.procedure.code}}
    if isinstance(fact, Withdrawal | CarriedOver):
        return {fact.person_id: {fact.procedure.code}}
    if isinstance(fact, UpkeepEntry):
        return {fact.done_by_id: covering_codes({fact.task.code}, fact.site.organisation)}
    if isinstance(fact, KINDS):
        roles = roles_of(fact)
        every = gather.PROCEDURES.rows(organisation=[fact.site.organisation_id])
        return {fact.done_by_id: {code for _, code, _, _, role, _ in every if role in roles}}  # type: ignore[attr-defined]
    if isinstance(fact, TaughtSession):
        topics = fact.topics.values_list("version__procedure__code", flat=True)
        return {person: set(topics) for person in fact.attendances.values_list("person", flat=True)}
    if isinstance(fact, Authority | FoundingGrant):
        named = Procedure.objects.of(fact.site.organisation).filter(
            Q(code__in=fact.procedures) | Q(area__in=fact.areas)
        )
        codes = set(named.values_list("code", flat=True))
        home = Person.objects.filter(home_site=fact.site_id).values_list("pk", flat=True)
        return {person: set(codes) for person in {*home, fact.person_id}}
    if isinstance(fact, Version):
        return {person: {fact.procedure.code} for person in everybody(fact.procedure)}
    if isinstance(fact, Retirement):
        codes = resting_on(gather.programme(fact.procedure.organisation), {fact.procedure.code})
        return {person: set(codes) for person in everybody(fact.procedure)}
    return {}


def watched_by_them(fact: Fact) -> Touched:
    """Whose assessments may count or not by the fact although nobody's days of working alone change: what was watched by somebody
    on a day that may be told otherwise, or by whoever something is granted to."""
    people, days = told_by_time(fact)
    found = by_person(THAT_DAY.rows(watcher=people, day=days))
    if isinstance(fact, Authority | FoundingGrant):
        together(found, watched(Q(observer=fact.person_id, site=fact.site_id, happened_on__gte=fact.happened_on)))
    return found


def told_by_time(fact: Fact) -> tuple[list[Any], list[date]]:
    """Of whom, and of which days, the fact may change how they stood at a time of the day though it ends as it did. That is the day
    on which it decides about them; and each later one on which something is decided: a sign-off that it keeps alive, or ends by a
    deadline, may run until that decision, or have ended the day before."""
    if isinstance(fact, TaughtSession):
        people, days = list(fact.attendances.values_list("person", flat=True)), [fact.happened_on]
    elif isinstance(fact, SignOff | Withdrawal | CarriedOver | FoundingGrant):
        people, days = [fact.person_id], [fact.happened_on]
    elif isinstance(fact, Observation):
        people, days = [person for person in (fact.person_id, fact.observer_id) if person], []
    elif isinstance(fact, UpkeepEntry | ToolMounted | JobStarted):
        people, days = [fact.done_by_id], []
    elif isinstance(fact, Authority):
        people, days = [fact.person_id], []  # with it, to watch others is work
    elif isinstance(fact, Version | Retirement):
        people, days = everybody(fact.procedure), []
    else:
        return [], []
    return people, days + decided_after(fact, people)


def decided_after(fact: Fact, people: list[Any]) -> list[date]:
    """The later days on which anything was decided about these people: none where the fact is of today, as most are."""
    if fact.happened_on >= clock.today(fact.site.time_zone):
        return []
    rows = gather.DECIDED.rows(people=people, days=None, first=[fact.happened_on], last=[date.max])
    return sorted({row[1] for row in rows} - {fact.happened_on})


def watched(where: Q) -> Touched:
    """People with an assessment that was so watched, and in which procedures."""
    return by_person(watched_where(where))


def watched_where(where: Q) -> Any:
    rows = Observation.objects.filter(where, purpose=Observation.Purpose.ASSESSMENT)
    return rows.values_list("person", "version__procedure__code").distinct()


THAT_DAY = Prepared(lambda watcher, day: watched_where(Q(observer__in=watcher, happened_on__in=day)))


def by_person(rows: Iterable[tuple[Any, str]]) -> Touched:
    found: Touched = {}
    for person, code in rows:
        found.setdefault(person, set()).add(code)
    return found


def covering_codes(tasks: set[str], organisation: Organisation) -> set[str]:
    """The procedures of which any version ever covered one of these tasks."""
    every = gather.programme(organisation).values()
    return {one.code for one in every if any(tasks & {*version.policy.upkeep_covered} for version in one.versions)}


def everybody(procedure: Procedure) -> list[Any]:
    """A new version or a retirement can reach anybody in the organisation. To find out of whom there are no facts takes longer
    than to compute that nothing is known of them."""
    return list(Person.objects.filter(organisation=procedure.organisation_id).values_list("pk", flat=True))
