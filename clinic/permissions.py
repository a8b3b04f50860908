"""Who may: one policy, asked forward ("may she?") and backward ("who may?"). Views ask it for their doors, and the one door
for writes asks it for each kind of fact (`clinic.rights`); nothing else decides.

What somebody may do at a site comes from sources that add up: the job role held today, the posts appointed to, and what
other rooms add (training adds observing and signing by authority). The table is section 9 of the design.
"""

from collections import defaultdict
from collections.abc import Iterable
from datetime import date
from enum import StrEnum
from typing import Protocol
from uuid import UUID

from django.db.models import Q, QuerySet

from clinic import clock
from clinic.models import Appointment, Person, Post, RoleHeld, Site
from clinic.models.people import holds_on
from clinic.prepared import Instances, Prepared


class May(StrEnum):
    """What can be allowed at a site."""

    APPOINT = "appoint"  # posts, authority, founding grants
    APPROVE = "approve"  # versions put in force, retirement
    DRAFT = "draft"  # checklists and requirements
    DUTY = "duty"  # log upkeep, stop a unit, near miss, who may do this now
    OBSERVE = "observe"
    OWN_RECORD = "own record"
    READ_BINDER = "read binder"
    READ_SITE = "read site"
    ROSTER = "roster"  # people, roles, accounts, carried-over records, equipment
    SIGN = "sign"


BY_POST: dict[str, frozenset[May]] = {
    Post.COORDINATOR: frozenset({May.OWN_RECORD, May.DUTY, May.DRAFT, May.ROSTER, May.READ_SITE, May.READ_BINDER}),
    Post.OWNER: frozenset(
        {May.OWN_RECORD, May.DUTY, May.DRAFT, May.ROSTER, May.APPROVE, May.APPOINT, May.READ_SITE, May.READ_BINDER}
    ),
    Post.SAFETY_OFFICER: frozenset({May.OWN_RECORD, May.DRAFT, May.APPROVE, May.READ_SITE, May.READ_BINDER}),
    Post.INSPECTOR: frozenset(),  # opens nothing by itself: a pass does, to one binder
}
BY_ROLE = frozenset({May.OWN_RECORD, May.DUTY})

WHOM_TO_ASK: dict[May, str] = {
    May.APPOINT: "Only a practice owner appoints people. Ask the owner of this site.",
    May.APPROVE: "Only a practice owner or the group safety officer puts a version in force. Ask one of them.",
    May.DRAFT: "Only a training coordinator or owner drafts checklists and requirements. Ask the coordinator.",
    May.DUTY: "Only somebody who works at this site does this. Ask the coordinator to enter your job role.",
    May.OBSERVE: "Only somebody with authority observes here. Ask the owner for authority.",
    May.OWN_RECORD: "This page is for people who work at this site.",
    May.READ_BINDER: "Only the owner, the coordinator or an inspector reads binders. Ask the owner.",
    May.READ_SITE: "Only supervisors, the coordinator and the owner read everybody’s record. Your own is under your name.",
    May.ROSTER: "Only a training coordinator or owner changes the roster. Ask the coordinator.",
    May.SIGN: "Only somebody with authority signs here. Ask the owner for authority.",
}


class PermissionSource(Protocol):
    """Where permissions come from. Both directions must agree; a house test holds them against each other."""

    def forward(self, person: Person, site_days: dict[int, date]) -> dict[int, set[May]]: ...

    def backward(self, verb: May, site: Site, on: date) -> Iterable[UUID]:
        """Primary keys of people."""
        ...


class RolesHeld:
    """Whoever holds a job role at the site is on duty there."""

    def forward(self, person: Person, site_days: dict[int, date]) -> dict[int, set[May]]:
        return {
            site: set(BY_ROLE)
            for site, first, last in ROLES.rows(person=[person.pk])
            if site in site_days and covers(first, last, site_days[site])
        }

    def backward(self, verb: May, site: Site, on: date) -> Iterable[UUID]:
        held = RoleHeld.objects.filter(holds_on(on), site=site) if verb in BY_ROLE else RoleHeld.objects.none()
        return held.values_list("person", flat=True)


class Posts:
    """What the practice appointed somebody to."""

    def forward(self, person: Person, site_days: dict[int, date]) -> dict[int, set[May]]:
        found: dict[int, set[May]] = defaultdict(set)
        for at, post, first, last in POSTS.rows(person=[person.pk]):
            for site_id, day in site_days.items():
                if at in (None, site_id) and covers(first, last, day):
                    found[site_id] |= BY_POST[post]
        return found

    def backward(self, verb: May, site: Site, on: date) -> Iterable[UUID]:
        posts = [post for post, verbs in BY_POST.items() if verb in verbs]
        here = Q(site=site) | Q(site__isnull=True, person__organisation=site.organisation_id)
        return Appointment.objects.filter(here, holds_on(on), post__in=posts).values_list("person", flat=True)


