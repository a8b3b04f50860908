"""What training adds to the policy: observing and signing by authority, and an inspector's pass to one binder."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import date
from uuid import UUID

from django.db.models import QuerySet

from clinic.models import Person, Site
from clinic.permissions import May
from training.models import Authority, FoundingGrant, InspectorPass, Procedure

BY_AUTHORITY = frozenset({May.OBSERVE, May.SIGN, May.READ_SITE, May.OWN_RECORD, May.DUTY})
Granted = Authority | FoundingGrant


def grants(**where: object) -> Iterator[Granted]:
    """Every authority and founding grant that stands, with whatever narrows them."""
    yield from Authority.objects.live().filter(**where).select_related("person")
    yield from FoundingGrant.objects.live().filter(**where).select_related("person")


def holds(grant: Granted, day: date) -> bool:
    return grant.happened_on <= day and (grant.to_day is None or day <= grant.to_day)


class ByAuthority:
    """Whoever was granted authority observes and signs what it covers, and reads the site."""

    def forward(self, person: Person, site_days: dict[int, date]) -> dict[int, set[May]]:
        found: dict[int, set[May]] = defaultdict(set)
        for grant in grants(person=person):
            if grant.site_id in site_days and holds(grant, site_days[grant.site_id]):
                found[grant.site_id] |= BY_AUTHORITY
        return found

    def backward(self, verb: May, site: Site, on: date) -> Iterable[UUID]:
        alive = grants(site=site) if verb in BY_AUTHORITY else ()
        return {grant.person_id for grant in alive if holds(grant, on)}


def passes_on(day: date) -> "QuerySet[InspectorPass]":
    """Every pass that is good on the day."""
    return InspectorPass.objects.good_on(day)


class ByPass:
    """An inspector with a pass reads one binder of the site, until its day."""

    def forward(self, person: Person, site_days: dict[int, date]) -> dict[int, set[May]]:
        passes = InspectorPass.objects.filter(person=person, taken_back_at__isnull=True).select_related("issue")
        return {
            row.issue.site_id: {May.READ_BINDER}
            for row in passes
            if row.issue.site_id in site_days and site_days[row.issue.site_id] <= row.until
        }

    def backward(self, verb: May, site: Site, on: date) -> Iterable[UUID]:
        passes = passes_on(on).filter(issue__site=site)
        return passes.values_list("person", flat=True) if verb is May.READ_BINDER else ()


def has_authority(person: Person, procedure: Procedure, site: Site, on: date) -> bool:
    """May observe and sign for the procedure at the site on the day (never for oneself: that is the signing rule's part)."""
    if not person.is_at_work_on(on):
        return False
    return any(grant.covers(procedure) and holds(grant, on) for grant in grants(person=person, site=site))


def authorised(procedure: Procedure, site: Site, on: date) -> list[Person]:
    """The other way round: everybody with authority for the procedure at the site on the day, by name."""
    alive = [g for g in grants(site=site) if g.covers(procedure) and holds(g, on)]
    people = {g.person_id: g.person for g in alive if g.person.is_at_work_on(on)}
    return sorted(people.values(), key=lambda person: (person.family_name, person.given_name, str(person.pk)))


def procedures_of(person: Person, site: Site, on: date) -> set[str]:
    """Codes of every procedure that the person may observe and sign at the site on the day."""
    mine = [grant for grant in grants(person=person, site=site) if holds(grant, on)]
    return {p.code for p in Procedure.objects.of(person.organisation) if any(grant.covers(p) for grant in mine)}
