"""Who is at work, and who of them may do a procedure alone now."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from clinic.models import Absence, Closure, Person, Site
from clinic.prepared import Instances, Prepared
from training.models import Procedure, Retirement, StandingSpan
from training.reads.standing import plain
from training.rules.sentence import sentence
from training.waiting import PreparedSpans


@dataclass(frozen=True, slots=True)
class UsablePerson:
    """Somebody who may do it alone, with the sentence that says how long."""

    person: Person
    here: bool
    says: str


def at_work(site: Site, on: date) -> list[Person]:
    """Who holds a job role here, works on that weekday, is not away, and the site is open. Three queries."""
    if [*CLOSED.rows(site=[site.pk], day=[on])]:
        return []
    away = {person for (person,) in AWAY.rows(day=[on])}
    people = PEOPLE_HERE.rows(site=[site.pk], day=[on])
    return [p for p in people if p.pk not in away and p.is_at_work_on(on) and works_on(p, site, on)]


CLOSED = Prepared(
    lambda site, day: (
        Closure.objects.live().filter(site__in=site, first__lte=day[0], after__gt=day[0]).values_list("pk")
    )
)
AWAY = Prepared(lambda day: Absence.objects.filter(from_day__lte=day[0], to_day__gte=day[0]).values_list("person"))
PEOPLE_HERE = Instances(Person, lambda site, day: Person.objects.at_site(site[0], day[0]).by_name())
"""Who holds a job role at the site on the day, by name."""


def works_on(person: Person, site: Site, on: date) -> bool:
    return (person.working_days or site.working_days)[on.weekday()] == "1"


def choices(site: Site, on: date) -> list[Procedure]:
    """Procedures that are done, not taught, and not retired by the day."""
    retired = Retirement.objects.live().filter(happened_on__lte=on).values("procedure")
    return list(Procedure.objects.of(site.organisation).filter(kind=Procedure.Kind.PRACTICE).exclude(pk__in=retired))


def who_may_do(site: Site, procedure: Procedure, on: date) -> list[UsablePerson]:
    """Everybody of the site who may do it alone on the day, those at work first."""
    here = {person.pk for person in at_work(site, on)}
    titles = Procedure.objects.titles(site.organisation)
    members = Person.objects.at_site(site, on)
    spans = (
        StandingSpan.objects.on(on).usable().filter(procedure=procedure, person__in=members).select_related("person")
    )
    found = [UsablePerson(row.person, row.person_id in here, sentence(plain(row), titles)) for row in spans]
    return sorted(found, key=lambda one: (not one.here, one.person.family_name, one.person.given_name))


@dataclass(frozen=True, slots=True)
class Alone:
    """A procedure with everybody at work who may do it alone."""

    procedure: Procedure
    people: list[Person]


def who_may_each(site: Site, procedures: Sequence[Procedure], on: date) -> list[Alone]:
    """For every procedure at once; those that nobody at work may do alone come first. One query beside those of `at_work`."""
    here = {person.pk: person for person in at_work(site, on)}
    by_procedure: dict[int, set[object]] = {}
    for person, procedure in (
        StandingSpan.objects.on(on).usable().filter(person__in=here).values_list("person", "procedure")
    ):
        by_procedure.setdefault(procedure, set()).add(person)
    found = [Alone(p, [here[pk] for pk in here if pk in by_procedure.get(p.pk, ())]) for p in procedures]
    return sorted(found, key=lambda one: (bool(one.people), one.procedure.code))


def usable_counts(people: Sequence[Person], on: date) -> dict[object, int]:
    """In how many procedures each may work alone; one query."""
    counts: dict[object, int] = {}
    for (person,) in ABLE.rows(people=[person.pk for person in people], day=[on]):
        counts[person] = counts.get(person, 0) + 1
    return counts


ABLE = PreparedSpans(
    lambda people, day: StandingSpan.objects.on(day[0]).usable().filter(person__in=people).values_list("person")
)
