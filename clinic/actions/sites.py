"""A practice and its sites come into being. Everything after that is done on pages."""

from datetime import date

from django.db import transaction

from clinic.actions.people import appoint, hire, open_account
from clinic.models import Account, Appointment, Organisation, Person, Post, Site
from clinic.record import Refusal, note_change, refuse_if
from clinic.rules.words import short_day

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
    """Add a site to an organisation. Its own chain begins with that; the oldest site's says it too, so that no site can go
    without leaving a gap in another's record."""
    refuse_if(*site_refusals(site))
    site.full_clean()
    oldest = site.organisation.sites.order_by("pk").first()
    site.save(force_insert=True)
    facts = {
        "name": site.name,
        "code": site.code,
        "register_start": str(site.register_start),
        "time_zone": site.time_zone,
        "oldest_site": str((oldest or site).pk),
    }
    said = f"{site.name} opened, register from {short_day(site.register_start)}"
    for chain in dict.fromkeys([site, oldest or site]):
        note_change(site, {}, facts, site=chain, by=by, said=said)
    return site


@transaction.atomic
def start_practice(organisation: Organisation, site: Site, owner: Person, from_day: date) -> tuple[Account, str]:
    """The first site of a practice and its owner, who appoints everybody else. Returns the account and the code by which
    the owner chooses a password."""
    organisation.save()
    site.organisation = organisation
    open_site(site, by=None)
    owner.organisation, owner.home_site, owner.staff_number = organisation, site, owner.staff_number or "1"
    hire(owner, by=None)
    appoint(Appointment(person=owner, post=Post.OWNER, from_day=from_day), at=site, by=None)
    return open_account(owner, by=None, identity_checked="entered by whoever set the register up on its own computer")
