"""Which facts may be read by whom: one's own, everybody's of the site, or those that an inspector's binder rests on."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from django.db.models import Count, Max, QuerySet

from clinic.facts import row_of
from clinic.models import Fact, Incident, IncidentReview, Person, Seal, Site
from clinic.permissions import Allowed, May
from training.models import InspectorPass, TaughtSession
from training.reads.fact_words import PageLink

PEOPLE_IN = ("person_id", "observer_id", "signer_id", "done_by_id", "stood_by_id", "trainer_id", "recorded_by_id")
CONFIDENTIAL = {model.fact_kind() for model in (Incident, IncidentReview)}


def is_confidential(fact: Fact) -> bool:
    """An incident, its review, or what corrects one."""
    named = Seal.objects.filter(fact=fact.corrects).first() if fact.corrects else None
    return fact.fact_kind() in CONFIDENTIAL or (named is not None and named.kind in CONFIDENTIAL)


def readable(allowed: Allowed, site: Site, fact: Fact, today: date) -> bool:
    """Whether this person may read the page of the fact. Incidents: only whoever appoints or keeps the roster."""
    if is_confidential(fact):
        return allowed.may(May.ROSTER, site) or allowed.may(May.APPOINT, site)
    if allowed.may(May.READ_SITE, site):
        return True
    return names(fact, allowed.person) or str(fact.pk) in passed_facts(allowed.person, site, today)


@dataclass(frozen=True, slots=True)
class Opens:
    """Which links of a fact's page open for whoever looks: a page that would be refused is not offered."""

    allowed: Allowed
    site: Site
    facts: frozenset[str]
    people: frozenset[str]

    def __call__(self, link: PageLink) -> bool:
        if link.to == "training:fact":
            return str(link.key) in self.facts
        if link.to == "training:person":
            return str(link.key) in self.people
        if link.to == "training:binder":
            return self.allowed.may(May.READ_BINDER, self.site)
        if link.to == "training:procedure":
            return self.allowed.may(May.READ_SITE, self.site) or self.allowed.may(May.OWN_RECORD, self.site)
        return self.allowed.may(May.READ_SITE, self.site)


def opens(allowed: Allowed, site: Site, links: Collection[PageLink], today: date) -> Opens:
    """Asked once for all links of a page. A fact opens where it is of this site and may be read there."""
    facts = [link.key for link in links if link.to == "training:fact"]
    people = [link.key for link in links if link.to == "training:person"]
    rows = [row_of(seal.kind, seal.fact) for seal in Seal.objects.filter(site=site, fact__in=facts)]
    may_read = [row for row in rows if isinstance(row, Fact) and readable(allowed, site, row, today)]
    known = allowed.people(site).filter(pk__in=people).values_list("pk", flat=True)
    return Opens(allowed, site, frozenset(str(row.pk) for row in may_read), frozenset(str(pk) for pk in known))


def names(fact: Fact, person: Person) -> bool:
    """The fact is about the person, or the person made it."""
    if any(getattr(fact, column, None) == person.pk for column in PEOPLE_IN):
        return True
    return isinstance(fact, TaughtSession) and fact.attendances.filter(person=person).exists()


def passed_facts(person: Person, site: Site, today: date) -> set[str]:
    """Ids of the facts that the binders rest on for which the person holds a pass today."""
    passes = passes_of(person, site, today)
    return {fact for frozen in passes.values_list("issue__frozen", flat=True) for fact in frozen.get("facts", ())}


def passes_of(person: Person, site: Site, today: date) -> "QuerySet[InspectorPass]":
    """The passes by which somebody reads at the site today."""
    return InspectorPass.objects.good_on(today).filter(person=person, issue__site=site).order_by("until", "pk")


def passes_used(site: Site) -> "QuerySet[InspectorPass]":
    """Every pass of the site, the newest first, with how often it was used and when last."""
    rows = (
        InspectorPass.objects.filter(issue__site=site)
        .select_related("person", "given_by", "issue")
        .defer("issue__frozen")
    )
    return rows.annotate(times=Count("uses"), last_used=Max("uses__recorded_at")).order_by("-pk")


def pass_to_fact(allowed: Allowed, site: Site, fact: Fact, today: date) -> InspectorPass | None:
    """The pass that alone lets this person read the fact; None for whoever reads it without one."""
    if allowed.may(May.READ_SITE, site) or names(fact, allowed.person):
        return None
    passes = passes_of(allowed.person, site, today).select_related("issue__site")
    return next((row for row in passes if str(fact.pk) in row.issue.frozen.get("facts", ())), None)
