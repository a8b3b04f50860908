"""What every page shows: who asks, where, and which of the six pages is open."""

from typing import Any

from django.http import HttpRequest
from django.utils.functional import SimpleLazyObject

from clinic import clock, factors, lock, pins
from clinic.answers import kept_under
from clinic.models import Appointment, Person, Post, RoleHeld, Site
from clinic.models.people import holds_on
from clinic.permissions import May
from clinic.prepared import Prepared
from clinic.rules.words import in_text
from clinic.tablet import unit_of_tablet


def who_asks(request: HttpRequest) -> dict[str, Any]:
    allowed = getattr(request, "allowed", None)
    if allowed is None:
        return {
            "me": None,
            "site": None,
            "sites": [],
            "may": set(),
            "today": None,
            "section": "",
            "tablet": None,
            "add_by": None,
        }
    site = getattr(request, "site", None) or next(iter(allowed.sites), None)
    allowed.person.role_words = role_words(allowed.person, site, allowed.may(May.SIGN, site)) if site else ""
    return {
        "me": allowed.person,
        "locks_in": lock.seconds_left(request.session),
        "kept": kept_under(request, site, allowed.person) if site else None,
        "has_pin": request.session.get(pins.HAS_PIN, False),
        "holds": getattr(request, "holds", False),
        "site": site,
        "sites": allowed.sites,
        "may": allowed.words(site) if site else set(),
        "today": clock.today(site.time_zone) if site else None,
        "section": section_of(request),
        "add_by": factors.add_by(request.session),
        "confined": getattr(request, "confined", False),
        "tablet": SimpleLazyObject(lambda: unit_of_tablet(request, site) if site else None),
    }


def role_words(person: Person, site: Site, supervises: bool) -> str:
    """Job roles, posts and "supervisor", as they are today."""
    today = clock.today(site.time_zone)
    words = [in_text(title) for (title,) in TITLES.rows(person=[person.pk], site=[site.pk], day=[today])]
    words += [Post(post).label for (post,) in POSTS.rows(person=[person.pk], day=[today])]
    return ", ".join(dict.fromkeys([*words, "supervisor"] if supervises else words))


TITLES = Prepared(
    lambda person, site, day: (
        RoleHeld.objects.held_on(day[0]).filter(person__in=person, site__in=site).values_list("job_role__title")
    )
)
POSTS = Prepared(
    lambda person, day: Appointment.objects.filter(holds_on(day[0]), person__in=person).values_list("post")
)


def section_of(request: HttpRequest) -> str:
    """The page of the rail that the address belongs to: its first word after the site."""
    words = request.path.strip("/").split("/")
    return words[1] if len(words) > 1 else ""
