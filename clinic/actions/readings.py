"""An upkeep entry with its readings: out of limits opens a follow-up at once, a good reading closes the one it answers."""

from dataclasses import dataclass, field
from datetime import date
from typing import Any
from uuid import UUID, uuid4, uuid5

from django.db import transaction

from clinic.actions.upkeep import is_out_of_service, log_entry, stop_unit
from clinic.models import EntryPhoto, Equipment, FollowUp, FollowUpClosed, Person, Site, UpkeepEntry, UpkeepTask
from clinic.reads.readings import asked_at
from clinic.record import record
from clinic.rules.readings import Judged, Verdict, readings_verdict

STOPS: dict[tuple[str, str], str] = {
    ("torque driver", "deviation"): "Its check is out of limits. Do not use it.",
    ("steriliser", "test"): "A spore test failed. Hold every unused pack since the last pass.",
}
"""Readings that take their unit out of use by themselves when they are out (T-08, W-18)."""


@dataclass(frozen=True, slots=True)
class Work:
    """One time a task was done, as the form says it. `id`: the submission; sending it twice records once."""

    task: UpkeepTask
    unit: Equipment
    site: Site
    done_by: Person
    day: date
    stood_by: Person | None = None
    readings: dict[str, Any] = field(default_factory=dict)
    note: str = ""
    id: UUID = field(default_factory=uuid4)
    from_observation: UUID | None = None  # the watched performance that it logs
    photo: bytes = b""  # a JPEG made by `clinic.photos`


@dataclass(frozen=True, slots=True)
class Logged:
    """What was recorded and what is out of limits."""

    entry: UpkeepEntry
    out: tuple[Verdict, ...]
    closed: int = 0


@transaction.atomic
def log_work(work: Work, *, by: Person) -> Logged:
    """Record the entry, its follow-ups and closings together. A second arrival of the same submission changes nothing."""
    known = UpkeepEntry.objects.filter(pk=work.id).exists()
    entry = log_entry(
        work.task, work.unit, work.done_by, site=work.site, by=by, day=work.day, stood_by=work.stood_by,
        readings=work.readings, note=work.note, id=work.id,
        from_observation=work.from_observation,
    )  # fmt: skip
    asked = asked_at(work.site, work.unit, work.task)
    verdicts = readings_verdict(asked.specs, work.readings, asked.numbers, work.day)
    out = tuple(verdict for verdict in verdicts if verdict.judged is Judged.OUT)
    if known:
        return Logged(entry, out)
    keep_photo(entry, work.photo, by)
    good = {verdict.key for verdict in verdicts if verdict.judged is Judged.GOOD}
    closed = close_follow_ups(entry, good, by)
    for verdict in out:
        open_follow_up(entry, verdict, by)
    stop_where_it_must(entry, out, by)
    return Logged(entry, out, closed)


def keep_photo(entry: UpkeepEntry, photo: bytes, by: Person) -> None:
    if photo:
        id = uuid5(entry.pk, "photo")
        record(EntryPhoto(id=id, site=entry.site, happened_on=entry.happened_on, entry=entry, picture=photo), by=by)


def open_follow_up(entry: UpkeepEntry, verdict: Verdict, by: Person) -> FollowUp:
    """Due on the day that the task gives for this reading; without one, on the day of the reading."""
    row = FollowUp(
        id=uuid5(entry.pk, verdict.key), site=entry.site, happened_on=entry.happened_on, entry=entry,
        reading=verdict.key, what_to_do=verdict.what_to_do, due_on=verdict.follow_up_due or entry.happened_on,
    )  # fmt: skip
    return record(row, by=by)


def close_follow_ups(entry: UpkeepEntry, good: set[str], by: Person) -> int:
    """Every open follow-up of the unit and task whose reading is good again, unless it is of a later day."""
    closed = FollowUpClosed.objects.live().values("follow_up")
    waiting = FollowUp.objects.live().filter(
        entry__equipment=entry.equipment, entry__task=entry.task, reading__in=good, happened_on__lte=entry.happened_on
    )
    rows = list(waiting.exclude(pk__in=closed).order_by("pk"))
    for row in rows:
        closing = FollowUpClosed(
            id=uuid5(entry.pk, f"closes {row.pk}"), site=entry.site, happened_on=entry.happened_on, follow_up=row,
            entry=entry,
        )  # fmt: skip
        record(closing, by=by)
    return len(rows)


def stop_where_it_must(entry: UpkeepEntry, out: tuple[Verdict, ...], by: Person) -> None:
    unit = entry.equipment
    reasons = [STOPS[unit.kind, verdict.key] for verdict in out if (unit.kind, verdict.key) in STOPS]
    if reasons and not is_out_of_service(unit):
        stop_unit(unit, reasons[0], site=entry.site, by=by, id=uuid5(entry.pk, "stop"))
