"""Signatures and signers of a site as plain data for the findings."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

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
Key = tuple[UUID, int]  # person, procedure
# Plain columns: with the years sign-offs are many, and next to none of them is wrong.
COLUMNS = ("pk", "happened_on", "person", "signer", "signer_name", "version__procedure")


def signatures(site: Site) -> list[Signature]:
    """Every sign-off of the site that stands, with whether its signer had authority and was usable that day."""
    rows = SignOff.objects.live().filter(site=site).values_list(*COLUMNS)
    ground = Ground(
        {procedure.pk: procedure for procedure in Procedure.objects.of(site.organisation)},
        {person.pk: str(person) for person in Person.objects.filter(organisation=site.organisation)},
        [grant for grant in gather.grant_facts(site.organisation) if grant.site == site.pk],
        usable_spans(site),
        withdrawals(site),
    )
    return [signature(row, ground) for row in rows]


@dataclass(frozen=True, slots=True)
class Ground:
    """What a signature is judged by: authority at the site, usable stretches and withdrawals by person and procedure."""

    procedures: Mapping[int, Procedure]
    names: Mapping[UUID, str]
    granted: Sequence[gather.GrantFact]
    usable: Mapping[Key, Sequence[tuple[date, date | None]]]
    taken: Mapping[Key, Sequence[date]]


def signature(row: tuple[Any, ...], ground: Ground) -> Signature:
    pk, day, person, signer, signer_name, procedure_key = row
    procedure, who = ground.procedures[procedure_key], str(signer)
    mine = (grant for grant in ground.granted if grant.person == who and grant.holds_on(day))
    stretches = ground.usable.get((signer, procedure_key), ())
    return Signature(
        id=str(pk),
        day=day,
        person=ground.names[person],
        person_id=str(person),
        signer=signer_name,
        signer_id=who,
        procedure=str(procedure),
        had_authority=any(grant.covers(procedure.code, procedure.area) for grant in mine),
        was_usable=any(first <= day and (after is None or day < after) for first, after in stretches),
        withdrawn=any(day <= gone for gone in ground.taken.get((person, procedure_key), ())),
    )


def usable_spans(site: Site) -> dict[Key, list[tuple[date, date | None]]]:
    """Of everybody who ever signed at the site."""
    found: dict[Key, list[tuple[date, date | None]]] = defaultdict(list)
    signers = SignOff.objects.filter(site=site).values("signer")
    rows = StandingSpan.objects.usable().filter(procedure__organisation=site.organisation, person__in=signers)
    for person, procedure, first, after in rows.values_list("person", "procedure", "first", "after"):
        found[person, procedure].append((first, after))
    return found


def withdrawals(site: Site) -> dict[Key, list[date]]:
    found: dict[Key, list[date]] = defaultdict(list)
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
