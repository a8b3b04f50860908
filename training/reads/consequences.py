"""What falls with an act before it is pressed: rows to plain facts, the pure rules with the fact to come, and its sentences."""

from collections import defaultdict
from collections.abc import Sequence
from datetime import date
from uuid import UUID

from clinic import clock
from clinic.models import Person, Site
from clinic.rules.words import day_words
from training import gather
from training.models import Authority, Draft, Procedure, StandingSpan
from training.permissions import grants, holds
from training.rules import consequences as rules
from training.rules.consequences import Falls
from training.rules.standing import timelines
from training.rules.texts import policy_from_json

Holders = dict[str, set[UUID]]  # by procedure code


def usable_at(site: Site, day: date) -> Holders:
    """Who of the site may do what alone on the day; two queries."""
    spans = StandingSpan.objects.on(day).usable().filter(person__in=Person.objects.at_site(site, day))
    found: Holders = defaultdict(set)
    for code, person in spans.values_list("procedure__code", "person"):
        found[code].add(person)
    return found


def signers_at(site: Site, day: date, usable: Holders, without: UUID | None = None) -> Holders:
    """Who may watch and sign what there: authority alive, and usable in it. `without`: a grant that is left out."""
    alive = [g for g in grants(site=site) if holds(g, day) and g.pk != without and g.person.is_at_work_on(day)]
    codes = Procedure.objects.of(site.organisation)
    return {p.code: {g.person_id for g in alive if g.covers(p)} & usable.get(p.code, set()) for p in codes}


def falls_of_drafts(drafts: Sequence[Draft], from_day: date) -> dict[str, list[Falls]]:
    """By code, for everybody who may do it alone on the day, wherever they work. One reading for any number of drafts."""
    asking = [draft for draft in drafts if policy_from_json(draft.policy).reobserve_days]
    spans = StandingSpan.objects.on(from_day).usable().filter(procedure__in=[draft.procedure_id for draft in asking])
    people = list(Person.objects.filter(pk__in=spans.values("person")).select_related("organisation")) if asking else []
    if not people:
        return {}
    organisation = people[0].organisation
    before = gather.programme(organisation)
    facts = gather.people_facts(organisation, people, evidence_of=[], whole=before)
    found = {}
    for draft in asking:
        code, policy = draft.procedure.code, policy_from_json(draft.policy)
        after = rules.with_version(before, code, policy, from_day, clock.now())
        found[code] = rules.falls_of_version(before, after, facts.values(), from_day)
    return found


def drafts_consequences(drafts: Sequence[Draft], site: Site, from_day: date) -> dict[str, list[str]]:
    """By code, beside the button that puts drafts in force from the day."""
    found = falls_of_drafts(drafts, from_day)
    people = {one.person for those in found.values() for one in those}
    names = {str(p.pk): p.printed_name for p in Person.objects.filter(pk__in=people)}
    here = usable_at(site, from_day)
    codes = [draft.procedure.code for draft in drafts]
    return {
        code: rules.version_words(code, found.get(code, []), names, nobody_words(found.get(code, []), code, site, here))
        for code in codes
    }


def nobody_words(found: Sequence[Falls], code: str, site: Site, usable: Holders) -> str:
    """From which day nobody at the site may do it, where everybody who may now falls."""
    here = {str(person) for person in usable.get(code, ())}
    lasts = {one.person: one.last for one in found if one.code == code and one.person in here}
    if not here or here - set(lasts):
        return ""
    last = max((day for day in lasts.values() if day), default=None)
    since = f"after {day_words(last)}" if last else "from that day"
    return f"Where nobody is watched again, nobody at {site} may do {code} alone {since}, nor watch and sign it."


def withdrawal_falls(person: Person, procedure: Procedure, site: Site) -> list[Falls]:
    day = clock.today(site.time_zone)
    programme = gather.programme(site.organisation)
    facts = gather.people_facts(site.organisation, [person], evidence_of=[], whole=programme)[str(person.pk)]
    later = rules.with_withdrawal(facts, procedure.code, day, clock.now(), clock.time_of_day(site.time_zone))
    return rules.falls(facts.person, timelines(programme, facts), timelines(programme, later), day)


def withdrawal_consequences(person: Person, procedure: Procedure, site: Site) -> list[str]:
    """Beside the button that withdraws."""
    others = usable_at(site, clock.today(site.time_zone)).get(procedure.code, set()) - {person.pk}
    return rules.withdrawal_words(procedure.code, withdrawal_falls(person, procedure, site), len(others), site.name)


def authority_lost(row: Authority, site: Site, day: date) -> list[str]:
    """Codes that nobody at the site may watch and sign without this authority."""
    usable = usable_at(site, day)
    now, then = signers_at(site, day, usable), signers_at(site, day, usable, row.pk)
    return sorted(code for code in now if now[code] and not then[code])


def authority_consequences(row: Authority, site: Site, day: date) -> list[str]:
    return rules.lost_words([], authority_lost(row, site, day), site.name)


def leaving_lost(person: Person, site: Site, day: date) -> tuple[list[str], list[str]]:
    """Codes that nobody at the site may do alone, and that nobody may watch and sign, without the person."""
    usable = usable_at(site, day)
    signers, me = signers_at(site, day, usable), {person.pk}
    return (
        sorted(code for code, who in usable.items() if who == me),
        sorted(code for code, who in signers.items() if who == me),
    )


def what_falls_without(person: Person, site: Site, day: date) -> list[str]:
    """Beside the button that enters a last day."""
    return rules.lost_words(*leaving_lost(person, site, day), site.name)


def closing_ends(site: Site, first: date, after: date) -> list[Falls]:
    """What people of the site may do alone on the first closed day and no more when it opens again; three queries."""
    here = Person.objects.at_site(site, first)
    spans = StandingSpan.objects.on(first).usable().filter(person__in=here).select_related("procedure")
    later = StandingSpan.objects.on(after).usable().filter(person__in=here)
    still = set(later.values_list("person", "procedure__code"))
    ending = [row for row in spans if (row.person_id, row.procedure.code) not in still]
    return [Falls(str(row.person_id), row.procedure.code, row.ends_on) for row in ending]


def what_ends_meanwhile(site: Site, first: date, after: date) -> list[str]:
    """Beside the button that closes the site: nobody watches meanwhile, and a window goes on."""
    found = closing_ends(site, first, after)
    names = {str(p.pk): p.printed_name for p in Person.objects.filter(pk__in={one.person for one in found})}
    return rules.closing_words(found, names)
