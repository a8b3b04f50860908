"""Putting a record right: the later fact, and the signature of whoever answers for it, in one transaction.

A sign-off carries its own signature. A fact that takes another away, or stands in its place, is signed by a fact beside it.
"""

from collections.abc import Iterable, Mapping, Sequence
from uuid import UUID, uuid5

from django.db import transaction

from clinic.actions import taking_back
from clinic.models import Fact, Person, Voiding
from clinic.record import only_if_allowed, void
from training.actions.observe import Performance, record_observations
from training.actions.proof import Proved, sign_beside
from training.actions.teach import record_session
from training.models import Observation, SheetEntered, SheetPhoto, TaughtSession, Version
from training.rights import against_correcting_marks

TAKEN_BACK = "Responsibility: I state that the record named here does not stand, for the reason given."
PUT_RIGHT = "Responsibility: I state that this stands in the place of the record it names, for the reason given."


@transaction.atomic
def take_back(fact: Fact, reason: str, *, by: Person, proved: Proved, id: UUID | None = None) -> Voiding:
    """Take a fact away by a later, signed one that names it and says why, with what was recorded with it. Sent twice, it
    is one."""
    together = goes_with(fact)
    row = taking_back.take_back(fact, by=by, reason=reason, id=id)
    for other in together:
        void(other, by=by, reason=reason, id=uuid5(row.pk, str(other.pk)))
    sign_beside(row, TAKEN_BACK, by=by, proved=proved)
    return row


def goes_with(fact: Fact) -> list[Fact]:
    """A sheet of paper and the observation that confirms it stand and fall together, so that the sheet may be entered
    again. So does the photo that an outside witness's sheet was compared with. Nothing, once the fact itself is taken back."""
    if isinstance(fact, SheetEntered):
        found: Iterable[Fact] = Observation.objects.live().filter(sheet=fact)
    elif isinstance(fact, Observation) and fact.sheet_id:
        found = SheetEntered.objects.live().filter(pk=fact.sheet_id)
    elif isinstance(fact, SheetPhoto) and fact.sheet.witness_id:
        found = [
            *Observation.objects.live().filter(sheet=fact.sheet),
            *SheetEntered.objects.live().filter(pk=fact.sheet_id),
        ]
    else:
        return []
    return list(found) if type(fact)._default_manager.live().filter(pk=fact.pk).exists() else []


@transaction.atomic
def correct_marks(
    seen: Performance, marks: Mapping[Version, Mapping[str, str]], *, by: Person, proved: Proved
) -> Observation:
    """The marks again, in the place of those that `seen.corrects` names, signed by whoever watched or recorded them."""
    wrong = Observation.objects.filter(pk=seen.corrects, site=seen.site).first() if seen.corrects else None
    only_if_allowed(against_correcting_marks(by, wrong) if wrong else None)
    [row] = record_observations(seen, marks, by=by)
    sign_beside(row, PUT_RIGHT, by=by, proved=proved)
    return row


@transaction.atomic
def correct_session(
    session: TaughtSession, versions: Sequence[Version], attendees: Sequence[Person], *, by: Person, proved: Proved
) -> TaughtSession:
    """A taught session again, in the place of the one that it names, signed."""
    row = record_session(session, versions, attendees, by=by)
    sign_beside(row, PUT_RIGHT, by=by, proved=proved)
    return row
