"""Entering a whole roster at once, and keeping accounts in order."""

from datetime import date

from django.db import transaction

from clinic.accounts import end_sessions
from clinic.actions.people import give_role, hire, job_role
from clinic.changes import change, note
from clinic.models import Account, Person, Site
from clinic.ranks import may_open_for
from clinic.record import Refusal, Refused, refuse_if
from clinic.roster import Key, Roster, RosterEntry
from clinic.rules.words import short_day


@transaction.atomic
def enter_roster(roster: Roster, site: Site, *, by: Person) -> list[Person]:
    """All of it, or none. Returns the people who are new."""
    if roster.faults:
        raise Refused(*(Refusal(str(fault)) for fault in roster.faults))
    entered: dict[Key, Person] = {}
    for entry in roster.entries:
        if not entry.is_known:
            person = entry.person or entered.get(entry.key) or hire(new_person(entry, site), by=by)
            if entry.person is None:
                entered[entry.key] = person
            role = job_role(site.organisation, entry.job_role, at=site, by=by)
            give_role(person, site, role, entry.from_day, by=by, to_day=entry.to_day)
    return list(entered.values())


def new_person(entry: RosterEntry, site: Site) -> Person:
    columns = {
        name: entry.values.get(name, "") for name in ("given_name", "family_name", "staff_number", "email", "language")
    }
    return Person(organisation=site.organisation, home_site=site, **columns)


@transaction.atomic
def close_account(account: Account, *, at: Site, by: Person) -> int:
    """Shut the account of somebody who does not work here any more. Returns how many sessions ended with it.

    Whoever holds a post is shut out by the same post or a higher one only: to shut an owner out is to take the practice."""
    refuse_if(too_high(account.person, by))
    account.is_active = False
    said = f"Account {account.sign_in_name} of {account.person} closed at the account review"
    change(account, site=at, by=by, said=said, only=["is_active"])
    return end_sessions(account)


@transaction.atomic
def open_again(account: Account, *, at: Site, by: Person) -> Account:
    """Let a closed account sign in again (somebody came back, or it was closed by mistake)."""
    refuse_if(too_high(account.person, by))
    account.is_active = True
    said = f"Account {account.sign_in_name} of {account.person} opened again"
    change(account, site=at, by=by, said=said, only=["is_active"])
    return account


def too_high(person: Person, by: Person) -> Refusal | None:
    if may_open_for(by, person):
        return None
    return Refusal(
        f"{person} holds a higher post than you, or one where you hold none.",
        "Let somebody with the same post or a higher one close or open it.",
    )


@transaction.atomic
def sign_out_everywhere(account: Account, *, at: Site, by: Person) -> int:
    """A tablet is lost: every session of the account ends at once (row E-26). Returns how many."""
    ended = end_sessions(account)
    said = f"Every session of {account.person} ended ({ended}): a lost device"
    note(account, site=at, by=by, said=said)
    return ended


def set_register_start(site: Site, day: date, *, by: Person) -> Site:
    """The day from which the register answers for the site. The caller sees to it that nothing hangs on the old one."""
    site.register_start = day
    said = f"The register of {site} starts on {short_day(day)}"
    change(site, site=site, by=by, said=said, only=["register_start"])
    return site
