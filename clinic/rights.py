"""Who may record what, and who may put it right: one line for each kind of fact, asked by the one door for writes.

Every act is asked as who × what × where (training adds: × which procedure). An action may refuse for its own reasons
before; what stands here is the last word, whatever page, command or test it came from. Putting right asks the same right
as doing, and nobody puts right what is recorded about themselves. Where nobody may, the line says what to do instead.

`None` for who stands for the machine itself: setting up a practice, a demo, an import by command.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any, Protocol

from clinic import clock
from clinic.models import AccountRecovery, Appointment, Fact, Person, Site
from clinic.permissions import WHOM_TO_ASK, May, belongs, group_owners, may, may_everywhere, owns_group, who_may

NOT_ABOUT_ONESELF = "It is about you. Nobody decides about their own record: let a colleague who may do it."


class Right(Protocol):
    """What lets somebody record one kind of row at a site."""

    def against(self, who: Person, row: Any, site: Site) -> str | None:
        """Why not, and whom to ask; None where they may."""
        ...

    def holders(self, row: Any, site: Site, on: date) -> Iterable[Person]:
        """Asked backward: everybody who may, on the day."""
        ...


@dataclass(frozen=True, slots=True)
class AtSite:
    """At least one of these verbs at the site."""

    any_of: tuple[May, ...]

    def against(self, who: Person, row: Any, site: Site) -> str | None:
        return None if may(who, site, *self.any_of) else WHOM_TO_ASK[self.any_of[0]]

    def holders(self, row: Any, site: Site, on: date) -> Iterable[Person]:
        return {person for verb in self.any_of for person in who_may(verb, site, on)}


def here(*any_of: May) -> AtSite:
    return AtSite(any_of)


@dataclass(frozen=True, slots=True)
class Everywhere:
    """The verb at every site: for what two sites share. A practice of one site shares with nobody."""

    verb: May
    says = "It reaches every site. Ask an owner of the group, or the group safety officer."

    def against(self, who: Person, row: Any, site: Site) -> str | None:
        return None if may_everywhere(who, self.verb) else self.says

    def holders(self, row: Any, site: Site, on: date) -> Iterable[Person]:
        sites = Site.objects.filter(organisation=site.organisation_id)
        return set.intersection(*(set(who_may(self.verb, each, on)) for each in sites))


@dataclass(frozen=True, slots=True)
class WhereItHolds:
    """The verb at the row's own site; everywhere, where the row names none."""

    verb: May

    def against(self, who: Person, row: Any, site: Site) -> str | None:
        if row.site_id is None:
            return Everywhere(self.verb).against(who, row, site)
        return AtSite((self.verb,)).against(who, row, row.site)

    def holders(self, row: Any, site: Site, on: date) -> Iterable[Person]:
        if row.site_id is None:
            return Everywhere(self.verb).holders(row, site, on)
        return AtSite((self.verb,)).holders(row, row.site, on)


@dataclass(frozen=True, slots=True)
class AtHome:
    """The verb at the home site of the person whom the row is about: a site keeps its own people and their accounts."""

    verb: May

    def against(self, who: Person, row: Any, site: Site) -> str | None:
        person = person_of(row)
        if may(who, person.home_site, self.verb):
            return None
        return f"{person} belongs to {person.home_site}. Ask whoever keeps the roster there."

    def holders(self, row: Any, site: Site, on: date) -> Iterable[Person]:
        return who_may(self.verb, person_of(row).home_site, on)


def person_of(row: Any) -> Person:
    person: Person = row if isinstance(row, Person) else row.person
    return person


@dataclass(frozen=True, slots=True)
class OneOf:
    """Any of these rights is enough."""

    rights: tuple[Right, ...]

    def against(self, who: Person, row: Any, site: Site) -> str | None:
        found = [right.against(who, row, site) for right in self.rights]
        return None if None in found else found[0]

    def holders(self, row: Any, site: Site, on: date) -> Iterable[Person]:
        return {person for right in self.rights for person in right.holders(row, site, on)}


def one_of(*rights: Right) -> OneOf:
    return OneOf(rights)


@dataclass(frozen=True, slots=True)
class Own:
    """Whoever recorded it, while they still may do what it takes."""

    right: Right

    def against(self, who: Person, row: Any, site: Site) -> str | None:
        if row.recorded_by_id != who.pk:
            return "Whoever recorded it puts it right, or the coordinator or owner of this site. Ask one of them."
        return self.right.against(who, row, site)

    def holders(self, row: Any, site: Site, on: date) -> Iterable[Person]:
        return [person for person in self.right.holders(row, site, on) if person.pk == row.recorded_by_id]


@dataclass(frozen=True, slots=True)
class NotAbout:
    """The right, for everybody but whom the row is about."""

    right: Right

    def against(self, who: Person, row: Any, site: Site) -> str | None:
        return NOT_ABOUT_ONESELF if who.pk in about(row) else self.right.against(who, row, site)

    def holders(self, row: Any, site: Site, on: date) -> Iterable[Person]:
        return [person for person in self.right.holders(row, site, on) if person.pk not in about(row)]


