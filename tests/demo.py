"""The demo practice in the test database, with the people that the house's walks look through.

It is played up to a fixed day, on which the tests that use it stand, so that every run sees the same facts.
"""

from dataclasses import dataclass
from datetime import UTC, date, datetime

from django.conf import settings

from clinic.actions.recovery import ask_recovery
from clinic.models import Account, Organisation, Person, Site
from tests.cast import Member
from training.demo.accounts import open_accounts
from training.demo.play import make

TODAY = date(2026, 11, 25)
NOW = datetime(2026, 11, 25, 10, 30, tzinfo=UTC)


@dataclass(slots=True)
class Demo:
    organisation: Organisation
    high_street: Site
    ferry_lane: Site
    refused: list[str]  # what the players were refused: nothing, if they play by the rules
    owner: Member  # Marit Oldenburg, owns both sites
    coordinator: Member  # Delphine Marchetti, training coordinator at High Street
    supervisor: Member  # Philippa Thorne, lead assistant with authority at High Street
    assistant: Member  # Zoë Ångström-Łuczak, seven weeks in
    hygienist: Member  # Saoirse Brennan: on duty, nothing more
    officer: Member  # Arthur Penhaligon, group safety officer
    elsewhere: Member  # Moira Trevithick, front desk at Ferry Lane
    inspector: Member  # Helen Drummond, who reads one binder

    def subject(self, site: Site) -> Person:
        """Somebody of the site of whom much is recorded."""
        return Person.objects.get(family_name="Sallis" if site == self.high_street else "Reid")


MEMBERS = {
    "owner": "Oldenburg",
    "coordinator": "Marchetti",
    "supervisor": "Thorne",
    "assistant": "Ångström-Łuczak",
    "hygienist": "Brennan",
    "officer": "Penhaligon",
    "elsewhere": "Trevithick",
    "inspector": "Drummond",
}


def enter_demo() -> Demo:
    """The kept eighteen months, played on to the day; about a quarter of a minute."""
    said: list[str] = []
    organisation = make(settings.DEMO_DIR, settings.LIBRARY_DIR, TODAY, said.append)
    open_accounts(organisation)
    members = {name: member(family) for name, family in MEMBERS.items()}
    for name in ("assistant", "elsewhere"):  # somebody at each site who cannot get in
        ask_recovery(members[name].person, by=members["owner"].person, how="Stood at the front desk.")
    sites = {site.code: site for site in Site.objects.filter(organisation=organisation)}
    refused = [line for line in said if line.startswith("refused")]
    return Demo(organisation, sites["high-street"], sites["ferry-lane"], refused, **members)


def member(family: str) -> Member:
    person = Person.objects.get(family_name=family)
    return Member(person, Account.objects.get(person=person))
