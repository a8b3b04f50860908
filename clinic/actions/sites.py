"""A practice and its sites come into being. Everything after that is done on pages."""

from datetime import date

from django.db import transaction

from clinic.actions.people import appoint, hire, open_account
from clinic.changes import change, make, write_change
from clinic.models import Account, Appointment, Organisation, Person, Post, Site
from clinic.record import Refusal, refuse_if
from clinic.reference import said_of
from clinic.rules.words import short_day
from clinic.site_ways import ways_in_words

# First words of addresses that are not sites.
RESERVED = {"account", "check", "invitation", "sign-in", "sign-out", "static", "unlock"}


def site_refusals(site: Site) -> list[Refusal]:
    taken = Site.objects.filter(code=site.code).exists()
    checks = [
        (
            site.code in RESERVED,
            f"“{site.code}” is an address of the register itself.",
            "Choose another short name.",
            "code",
        ),
        (taken, f"There is a site “{site.code}” already.", "Choose another short name.", "code"),
        (not site.name.strip(), "The site has no name.", "Give its name.", "name"),
    ]
    return [Refusal(says, supply, name) for wrong, says, supply, name in checks if wrong]


@transaction.atomic
def open_site(site: Site, *, by: Person | None) -> Site:
    """Add a site to an organisation, which is stored with its first one. Its own chain begins with that; the oldest site's says it too, so that no site can go
    without leaving a gap in another's record."""
    refuse_if(*site_refusals(site))
    begin(site)
    site.full_clean()
    oldest = site.organisation.sites.order_by("pk").first()
    said = f"{site.name} opened, register from {short_day(site.register_start)}"
    beside = {"oldest_site": str(oldest.pk)} if oldest else {}
    make(site, site=site, by=by, said=said, beside=beside)
    if oldest:
        write_change(site, {}, said_of(site) | beside, site=oldest, by=by, said=said)
    else:
        practice = site.organisation
        write_change(practice, {}, said_of(practice), site=site, by=by, said=f"{practice} started")
    return site


def begin(site: Site) -> None:
    """Store the practice of its first site. There is no chain yet that could say so; the site's begins with both."""
    practice = site.organisation
    if practice.pk is None:
        practice.save(force_insert=True)
        site.organisation = practice


@transaction.atomic
def start_practice(organisation: Organisation, site: Site, owner: Person, from_day: date) -> tuple[Account, str]:
    """The first site of a practice and its owner, who appoints everybody else. Returns the account and the code by which
    the owner chooses a password."""
    site.organisation = organisation
    open_site(site, by=None)
    owner.organisation, owner.home_site, owner.staff_number = organisation, site, owner.staff_number or "1"
    hire(owner, by=None)
    appoint(Appointment(person=owner, post=Post.OWNER, from_day=from_day), at=site, by=None)
    return open_account(owner, by=None, identity_checked="entered by whoever set the register up on its own computer")


def change_ways(site: Site, ways: dict[str, str], *, by: Person) -> Site:
    """How the site writes and prints from now on: the columns of `clinic.site_ways.ASKED`. What was recorded keeps its day."""
    for name, value in ways.items():
        setattr(site, name, value)
    change(site, site=site, by=by, said=ways_in_words(site), only=list(ways))
    return site
