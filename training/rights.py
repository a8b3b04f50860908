"""What training adds to who may record what: authority, asked for THE procedure at THE site, for doing and for putting right.

Somebody with authority for one procedure here has none for another here, nor for the same one elsewhere.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from clinic import clock
from clinic.facts import row_of
from clinic.models import Person, Seal, Site
from clinic.permissions import May, belongs
from clinic.rights import (
    CHANGES,
    KINDS,
    ROSTER,
    Everywhere,
    Nobody,
    NotAbout,
    Own,
    RecordingRight,
    Right,
    WhereItHolds,
    against_putting_right,
    by_same,
    here,
    one_of,
)
from training.models import InspectorPass, Observation, Procedure
from training.permissions import authorised, has_authority, passes_on

Procedures = Callable[[Any], list[Procedure]]


def of_itself(row: Any) -> list[Procedure]:
    return [row.procedure]


def of_version(row: Any) -> list[Procedure]:
    return [row.version.procedure]


def of_observation(row: Any) -> list[Procedure]:
    return [row.observation.version.procedure]


def of_topics(row: Any) -> list[Procedure]:
    return [topic.version.procedure for topic in row.topics.select_related("version__procedure")]


@dataclass(frozen=True, slots=True)
class Authorised:
    """Authority at the site for every procedure that the row is about; today, or (`that_day`) on the day of the fact."""

    procedures: Procedures
    that_day: bool = False

    def against(self, who: Person, row: Any, site: Site) -> str | None:
        day = row.happened_on if self.that_day else clock.today(site.time_zone)
        lacking = [each for each in self.procedures(row) if not has_authority(who, each, site, day)]
        return no_authority(lacking[0], site) if lacking else None

    def holders(self, row: Any, site: Site, on: date) -> Iterable[Person]:
        found = [set(authorised(procedure, site, on)) for procedure in self.procedures(row)]
        return set.intersection(*found) if found else set()


def no_authority(procedure: Procedure, site: Site) -> str:
    return f"You have no authority for {procedure} at {site}. Ask somebody who has it, or the owner for authority."


@dataclass(frozen=True, slots=True)
class OfOurs:
    """The right, and only about people of the site."""

    right: Right

    def against(self, who: Person, row: Any, site: Site) -> str | None:
        if not belongs(row.person, site):
            return f"{row.person} is nobody of {site}. Enter a job role for them here first."
        return self.right.against(who, row, site)

    def holders(self, row: Any, site: Site, on: date) -> Iterable[Person]:
        return self.right.holders(row, site, on) if belongs(row.person, site) else ()


@dataclass(frozen=True, slots=True)
class InOwnName:
    """The right, and only as whoever the column names: nothing is recorded in somebody else's name."""

    column: str
    right: Right
    or_nobody: bool = False  # whether the column may be empty: an outside witness has no account to record by

    def against(self, who: Person, row: Any, site: Site) -> str | None:
        named = getattr(row, self.column)
        if named is None and not self.or_nobody:
            return "Nobody is named who records it."
        if named is not None and named.pk != who.pk:
            return f"It would stand in the name of {named}. Only {named} records it."
        return self.right.against(who, row, site)

    def holders(self, row: Any, site: Site, on: date) -> Iterable[Person]:
        named = getattr(row, self.column)
        return [each for each in self.right.holders(row, site, on) if named is None or each == named]


@dataclass(frozen=True, slots=True)
class OwnSignature:
    """Whoever recorded the fact that is signed."""

    def against(self, who: Person, row: Any, site: Site) -> str | None:
        seal = Seal.objects.filter(site=site, fact=row.signs).first()
        signed = row_of(seal.kind, seal.fact) if seal else None
        mine = getattr(signed, "recorded_by_id", None) == who.pk
        return None if mine else "Only whoever recorded it signs it."

    def holders(self, row: Any, site: Site, on: date) -> Iterable[Person]:
        return ()


@dataclass(frozen=True, slots=True)
class PassHolder:
    """Whoever holds the pass, until its day, while it is not taken back."""

    def against(self, who: Person, row: Any, site: Site) -> str | None:
        day = clock.today(site.time_zone)
        mine = passes_on(day).filter(pk=row.inspector_pass_id, person=who, issue__site=site)
        return None if mine.exists() else "There is no pass for this. Ask whoever gave you one."

    def holders(self, row: Any, site: Site, on: date) -> Iterable[Person]:
        return [one.person for one in passes_on(on).filter(pk=row.inspector_pass_id).select_related("person")]


