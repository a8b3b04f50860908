"""What the owner's page shows. A fixed number of queries, whatever the number of people."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from clinic.models import Person, Site
from clinic.permissions import Allowed
from training.models import InspectorPass, Procedure, StandingSpan
from training.reads.audit_facts import passes_used
from training.reads.coverage import duties_of, signing_stretches
from training.reads.findings.records import last_check
from training.reads.findings.stored import findings, weights_on
from training.reads.safeguards import last_safeguards
from training.reads.worst import WorstRow, worst_for
from training.rules.owner import SEAL_CHECK, TROUBLE, Able, SafeLine, hang_on_one, objections, safe_lines, thinnest
from training.rules.today_needs import Needs, needs_of, worst_sentence

PASSES = 20
"""The newest so many are shown; each use of any of them stays in the record."""


@dataclass(frozen=True, slots=True)
class OwnerPage:
    needs: Needs
    worst: Sequence[WorstRow]
    weights: Mapping[str, int]
    duties: Sequence[Able]
    single: Sequence[Able]
    safe: Sequence[SafeLine]
    passes: Sequence[InspectorPass] = ()
    heads: tuple[str, ...] = ("Duty", "May do it alone", "Can sign it")

    @property
    def objections(self) -> str:
        return objections(self.weights)

    @property
    def first_sentence(self) -> str:
        """What stands worst, and where nothing does, how much an inspector would object to."""
        return worst_sentence(self.needs) or self.objections

    @property
    def rows(self) -> list[tuple[str, str, str]]:
        return [one.row for one in self.duties]


def owner_page(allowed: Allowed, site: Site, today: date) -> OwnerPage:
    """Of this site; what stands worst is of every site that the owner answers for."""
    found = findings(site, today, codes=[code for codes in TROUBLE.values() for code in codes])
    weights, able = weights_on(site, today), able_at(site, today)
    safe = safe_lines(last_days(site, today), [one.finding for one in found if one.is_open], today)
    worst = worst_for(allowed, site, today)
    needs = needs_of((row.kind, [row]) for row in worst)
    passes = list(passes_used(site)[:PASSES])
    return OwnerPage(needs, worst, weights, thinnest(able), hang_on_one(able), safe, passes)


def last_days(site: Site, today: date) -> dict[str, date]:
    """The last backup, restore drill and seal check, where there was one. Two queries."""
    days = {kind: row.happened_on for kind, row in last_safeguards(site, today).items()}
    checked = last_check(site).day
    return days | ({SEAL_CHECK: checked} if checked else {})


def able_at(site: Site, today: date) -> list[Able]:
    """Each duty here with who of those at work may do it alone today, and who of them can sign it."""
    duties, names = duties_of(site, today), {p.pk: p.printed_name for p in Person.objects.at_site(site, today)}
    alone: dict[str, list[UUID]] = defaultdict(list)
    rows = StandingSpan.objects.on(today).usable().filter(procedure__in=duties, person__in=names)
    for person, code in rows.values_list("person", "procedure__code"):
        alone[code].append(person)
    granted = signing_stretches(site, duties)
    return [able(duty, alone[duty.code], names, granted, today) for duty in duties]


def able(duty: Procedure, alone: Sequence[UUID], names: Mapping[UUID, str], granted: Any, today: date) -> Able:
    signers = [who for who in alone if any(holds(each, today) for each in granted[str(who)][duty.code])]
    return Able(str(duty), duty.code, *(tuple(sorted(names[who] for who in group)) for group in (alone, signers)))


def holds(stretch: tuple[date, date | None], day: date) -> bool:
    first, after = stretch
    return first <= day and (after is None or day < after)
