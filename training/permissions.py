"""What training adds to the policy: observing and signing by authority, and an inspector's pass to one binder."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from typing import Any, NamedTuple
from uuid import UUID

from django.db.models import QuerySet

from clinic.models import Person, Site
from clinic.permissions import May, covers
from clinic.prepared import Instances, Prepared
from training.models import Authority, FoundingGrant, InspectorPass, Procedure

BY_AUTHORITY = frozenset({May.OBSERVE, May.SIGN, May.READ_SITE, May.OWN_RECORD, May.DUTY})
Granted = Authority | FoundingGrant


def grants(**where: object) -> Iterator[Granted]:
    """Every authority and founding grant that stands, with whatever narrows them; with its person, where that is not known."""
    for kind in (Authority, FoundingGrant):
        rows: QuerySet[Any] = kind.objects.live().filter(**where)
        yield from rows if "person" in where else rows.select_related("person")


def holds(grant: Granted, day: date) -> bool:
    return covers(grant.happened_on, grant.to_day, day)


class OwnGrant(NamedTuple):
    """What decides what somebody may observe and sign: only that is read, as it is asked with every request."""

    site: int
    first: date
    last: date | None
    procedures: Sequence[str]
    areas: Sequence[str]

    def covers(self, procedure: Procedure) -> bool:
        return procedure.code in self.procedures or procedure.area in self.areas

    def holds_on(self, day: date) -> bool:
        return covers(self.first, self.last, day)


def own_grants(kind: type[Granted]) -> Prepared:
    columns = ("site", "happened_on", "to_day", "procedures", "areas")
    return Prepared(lambda person: kind.objects.live().filter(person__in=person).values_list(*columns))


OWN = (own_grants(Authority), own_grants(FoundingGrant))


def granted_to(person: Person) -> Iterator[OwnGrant]:
    """Every authority and founding grant of the person that stands. Two queries."""
    return (OwnGrant(*row) for question in OWN for row in question.rows(person=[person.pk]))


class ByAuthority:
    """Whoever was granted authority observes and signs what it covers, and reads the site."""

    def forward(self, person: Person, site_days: dict[int, date]) -> dict[int, set[May]]:
        found: dict[int, set[May]] = defaultdict(set)
        for grant in granted_to(person):  # asked with every request
            if grant.site in site_days and covers(grant.first, grant.last, site_days[grant.site]):
                found[grant.site] |= BY_AUTHORITY
        return found

    def backward(self, verb: May, site: Site, on: date) -> Iterable[UUID]:
        alive = grants(site=site) if verb in BY_AUTHORITY else ()
        return {grant.person_id for grant in alive if holds(grant, on)}


def passes_on(day: date) -> "QuerySet[InspectorPass]":
    """Every pass that is good on the day."""
    return InspectorPass.objects.good_on(day)


PASSES = Prepared(
    lambda person: InspectorPass.objects.filter(person__in=person, taken_back_at__isnull=True).values_list(
        "issue__site", "until"
    )
)


class ByPass:
    """An inspector with a pass reads one binder of the site, until its day."""

    def forward(self, person: Person, site_days: dict[int, date]) -> dict[int, set[May]]:
        return {
            site: {May.READ_BINDER}
            for site, until in PASSES.rows(person=[person.pk])
            if site in site_days and site_days[site] <= until
        }

    def backward(self, verb: May, site: Site, on: date) -> Iterable[UUID]:
        passes = passes_on(on).filter(issue__site=site)
        return passes.values_list("person", flat=True) if verb is May.READ_BINDER else ()


def has_authority(person: Person, procedure: Procedure, site: Site, on: date) -> bool:
    """May observe and sign for the procedure at the site on the day (never for oneself: that is the signing rule's part)."""
    if not person.is_at_work_on(on):
        return False
    here = (grant for grant in granted_to(person) if grant.site == site.pk and grant.holds_on(on))
    return any(grant.covers(procedure) for grant in here)


def authorised(procedure: Procedure, site: Site, on: date) -> list[Person]:
    """The other way round: everybody with authority for the procedure at the site on the day, by name."""
    alive = [g for g in grants(site=site) if g.covers(procedure) and holds(g, on)]
    people = {g.person_id: g.person for g in alive if g.person.is_at_work_on(on)}
    return sorted(people.values(), key=lambda person: (person.family_name, person.given_name, str(person.pk)))


def procedures_of(person: Person, site: Site, on: date) -> set[str]:
    """Codes of every procedure that the person may observe and sign at the site on the day."""
    mine = [grant for grant in granted_to(person) if grant.site == site.pk and grant.holds_on(on)]
    known = PROCEDURES.rows(organisation=[person.organisation_id]) if mine else ()
    return {procedure.code for procedure in known if any(grant.covers(procedure) for grant in mine)}


PROCEDURES = Instances(
    Procedure, lambda organisation: Procedure.objects.filter(organisation__in=organisation).order_by("code")
)
