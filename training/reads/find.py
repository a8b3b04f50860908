"""What a few letters find at a site: people, procedures, units, certificates and records, as far as somebody may read them."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from django.urls import reverse

from clinic.facts import row_of
from clinic.models import Equipment, Fact, Seal, Site
from clinic.permissions import Allowed, May
from training.models import Issue, Procedure
from training.reads.audit_facts import readable
from training.reads.fact_words import plain, words_of
from training.rules.find import MOST, is_found, records_named


@dataclass(frozen=True, slots=True)
class FoundPage:
    kind: str
    title: str
    says: str
    href: str


def find(allowed: Allowed, site: Site, asked: str, today: date) -> list[FoundPage]:
    """At most twenty of each kind. A few queries, whatever is asked."""
    if not asked.split():
        return []
    found = records(allowed, site, asked, today)
    if allowed.may(May.READ_SITE, site) or allowed.may(May.OWN_RECORD, site):
        found += [*people(allowed, site, asked), *procedures(site, asked), *certificates(allowed, site, asked)]
    if allowed.may(May.READ_SITE, site) or allowed.may(May.DUTY, site):
        found += units(site, asked)
    return found


def people(allowed: Allowed, site: Site, asked: str) -> list[FoundPage]:
    rows = [p for p in allowed.people(site) if is_found(asked, (p.printed_name, p.staff_number))][:MOST]
    return [FoundPage("person", p.printed_name, p.staff_number, to("training:person", site, person=p.pk)) for p in rows]


def procedures(site: Site, asked: str) -> list[FoundPage]:
    rows = [p for p in Procedure.objects.of(site.organisation) if is_found(asked, (p.title, p.code))][:MOST]
    return [FoundPage("procedure", p.title, p.code, to("training:procedure", site, code=p.code)) for p in rows]


def units(site: Site, asked: str) -> list[FoundPage]:
    every = Equipment.objects.filter(site=site).exclude(kind="site").order_by("label")
    rows = [u for u in every if is_found(asked, (u.label, u.serial, u.kind))][:MOST]
    return [FoundPage("unit", u.label, u.get_kind_display(), to("clinic:unit", site, equipment=u.pk)) for u in rows]


def certificates(allowed: Allowed, site: Site, asked: str) -> list[FoundPage]:
    """By number. Whoever does not read the site finds their own."""
    rows = Issue.objects.filter(site=site, document=Issue.Kind.CERTIFICATE, person__in=allowed.people(site))
    columns = rows.order_by("-number").values_list("pk", "number", "person__given_name", "person__family_name")
    hits = [row for row in columns if is_found(asked, (row[1],))][:MOST]
    return [
        FoundPage("certificate", number, f"{given} {family}", to("training:certificate", site, issue=pk))
        for pk, number, given, family in hits
    ]


def records(allowed: Allowed, site: Site, asked: str, today: date) -> list[FoundPage]:
    """The record that begins with the eight letters at the end of a line of a binder."""
    named = records_named(asked)
    if named is None:
        return []
    rows = [row_of(seal.kind, seal.fact) for seal in Seal.objects.filter(site=site, fact__range=named)[:MOST]]
    facts = [row for row in rows if isinstance(row, Fact) and readable(allowed, site, row, today)]
    return [
        FoundPage("record", plain(words_of(row).head), str(row.pk)[:8], to("training:fact", site, fact=row.pk))
        for row in facts
    ]


def to(name: str, site: Site, **more: Any) -> str:
    return reverse(name, kwargs={"site": site.code, **more})