@dataclass(frozen=True, slots=True)
class OfPasses:
    """A binder is opened to somebody from outside by its site's roster or owner, never to oneself."""

    def against(self, who: Person, row: InspectorPass, site: Site) -> str | None:
        return GIVES.against(who, row, row.issue.site)

    def holders(self, row: InspectorPass, site: Site, on: date) -> Iterable[Person]:
        return GIVES.holders(row, row.issue.site, on)


GIVES = NotAbout(here(May.ROSTER, May.APPOINT))
OF_VERSION = NotAbout(Authorised(of_version))
OF_ITSELF = NotAbout(Authorised(of_itself))
OF_OBSERVATION = NotAbout(Authorised(of_observation))
APPOINTED = NotAbout(OfOurs(here(May.APPOINT)))
TAUGHT = one_of(ROSTER, Authorised(of_topics))
CHECKED = one_of(here(May.APPROVE), ROSTER, Authorised(of_version))
NEVER_CHANGES = Nobody("An approved version never changes. Approve the next one, or retire the procedure.")
PAPER_STAYS = Nobody("A paper stays as it was issued. Put right what it rests on, and issue it anew.")

AT_WORK = one_of(here(May.DUTY), ROSTER)
ENTERED = one_of(Own(AT_WORK), ROSTER)

WATCHED = InOwnName("observer", NotAbout(Authorised(of_version, that_day=True)), or_nobody=True)

KINDS_OF_TRAINING: dict[str, RecordingRight] = {
    "training.authority": RecordingRight(APPOINTED, NotAbout(here(May.APPOINT))),
    "training.carriedover": RecordingRight(NotAbout(OfOurs(ROSTER)), NotAbout(ROSTER)),
    "training.correctiveaction": by_same(ROSTER),
    "training.criticalmissanswer": by_same(OF_OBSERVATION),
    "training.foundinggrant": RecordingRight(APPOINTED, NotAbout(here(May.APPOINT))),
    "training.independentmarking": RecordingRight(
        InOwnName("marker", NotAbout(Authorised(of_observation, that_day=True))), OF_OBSERVATION
    ),
    "training.instructionscheck": RecordingRight(InOwnName("checked_by", CHECKED), CHECKED),
    "training.issue": RecordingRight(
        one_of(here(May.READ_SITE), InOwnName("person", here(May.OWN_RECORD))), PAPER_STAYS
    ),
    "training.knowledgeresult": RecordingRight(InOwnName("person", here(May.OWN_RECORD)), OF_VERSION),
    "training.observation": RecordingRight(WATCHED, OF_VERSION),
    "training.passused": RecordingRight(PassHolder(), Nobody("That a pass was used stays on record.")),
    # whoever answers the walk round, whose words it stands beside
    "training.placephoto": by_same(here(May.ROSTER, May.SIGN)),
    "training.retirement": RecordingRight(Everywhere(May.APPROVE), Everywhere(May.APPROVE)),
    # it counts for nothing until whoever watched records it in their own name
    "training.sheetentered": RecordingRight(NotAbout(AT_WORK), NotAbout(one_of(ENTERED, Authorised(of_version)))),
    "training.sheetphoto": RecordingRight(AT_WORK, ENTERED),
    "training.sheetsprinted": RecordingRight(
        here(May.OWN_RECORD, May.READ_SITE),
        Nobody("A sheet stays printed. One that is never entered counts for nothing."),
    ),
    "training.signature": RecordingRight(OwnSignature(), Nobody("A signature stands with what it signs.")),
    "training.signoff": RecordingRight(InOwnName("signer", OfOurs(OF_VERSION)), OF_VERSION),
    "training.talkedthrough": RecordingRight(InOwnName("by", OF_VERSION), OF_VERSION),
    "training.taughtsession": RecordingRight(TAUGHT, TAUGHT),
    "training.version": RecordingRight(Everywhere(May.APPROVE), NEVER_CHANGES),
    "training.withdrawal": RecordingRight(OfOurs(OF_ITSELF), OF_ITSELF),
}
CHANGES_OF_TRAINING: dict[str, Right] = {
    "training.inspectorpass": OfPasses(),
    "training.procedure": here(May.DRAFT),
    "training.requirement": WhereItHolds(May.DRAFT),
}


def against_correcting_marks(who: Person, seen: Observation) -> str | None:
    """Marks are given again only by whoever gave them, with authority still; a colleague with authority takes them back."""
    if who.pk not in (seen.observer_id, seen.recorded_by_id):
        return "Whoever watched or recorded it corrects its marks; somebody with authority for it may take it back."
    return against_putting_right(who, seen)


def register() -> None:
    KINDS.update(KINDS_OF_TRAINING)
    CHANGES.update(CHANGES_OF_TRAINING)
