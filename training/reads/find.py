"""What a few letters find at a site: people, procedures, units and certificates, as far as somebody may read them."""

from dataclasses import dataclass
from typing import Any

from django.urls import reverse

from clinic.models import Equipment, Site
from clinic.permissions import Allowed, May
from training.models import Issue, Procedure
from training.rules.find import MOST, is_found


@dataclass(frozen=True, slots=True)
class Found:
    kind: str
    title: str
    says: str
    href: str


def find(allowed: Allowed, site: Site, asked: str) -> list[Found]:
    """At most twenty of each kind. Three or four queries, whatever is asked."""
    if not asked.split():
        return []
    found = []
    if allowed.may(May.READ_SITE, site) or allowed.may(May.OWN_RECORD, site):
        found += [*people(allowed, site, asked), *procedures(site, asked), *certificates(allowed, site, asked)]
    if allowed.may(May.READ_SITE, site) or allowed.may(May.DUTY, site):
        found += units(site, asked)
    return found


def people(allowed: Allowed, site: Site, asked: str) -> list[Found]:
    rows = [p for p in allowed.people(site) if is_found(asked, (p.printed_name, p.staff_number))][:MOST]
    return [Found("person", p.printed_name, p.staff_number, to("training:person", site, person=p.pk)) for p in rows]


def procedures(site: Site, asked: str) -> list[Found]:
    rows = [p for p in Procedure.objects.of(site.organisation) if is_found(asked, (p.title, p.code))][:MOST]
    return [Found("procedure", p.title, p.code, to("training:procedure", site, code=p.code)) for p in rows]


def units(site: Site, asked: str) -> list[Found]:
    every = Equipment.objects.filter(site=site).exclude(kind="site").order_by("label")
    rows = [u for u in every if is_found(asked, (u.label, u.serial, u.kind))][:MOST]
    return [Found("unit", u.label, u.get_kind_display(), to("clinic:unit", site, equipment=u.pk)) for u in rows]


def certificates(allowed: Allowed, site: Site, asked: str) -> list[Found]:
    """By number. Whoever does not read the site finds their own."""
    rows = Issue.objects.filter(site=site, document=Issue.Kind.CERTIFICATE, person__in=allowed.people(site))
    columns = rows.order_by("-number").values_list("pk", "number", "person__given_name", "person__family_name")
    hits = [row for row in columns if is_found(asked, (row[1],))][:MOST]
    return [
        Found("certificate", number, f"{given} {family}", to("training:certificate", site, issue=pk))
        for pk, number, given, family in hits
    ]


def to(name: str, site: Site, **more: Any) -> str:
    return reverse(name, kwargs={"site": site.code, **more})