def about(row: Any) -> set[Any]:
    """Keys of the people whom a row is about: its person, or the person of what it is about."""
    seen = getattr(row, "observation", None)
    return {getattr(each, "person_id", None) for each in (row, seen) if each is not None} - {None}


@dataclass(frozen=True, slots=True)
class Nobody:
    """It is never done; the sentence says what is done instead."""

    says: str

    def against(self, who: Person, row: Any, site: Site) -> str | None:
        return self.says

    def holders(self, row: Any, site: Site, on: date) -> Iterable[Person]:
        return ()


@dataclass(frozen=True, slots=True)
class OfAccounts:
    """A site keeps the accounts of its own people; a password is chosen by whose account it is."""

    def against(self, who: Person, row: Any, site: Site) -> str | None:
        return None if row.person_id == who.pk else AtHome(May.ROSTER).against(who, row, site)

    def holders(self, row: Any, site: Site, on: date) -> Iterable[Person]:
        return {row.person, *AtHome(May.ROSTER).holders(row, site, on)}


@dataclass(frozen=True, slots=True)
class OfRecoveries:
    """Asked for and confirmed by others (how high they must stand is `clinic.ranks`), used by whose account it is."""

    def against(self, who: Person, row: Any, site: Site) -> str | None:
        if row.step == AccountRecovery.Step.USED:
            return None if who.pk == row.person_id else "Only whose account it is uses a recovery."
        return OPENS.against(who, row, site)

    def holders(self, row: Any, site: Site, on: date) -> Iterable[Person]:
        return [row.person] if row.step == AccountRecovery.Step.USED else OPENS.holders(row, site, on)


@dataclass(frozen=True, slots=True)
class OfOneself:
    """Only whom it is about, whatever they may do elsewhere."""

    says: str

    def against(self, who: Person, row: Any, site: Site) -> str | None:
        return None if row.person_id == who.pk else self.says

    def holders(self, row: Any, site: Site, on: date) -> Iterable[Person]:
        return [row.person]


@dataclass(frozen=True, slots=True)
class OfPosts:
    """Posts of a site are its owner's to give and to end, for its own people; posts of the group are the group owners'.
    Nobody gives or ends a post of their own."""

    def against(self, who: Person, row: Appointment, site: Site) -> str | None:
        if row.person_id == who.pk:
            return "Nobody gives or ends a post of their own. Let another owner do it."
        if owns_group(who):
            return None
        if row.site is None:
            return "A post at every site is given and ended by an owner of the group. Ask one of them."
        if not may(who, row.site, May.APPOINT):
            return WHOM_TO_ASK[May.APPOINT]
        if not belongs(row.person, row.site):
            return f"{row.person} is nobody of {row.site}. Ask an owner of the group."
        return None

    def holders(self, row: Appointment, site: Site, on: date) -> Iterable[Person]:
        groups = set(group_owners(site.organisation_id, on))
        if row.site is None or not belongs(row.person, row.site):
            return groups - {row.person}
        return (groups | set(who_may(May.APPOINT, row.site, on))) - {row.person}


DUTY, ROSTER, DRAFT = here(May.DUTY), here(May.ROSTER), here(May.DRAFT)
ANYBODY_HERE = here(*May)
OPENS = NotAbout(here(May.ROSTER, May.SIGN, May.APPROVE))
RESTORES_NOTHING = Nobody("Taking back what took something back restores nothing. Record it anew if it was right.")


@dataclass(frozen=True, slots=True)
class RecordingRight:
    """Who may record a kind of fact, and who may put one right."""

    record: Right
    put_right: Right


def by_doer_or_roster(record: Right) -> RecordingRight:
    """Recorded while working: one's own is put right by oneself, everybody's by the roster."""
    return RecordingRight(record, one_of(Own(record), ROSTER))


def by_same(record: Right) -> RecordingRight:
    return RecordingRight(record, NotAbout(record))


