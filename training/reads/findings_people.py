"""Signatures and signers of a site as plain data for the findings."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import date
from typing import Any

from clinic.models import Person, Site
from training import gather
from training.models import (
    CarriedOver,
    FoundingGrant,
    Observation,
    Procedure,
    Requirement,
    SignOff,
    StandingSpan,
    Withdrawal,
)
from training.rules.findings import Signature
from training.rules.rings import Link

Anchors = set[tuple[str, str]]
# Long columns that no finding reads: the text of a version is read once a sign-off otherwise.
NOT_ASKED = ("statement", "evidence", "elements", "lowered", "version__content", "version__policy")


def signatures(site: Site) -> list[Signature]:
    """Every sign-off of the site that stands, with whether its signer had authority and was usable that day."""
    rows = SignOff.objects.live().filter(site=site).select_related("person", "signer", "version__procedure")
    rows = rows.defer(*NOT_ASKED)
    granted = [grant for grant in gather.grant_facts(site.organisation) if grant.site == site.pk]
    usable = usable_spans(site, {row.signer_id for row in rows})
    taken = withdrawals(site)
    return [signature(row, granted, usable, taken) for row in rows]


def signature(row: SignOff, granted: Iterable[gather.GrantFact], usable: Any, taken: Any) -> Signature:
    procedure, day, signer = row.version.procedure, row.happened_on, str(row.signer_id)
    mine = (grant for grant in granted if grant.person == signer and grant.holds_on(day))
    return Signature(
        id=str(row.pk),
        day=day,
        person=str(row.person),
        person_id=str(row.person_id),
        signer=row.signer_name,
        signer_id=signer,
        procedure=str(procedure),
        had_authority=any(grant.covers(procedure.code, procedure.area) for grant in mine),
        was_usable=any(
            first <= day and (after is None or day < after) for first, after in usable[row.signer_id, procedure.pk]
        ),
        withdrawn=any(day <= gone for gone in taken[row.person_id, procedure.pk]),
    )


def usable_spans(site: Site, people: set[Any]) -> dict[Any, list[tuple[date, date | None]]]:
    found: dict[Any, list[tuple[date, date | None]]] = defaultdict(list)
    rows = StandingSpan.objects.usable().filter(procedure__organisation=site.organisation, person__in=people)
    for person, procedure, first, after in rows.values_list("person", "procedure", "first", "after"):
        found[person, procedure].append((first, after))
    return found


def withdrawals(site: Site) -> dict[Any, list[date]]:
    found: dict[Any, list[date]] = defaultdict(list)
    rows = Withdrawal.objects.live().filter(procedure__organisation=site.organisation)
    for person, procedure, day in rows.values_list("person", "procedure", "happened_on"):
        found[person, procedure].append(day)
    return found


def signing_links(site: Site) -> tuple[list[Link], Anchors, dict[str, str]]:
    """Who signed whom in the organisation, who is anchored in what, and everybody's name. Six queries."""
    taken = withdrawals(site)
    rows = SignOff.objects.live().filter(site__organisation=site.organisation)
    columns = ("pk", "happened_on", "version__procedure", "version__procedure__code", "signer", "person")
    links = [
        Link(str(pk), day, code, str(signer), str(person))
        for pk, day, key, code, signer, person in rows.values_list(*columns)
        if not any(day <= gone for gone in taken[person, key])
    ]
    people = Person.objects.filter(organisation=site.organisation)
    names = {
        str(pk): f"{given} {family}" for pk, given, family in people.values_list("pk", "given_name", "family_name")
    }
    return links, anchored(site), names


def anchored(site: Site) -> Anchors:
    """Founding grants, carried-over records, and met assessments by an outside witness."""
    here = {"site__organisation": site.organisation}
    founded = FoundingGrant.objects.live().filter(**here).values_list("person", "procedures")
    carried = CarriedOver.objects.live().filter(**here).values_list("procedure__code", "person")
    seen = Observation.objects.live().filter(**here, witness__isnull=False, outcome="met", purpose="assessment")
    return {
        *((code, str(person)) for person, codes in founded for code in codes),
        *((code, str(person)) for code, person in carried),
        *((code, str(person)) for code, person in seen.values_list("version__procedure__code", "person")),
    }


def signers(site: Site, day: date) -> list[tuple[str, tuple[str, ...], date]]:
    """For each procedure that a job role here needs: who may sign it today, and since when nobody more could."""
    needed = Requirement.objects.in_force(day).at(site).filter(procedure__kind=Procedure.Kind.PRACTICE)
    procedures = Procedure.objects.filter(pk__in=needed.values("procedure"), organisation=site.organisation).order_by(
        "code"
    )
    granted = [g for g in gather.grant_facts(site.organisation) if g.site == site.pk]
    usable = set(
        StandingSpan.objects.on(day).usable().filter(procedure__in=procedures).values_list("person", "procedure__code")
    )
    names = {str(p.pk): str(p) for p in Person.objects.filter(organisation=site.organisation) if p.is_at_work_on(day)}
    could = {(str(person), code) for person, code in usable}
    return [
        (str(p), tuple(sorted(names[who] for who in may_sign(granted, p, day) if who in names and (who, p.code) in could)), since(granted, p, site, day))
        for p in procedures
    ]  # fmt: skip


def may_sign(granted: Iterable[gather.GrantFact], procedure: Procedure, day: date) -> set[str]:
    return {g.person for g in granted if g.covers(procedure.code, procedure.area) and g.holds_on(day)}


def since(granted: Iterable[gather.GrantFact], procedure: Procedure, site: Site, day: date) -> date:
    """The last day on which a grant that covers it began or ended; without any, the register start."""
    mine = [g for g in granted if g.covers(procedure.code, procedure.area)]
    edges = [edge for g in mine for edge in (g.first, g.last) if edge is not None and edge <= day]
    return max(edges, default=site.register_start)
