"""Which facts may be read by whom: one's own, everybody's of the site, or those that an inspector's binder rests on."""

from datetime import date

from clinic.models import Fact, Incident, IncidentReview, Person, Seal, Site
from clinic.permissions import Allowed, May
from training.models import InspectorPass, TaughtSession

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


def names(fact: Fact, person: Person) -> bool:
    """The fact is about the person, or the person made it."""
    if any(getattr(fact, column, None) == person.pk for column in PEOPLE_IN):
        return True
    return isinstance(fact, TaughtSession) and fact.attendances.filter(person=person).exists()


def passed_facts(person: Person, site: Site, today: date) -> set[str]:
    """Ids of the facts that the binders rest on for which the person holds a pass today."""
    passes = InspectorPass.objects.filter(person=person, issue__site=site, until__gte=today)
    return {fact for frozen in passes.values_list("issue__frozen", flat=True) for fact in frozen.get("facts", ())}