ROLES = Prepared(lambda person: RoleHeld.objects.filter(person__in=person).values_list("site", "from_day", "to_day"))
SITES = Instances(
    Site, lambda organisation: Site.objects.filter(organisation__in=organisation).select_related("organisation")
)
POSTS = Prepared(
    lambda person: Appointment.objects.filter(person__in=person).values_list("site", "post", "from_day", "to_day")
)


def covers(first: date, last: date | None, day: date) -> bool:
    return first <= day and (last is None or day <= last)


SOURCES: list[PermissionSource] = [RolesHeld(), Posts()]


class Allowed:
    """What one person may do today, at every site of the organisation. Built once for a request."""

    def __init__(self, person: Person) -> None:
        self.person = person
        self.every_site = SITES.all(organisation=[person.organisation_id])
        self.days = {site.pk: clock.today(site.time_zone) for site in self.every_site}
        at_work = {pk: day for pk, day in self.days.items() if person.is_at_work_on(day)}
        self.verbs: dict[int, set[May]] = defaultdict(set)
        for source in SOURCES:
            for site_id, verbs in source.forward(person, at_work).items():
                self.verbs[site_id] |= verbs

    @property
    def sites(self) -> list[Site]:
        """Every site where anything is allowed, home site first."""
        mine = [site for site in self.every_site if self.verbs.get(site.pk)]
        return sorted(mine, key=lambda site: (site.pk != self.person.home_site_id, site.name))

    def may(self, verb: May, site: Site) -> bool:
        return verb in self.verbs.get(site.pk, ())

    def words(self, site: Site) -> set[str]:
        """For templates: `{% if "sign" in may %}`."""
        return {verb.value for verb in self.verbs.get(site.pk, ())}

    def people(self, site: Site) -> QuerySet[Person]:
        """Whose records may be read at the site: everybody's, or one's own."""
        everybody = Person.objects.ever_at_site(site)
        return everybody if self.may(May.READ_SITE, site) else everybody.filter(pk=self.person.pk)


def may(person: Person, site: Site, *any_of: May) -> bool:
    """At least one of these, today, at this one site. Asks the sources one after the other, and stops at a yes."""
    day = clock.today(site.time_zone)
    if person.organisation_id != site.organisation_id or not person.is_at_work_on(day):
        return False
    return any(set(any_of) & source.forward(person, {site.pk: day}).get(site.pk, set()) for source in SOURCES)


def may_everywhere(person: Person, verb: May) -> bool:
    """At every site there is. What reaches two sites (a version, a retirement, a requirement of all) takes this."""
    allowed = Allowed(person)
    return all(allowed.may(verb, site) for site in allowed.every_site)


def may_somewhere(person: Person, verb: May) -> bool:
    """At one site at least: for what binds nobody yet, such as a draft."""
    return any(verb in verbs for verbs in Allowed(person).verbs.values())


def owns_group(person: Person) -> bool:
    """Owner of every site, those that open later too. Somebody appointed at each site one by one is not."""
    day = clock.today(person.home_site.time_zone)
    posts = Appointment.objects.filter(holds_on(day), person=person, post=Post.OWNER, site__isnull=True)
    return person.is_at_work_on(day) and posts.exists()


def group_owners(organisation: int, on: date) -> QuerySet[Person]:
    """Everybody who owns the group on the day and works on it."""
    posts = Appointment.objects.filter(holds_on(on), post=Post.OWNER, site__isnull=True)
    at_work = Q(last_day__isnull=True) | Q(last_day__gte=on)
    return Person.objects.filter(at_work, organisation=organisation, pk__in=posts.values("person")).by_name()


def belongs(person: Person, site: Site) -> bool:
    """One of the site's people: at home there, or with a job role there now or once."""
    return person.home_site_id == site.pk or Person.objects.ever_at_site(site).filter(pk=person.pk).exists()


def who_may(verb: May, site: Site, on: date) -> QuerySet[Person]:
    """Everybody who may do it at the site on the day."""
    keys = {key for source in SOURCES for key in source.backward(verb, site, on)}
    at_work = Q(last_day__isnull=True) | Q(last_day__gte=on)
    return Person.objects.filter(at_work, pk__in=keys).by_name()
