"""What stands worst at the sites that somebody answers for. A fixed number of queries for any number of sites and people."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from django.urls import reverse

from clinic.models import Equipment, RoleHeld, Site
from clinic.permissions import Allowed, May
from clinic.prepared import Instances, Prepared
from clinic.reads.follow_ups import open_follow_ups_at
from clinic.reads.stops import stops_at
from clinic.rules.words import day_words
from training.models import Draft, Procedure, Requirement, Retirement, StandingSpan
from training.rules.today_needs import NeedKind
from training.waiting import PreparedSpans

RANK = list(NeedKind)


@dataclass(frozen=True, slots=True)
class WorstRow:
    """One thing that stands in the way somewhere, with where it is put right. `button` is empty where one only looks."""

    kind: NeedKind
    site: Site
    title: str
    says: str
    href: str
    button: str


def worst_for(allowed: Allowed, here: Site, day: date) -> list[WorstRow]:
    """The worst kinds first, in each this site before the others. Whoever is only on duty answers for this site alone."""
    reads = [site for site in allowed.sites if allowed.may(May.READ_SITE, site)]
    duty = [here] if allowed.may(May.DUTY, here) and here not in reads else []
    found = [*stopped([*reads, *duty], day), *out([*reads, *duty], day), *uncovered(reads, day)]
    found += approvals(here) if allowed.may(May.APPROVE, here) else []
    return sorted(found, key=lambda row: (RANK.index(row.kind), row.site != here, row.site.name, row.title))


def stopped(sites: Sequence[Site], day: date) -> Iterable[WorstRow]:
    by_site = {site.pk: site for site in sites}
    running = {unit: pause for unit, pauses in stops_at(sites).items() for pause in pauses if pause.holds_on(day)}
    if not running:
        return
    for unit in Equipment.objects.filter(pk__in=running, site__in=sites).in_service_on(day):
        site, since = by_site[unit.site_id], day_words(running[unit.pk].day)
        href = reverse("clinic:unit", kwargs={"site": site.code, "equipment": unit.pk})
        yield WorstRow(
            NeedKind.STOPPED, site, f"Out of service: {unit}", f"Nobody uses it, since {since}.", href, "See the unit"
        )


def out(sites: Sequence[Site], day: date) -> Iterable[WorstRow]:
    by_site = {site.pk: site for site in sites}
    for one in open_follow_ups_at(sites):
        if one.happened_on > day:
            continue
        task, unit, site = one.entry.task, one.entry.equipment, by_site[one.site_id]
        late = ", which has passed" if one.due_on < day else ""
        says = f"Read on {day_words(one.happened_on)}. {one.what_to_do} A good reading is due by {day_words(one.due_on)}{late}."
        href = reverse("clinic:unit", kwargs={"site": site.code, "equipment": unit.pk})
        yield WorstRow(NeedKind.OUT, site, f"Out of limits: {task.title}, {unit}", says, href, "See the unit")


def uncovered(sites: Sequence[Site], day: date) -> Iterable[WorstRow]:
    """Duties of a site that nobody with a job role there may do alone. Four queries."""
    if not sites:
        return
    keys = [site.pk for site in sites]
    titles = {row.pk: row for row in DUTIES.rows(organisation=[sites[0].organisation_id], day=[day])}
    asked: dict[int, set[int]] = defaultdict(set)
    for procedure, at in ASKED.rows(day=[day]):
        for key in (keys if at is None else {at} & {*keys}) if procedure in titles else ():
            asked[key].add(procedure)
    there: dict[UUID, set[int]] = defaultdict(set)
    for person, place in THERE.rows(sites=keys, day=[day]):
        there[person].add(place)
    held: dict[int, set[int]] = defaultdict(set)
    for person, procedure in ABLE.rows(people=[*there], procedures=[*titles], day=[day]):
        for place in there[person]:
            held[place].add(procedure)
    for site in sites:
        for pk in asked[site.pk] - held[site.pk]:
            href = reverse("training:coverage", kwargs={"site": site.code})
            yield WorstRow(
                NeedKind.UNCOVERED,
                site,
                f"Nobody may do {titles[pk]} alone",
                "A job role here needs it.",
                href,
                "Coverage",
            )


def duties(organisation: Any, day: Any) -> Any:
    retired = Retirement.objects.live().filter(happened_on__lte=day[0]).values("procedure")
    rows = Procedure.objects.filter(organisation__in=organisation, kind=Procedure.Kind.PRACTICE)
    return rows.exclude(pk__in=retired).order_by("code")


DUTIES = Instances(Procedure, duties)
ASKED = Prepared(lambda day: Requirement.objects.in_force(day[0]).values_list("procedure", "site"))
THERE = Prepared(
    lambda sites, day: RoleHeld.objects.held_on(day[0]).filter(site__in=sites).values_list("person", "site")
)
ABLE = PreparedSpans(
    lambda people, procedures, day: (
        StandingSpan.objects.on(day[0])
        .usable()
        .filter(procedure__in=procedures, person__in=people)
        .values_list("person", "procedure")
    )
)


def approvals(here: Site) -> Iterable[WorstRow]:
    """Drafts of the organisation that wait for approval."""
    for draft in SUBMITTED.rows(organisation=[here.organisation_id]):
        href = reverse("training:draft_approve", kwargs={"site": here.code, "code": draft.procedure.code})
        yield WorstRow(
            NeedKind.APPROVAL,
            here,
            f"Approve a version: {draft.procedure}",
            f"Submitted by {draft.author}.",
            href,
            "Read it",
        )


SUBMITTED = Instances(
    Draft,
    lambda organisation: (
        Draft.objects.filter(procedure__organisation__in=organisation, state=Draft.State.SUBMITTED)
        .select_related("procedure", "author")
        .order_by("procedure__code")
    ),
)
