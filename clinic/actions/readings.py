"""An upkeep entry with its readings: out of limits opens a follow-up at once, a good reading closes the one it answers.

What has to grow first is read on a later day than it was sampled: at once with both days, or by `read_result`.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, time, timedelta
from typing import Any
from uuid import UUID, uuid4, uuid5

from django.db import transaction

from clinic import clock
from clinic.actions.upkeep import is_out_of_service, log_entry, stop_unit
from clinic.models import EntryPhoto, Equipment, Fact, FollowUp, Person, ResultRead, Site, UpkeepEntry, UpkeepTask
from clinic.reads.follow_ups import with_closings
from clinic.reads.readings import ReadingsAsked, asked_at
from clinic.record import Refusal, record, refuse_if
from clinic.rules.readings import Judged, Verdict, readings_verdict
from clinic.rules.words import short_day

STOPS: dict[tuple[str, str], str] = {
    ("torque driver", "deviation"): "Its check is out of limits. Do not use it.",
    ("steriliser", "test"): "A spore test failed. Hold every unused pack since the last pass.",
}
"""Readings that take their unit out of use by themselves when they are out (T-08, W-18)."""


@dataclass(frozen=True, slots=True)
class DoneTask:
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
    at: time | None = None  # local time, where it was written down
    read_on: date | None = None  # of what is read later; None: on the day itself


@dataclass(frozen=True, slots=True)
class LaterReading:
    """What was read of an entry on a later day, as the form says it. `id`: the submission."""

    entry: UpkeepEntry
    done_by: Person
    day: date
    readings: dict[str, Any]
    note: str = ""
    id: UUID = field(default_factory=uuid4)


@dataclass(frozen=True, slots=True)
class Logged:
    """What was recorded and what is out of limits."""

    entry: UpkeepEntry
    out: tuple[Verdict, ...]
    closed: int = 0


@transaction.atomic
def log_work(work: DoneTask, *, by: Person) -> Logged:
    """Record the entry, its follow-ups and its result together. A second arrival of the same submission changes nothing."""
    known = UpkeepEntry.objects.filter(pk=work.id).exists()
    asked = asked_at(work.site, work.unit, work.task, work.day)
    at_once, later = parted(asked, work)
    entry = log_entry(
        work.task, work.unit, work.done_by, site=work.site, by=by, day=work.day, at=work.at, stood_by=work.stood_by,
        readings=at_once, note=work.note, id=work.id, from_observation=work.from_observation,
    )  # fmt: skip
    logged = judge(entry, None, at_once, asked, by, known=known)
    if not known:
        keep_photo(entry, work.photo, by)
    if not later or work.read_on is None:
        return logged
    read = read_result(LaterReading(entry, work.done_by, work.read_on, later, id=uuid5(entry.pk, "result")), by=by)
    return Logged(entry, logged.out + read.out, logged.closed + read.closed)


def parted(asked: ReadingsAsked, work: DoneTask) -> tuple[dict[str, Any], dict[str, Any]]:
    """What was read on the day of the work, and what on the day of reading, where that is another."""
    if work.read_on is None or work.read_on == work.day:
        return work.readings, {}
    keys = {spec.key for spec in asked.specs if spec.later}
    readings = work.readings.items()
    return {k: v for k, v in readings if k not in keys}, {k: v for k, v in readings if k in keys}


@transaction.atomic
def read_result(result: LaterReading, *, by: Person) -> Logged:
    """Record what was read of an earlier sample; it is judged by the limits of the sample's day."""
    entry = result.entry
    known = ResultRead.objects.filter(pk=result.id).exists()
    asked = asked_at(entry.site, entry.equipment, entry.task, entry.happened_on)
    if not known:
        refuse_if(*result_refusals(result, {spec.key for spec in asked.specs if spec.later and not spec.optional}))
    row = record(
        ResultRead(
            id=result.id, site=entry.site, happened_on=result.day, entry=entry, done_by=result.done_by,
            readings=result.readings, note=result.note.strip(),
        ),
        by=by,
    )  # fmt: skip
    return judge(entry, row, result.readings, asked, by, known=known)


def result_refusals(result: LaterReading, later: set[str]) -> list[Refusal]:
    """`later`: what has to be read; what may be left out is no result by itself."""
    entry, today = result.entry, clock.today(result.entry.site.time_zone)
    checks = [
        (result.day < entry.happened_on, f"It was put in on {short_day(entry.happened_on)}.", "Choose that day or a later one.", "day"),
        (result.day > today, "The day of reading has not come.", "Record the result when it is read.", "day"),
        (not set(result.readings) & later, "Nothing was read.", "Enter what was read.", ""),
        (entry.result is not None, "Its result is recorded already.", "Take that back first, where it is wrong.", ""),
        (not UpkeepEntry.objects.live().filter(pk=entry.pk).exists(), "That entry was taken back.", "Read the one that stands.", ""),
    ]  # fmt: skip
    return [Refusal(says, supply, name) for wrong, says, supply, name in checks if wrong]


def judge(
    entry: UpkeepEntry,
    result: ResultRead | None,
    readings: dict[str, Any],
    asked: ReadingsAsked,
    by: Person,
    *,
    known: bool,
) -> Logged:
    """What is out of limits opens its follow-up and takes the unit out where it must; `closed`: how many are good again."""
    taken = [spec for spec in asked.specs if str(readings.get(spec.key) or "") != ""]
    verdicts = readings_verdict(taken, readings, asked.numbers, (result or entry).happened_on)
    out = tuple(verdict for verdict in verdicts if verdict.judged is Judged.OUT)
    if known:
        return Logged(entry, out)
    waiting = list(FollowUp.objects.standing().filter(entry__equipment=entry.equipment, entry__task=entry.task))
    for verdict in out:
        open_follow_up(entry, result, verdict, by)
    stop_where_it_must(entry, result or entry, out, by)
    return Logged(entry, out, newly_closed(waiting, result or entry))


def newly_closed(rows: Sequence[FollowUp], by_this: Fact) -> int:
    """How many of these were open until this fact was known."""
    before = {row.pk for row in with_closings(rows, by_this.recorded_at - timedelta(microseconds=1)) if row.closed_on}
    return sum(row.closed_on is not None and row.pk not in before for row in with_closings(rows))


def keep_photo(entry: UpkeepEntry, photo: bytes, by: Person) -> None:
    if photo:
        id = uuid5(entry.pk, "photo")
        record(EntryPhoto(id=id, site=entry.site, happened_on=entry.happened_on, entry=entry, picture=photo), by=by)


def open_follow_up(entry: UpkeepEntry, result: ResultRead | None, verdict: Verdict, by: Person) -> FollowUp:
    """Due on the day that the task gives for this reading; without one, on the day it was read."""
    known = result or entry
    row = FollowUp(
        id=uuid5(known.pk, verdict.key), site=entry.site, happened_on=known.happened_on, entry=entry, result=result,
        reading=verdict.key, what_to_do=verdict.what_to_do, due_on=verdict.follow_up_due or known.happened_on,
    )  # fmt: skip
    return record(row, by=by)


def stop_where_it_must(entry: UpkeepEntry, known: Fact, out: tuple[Verdict, ...], by: Person) -> None:
    unit = entry.equipment
    reasons = [STOPS[unit.kind, verdict.key] for verdict in out if (unit.kind, verdict.key) in STOPS]
    if reasons and not is_out_of_service(unit):
        stop_unit(unit, reasons[0], site=entry.site, by=by, id=uuid5(known.pk, "stop"))
