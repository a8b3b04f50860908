"""Look-ups in the stored spans."""

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Collection
from datetime import date
from uuid import UUID

from clinic.models import Organisation, Person
from clinic.usable import Work
from training import gather
from training.models import (
    Attendance,
    CarriedOver,
    FoundingGrant,
    Procedure,
    SignOff,
    StandingSpan,
    Withdrawal,
)
from training.rules import standing as rules
from training.rules.facts import Basis, Ending, State
from training.rules.sentence import sentence

UNTRAINED = rules.StandingSpan(date.min, None, State.UNTRAINED)


def usable_keys(organisation: Organisation, procedure: str, on: date) -> set[UUID]:
    """Everybody who may do the procedure alone on the day; one indexed query."""
    spans = StandingSpan.objects.on(on).usable().filter(procedure__organisation=organisation, procedure__code=procedure)
    return set(spans.values_list("person", flat=True))


def usable_keys_on_days(
    organisation: Organisation, asked: Collection[tuple[str, date]]
) -> dict[tuple[str, date], set[UUID]]:
    """The same for many (procedure code, day); one query."""
    codes, days = {code for code, _ in asked}, [day for _, day in asked]
    spans = (
        StandingSpan.objects.usable()
        .filter(procedure__organisation=organisation, procedure__code__in=codes, first__lte=max(days))
        .values_list("procedure__code", "first", "after", "person")
    )
    found: dict[tuple[str, date], set[UUID]] = {each: set() for each in asked}
    in_order: dict[str, list[date]] = defaultdict(list)
    for code, day in sorted(found):
        in_order[code].append(day)
    for code, first, after, person in spans:
        of = in_order[code]
        for day in of[bisect_left(of, first) : bisect_left(of, after) if after else None]:
            found[code, day].add(person)
    return found


def usable_within(organisation: Organisation, works: Collection[Work]) -> dict[Work, bool]:
    """For work on days on which something was decided about the person: whether they were usable at that time. A fixed
    number of queries, and few where nothing was decided."""
    decided = decided_on({work.person for work in works})
    asked = [work for work in works if (work.person, work.day) in decided]
    if not asked:
        return {}
    programme = gather.programme(organisation)
    people = gather.people_facts(organisation, Person.objects.filter(pk__in={work.person for work in asked}))
    return {
        work: rules.same_day_allowed(
            programme, people[str(work.person)], work.procedure, work.day, work.at, recorded_at=work.recorded_at
        )
        for work in asked
        if work.procedure in programme
    }


def decided_on(people: Collection[UUID]) -> set[tuple[UUID, date]]:
    """The days on which each was signed, withdrawn, carried over, given a founding grant, or taught a topic."""
    found: set[tuple[UUID, date]] = set()
    for model in (SignOff, Withdrawal, CarriedOver, FoundingGrant):
        rows = model._default_manager.filter(person__in=people)
        found.update(rows.values_list("person", "happened_on"))
    found.update(Attendance.objects.filter(person__in=people).values_list("person", "session__happened_on"))
    return found


def plain(row: StandingSpan) -> rules.StandingSpan:
    """A stored stretch as the rules speak of it."""
    return rules.StandingSpan(
        first=row.first,
        after=row.after,
        state=State(row.state),
        basis=Basis(row.basis) if row.basis else None,
        cause=row.cause or None,
        ends_on=row.ends_on,
        ends_because=Ending(row.ends_because) if row.ends_because else None,
        ends_by=row.ends_by or None,
    )


def span_on(person: Person, procedure: Procedure, day: date) -> rules.StandingSpan:
    """The stored stretch that holds on the day; untrained where none does. One query."""
    row = StandingSpan.objects.on(day).filter(person=person, procedure=procedure).first()
    return plain(row) if row else UNTRAINED


def sentence_on(person: Person, procedure: Procedure, day: date) -> str:
    """Where the person stands in the procedure on the day, in the one sentence. Two queries."""
    titles = Procedure.objects.titles(procedure.organisation)
    return sentence(span_on(person, procedure, day), titles, is_topic=procedure.is_topic)