AT_WORK, KEPT = by_doer_or_roster(DUTY), by_same(ROSTER)
KINDS: dict[str, RecordingRight] = {
    "clinic.accountrecovery": RecordingRight(
        OfRecoveries(), Nobody("That an account was opened anew stays on record.")
    ),
    "clinic.change": RecordingRight(ANYBODY_HERE, Nobody("A change of the roster is put right by changing it again.")),
    "clinic.chemicalgone": KEPT,
    "clinic.chemicallisted": KEPT,
    "clinic.closure": KEPT,
    "clinic.coolantbands": KEPT,
    "clinic.driverdetails": KEPT,
    "clinic.entryphoto": AT_WORK,
    "clinic.factorentered": AT_WORK,
    "clinic.factorchange": RecordingRight(
        OfOneself("Only whose account it is changes its second factors. Where they are lost, ask for a recovery."),
        Nobody("A second factor is put right by adding or removing it again."),
    ),
    "clinic.followup": RecordingRight(DUTY, Nobody("It goes with the reading that opened it: take that back.")),
    "clinic.incident": RecordingRight(DUTY, ROSTER),
    "clinic.incidentreview": KEPT,
    "clinic.jobended": AT_WORK,
    "clinic.jobstarted": AT_WORK,
    "clinic.keptelsewhere": KEPT,
    "clinic.loadreleased": AT_WORK,
    # a group safety officer, who approves too, does not own the records of a site
    "clinic.legalhold": by_same(here(May.APPOINT)),
    "clinic.makerspair": KEPT,
    "clinic.openingreading": KEPT,
    # a stop that holds is lifted by whoever may return the unit, which the action asks
    "clinic.outofservice": RecordingRight(DUTY, DUTY),
    "clinic.purged": RecordingRight(
        Nobody("Purging is a command on the computer of the register: manage.py purge."),
        Nobody("What was purged is gone. The note of it stays."),
    ),
    "clinic.referencedetails": KEPT,
    "clinic.returntoservice": AT_WORK,
    "clinic.resultread": AT_WORK,
    "clinic.safeguard": KEPT,
    "clinic.setline": KEPT,
    "clinic.sitefactvalue": by_same(here(May.ROSTER, May.SIGN)),
    "clinic.sitesetting": KEPT,
    "clinic.steriliserevent": AT_WORK,
    "clinic.stockline": KEPT,
    "clinic.stockmoved": AT_WORK,
    "clinic.tasksetting": KEPT,
    "clinic.toolmounted": AT_WORK,
    "clinic.toolremoved": AT_WORK,
    "clinic.unitchanged": AT_WORK,
    "clinic.unitmessage": AT_WORK,
    "clinic.upkeepentry": AT_WORK,
    "clinic.use": AT_WORK,
    "clinic.verification": AT_WORK,
    # whether one may take back is asked of the kind that is taken back
    "clinic.voiding": RecordingRight(ANYBODY_HERE, RESTORES_NOTHING),
    "clinic.waterlimit": KEPT,
}
"""By kind of fact. Each room adds its own; a house test holds that no kind is left out."""

CHANGES: dict[str, Right] = {
    "clinic.absence": AtHome(May.ROSTER),
    "clinic.account": OfAccounts(),
    "clinic.appointment": OfPosts(),
    "clinic.blocklot": DUTY,
    "clinic.equipment": ROSTER,
    "clinic.jobrole": here(May.ROSTER, May.DRAFT),
    "clinic.millingtool": ROSTER,
    "clinic.organisation": Nobody("A practice is started on the computer of the register: manage.py new_site."),
    "clinic.outsidewitness": here(May.ROSTER, May.APPOINT),
    "clinic.person": AtHome(May.ROSTER),
    "clinic.roleheld": ROSTER,
    "clinic.site": ROSTER,
    "clinic.sitefact": DRAFT,
    "clinic.upkeeptask": DRAFT,
}
"""By kind of reference data, for whoever changes a row of it."""


def against_recording(who: Person | None, fact: Fact) -> str | None:
    """Why somebody may not record this fact; None where they may."""
    return asked(line_of(fact).record, who, fact, fact.site)


def against_putting_right(who: Person | None, fact: Fact) -> str | None:
    """Why somebody may not take this fact back, or put another in its place."""
    return asked(line_of(fact).put_right, who, fact, fact.site)


def against_change(who: Person | None, row: Any, site: Site) -> str | None:
    """Why somebody may not change this row of reference data."""
    return asked(CHANGES[row._meta.label_lower], who, row, site)


def line_of(fact: Fact) -> RecordingRight:
    """The line of its kind. A kind without one is recorded by nobody: say who may before it is made."""
    kind = KINDS.get(fact.fact_kind())
    if kind is None:
        raise LookupError(
            f"clinic.rights.KINDS has no line for {fact.fact_kind()}: say who may record and put right one."
        )
    return kind


def asked(right: Right, who: Person | None, row: Any, site: Site) -> str | None:
    """The right's answer for somebody of this practice who works there still."""
    if who is None:
        return None
    if who.organisation_id != site.organisation_id or not who.is_at_work_on(clock.today(site.time_zone)):
        return "This is for people who work at this practice today."
    return right.against(who, row, site)


def against_lending(who: Person | None, person: Person, site: Site) -> str | None:
    """A job role at a site is its roster's to give; to somebody of another site only together with the roster there."""
    if who is None or belongs(person, site) or may(who, person.home_site, May.ROSTER):
        return None
    return f"{person} belongs to {person.home_site}. Ask somebody who keeps the roster of both sites."


def who_puts_right(fact: Fact, on: date) -> list[Person]:
    """Everybody who may take the fact back on the day, by name."""
    found = set(line_of(fact).put_right.holders(fact, fact.site, on))
    return sorted(found, key=lambda person: (person.family_name, person.given_name, str(person.pk)))
