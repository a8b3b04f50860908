"""A job is started from its block and ended with how it came out. What the unit and its tools were used for follows."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any
from uuid import UUID, uuid4, uuid5

from django.db import transaction

from clinic import clock
from clinic.actions.upkeep import log_use, stop_of, unit_refusals
from clinic.models import BlockLot, Equipment, JobEnded, JobStarted, Person, SetLine, Site
from clinic.prepared import Instances
from clinic.reads.jobs import days_with_a_job, running_on
from clinic.reads.tools import ToolNow, makers_table, plain_tool, tools_in
from clinic.record import Refusal, holding, record, refuse_if, sealed_as
from clinic.rules import jobs as rules
from clinic.rules.jobs import JobOutcome
from clinic.rules.tools import Material, MillingWay, factor_warnings


@dataclass(frozen=True, slots=True)
class JobAsked:
    """A job as the form says it. Without a day, it is started today."""

    unit: Equipment
    lot: BlockLot
    case: str
    wet: bool
    factor: Decimal | None = None
    stood_by: Person | None = None
    day: date | None = None
    code: str = ""


@dataclass(frozen=True, slots=True)
class EndAsked:
    """An end as the form says it. `minutes`: as the unit counts them, where it does."""

    job: JobStarted
    outcome: JobOutcome
    cause: str = ""
    parts: int = 1
    minutes: int | None = None
    note: str = ""
    day: date | None = None


@transaction.atomic
def start_job(asked: JobAsked, *, site: Site, by: Person, id: UUID) -> tuple[JobStarted, list[str]]:
    """The job, and what only warns. Who may press start is computed afterwards, as for all work: it never blocks the record."""
    with holding(site):
        return started_now(asked, site, by, id)


def started_now(asked: JobAsked, site: Site, by: Person, id: UUID) -> tuple[JobStarted, list[str]]:
    """By what sits there and runs there now, while nobody records beside it."""
    known = JobStarted.objects.filter(pk=id).first() if sealed_as(id) else None
    day = known.happened_on if known else asked.day or clock.today(site.time_zone)
    here = tools_in(asked.unit, day)
    start = plain_start(asked, here, day)
    refuse_if(
        *unit_refusals(asked.unit, site, day),
        Refusal("Only a milling unit mills.", "Choose a milling unit.", "equipment") if asked.unit.kind != "milling unit" else None,
        Refusal("This lot is not of this site.", "Choose a lot of this site.", "lot") if asked.lot.site_id != site.pk else None,
        Refusal("Nobody stands by for their own work.", "Name somebody else, or nobody.", "stood_by") if asked.stood_by == by else None,
        *(Refusal(one.found, one.needed, one.field) for one in rules.in_the_way(start, makers_table(asked.unit, day))),
        sent=id,
    )  # fmt: skip
    row = JobStarted(
        id=id, site=site, happened_on=day, equipment=asked.unit, lot=asked.lot, case=asked.case, wet=asked.wet, factor=asked.factor,
        tools=known.tools if known else [str(one.mounting.pk) for one in here if one.mounting], done_by=by, stood_by=asked.stood_by,
        code=asked.code,
    )  # fmt: skip
    worn = [one.tool.code for one in here if one.share_left == 0]
    idle = rules.idle_days(days_with_a_job(asked.unit), day)
    odd = factor_warnings(asked.factor, asked.lot.factor) if asked.factor is not None else []
    return record(row, by=by), [*rules.warnings(start, worn, idle), *odd]


def plain_start(asked: JobAsked, here: list[ToolNow], day: date) -> rules.Start:
    """What stopped the unit, or runs there, only since a later day does not stand in the way of a job of that day."""
    running, pair = (
        running_on(asked.unit),
        (Material(asked.lot.material), MillingWay.WET if asked.wet else MillingWay.DRY),
    )
    there = running.case if running and running.happened_on <= day else ""
    return rules.Start(
        asked.case, pair, [plain_tool(one) for one in here], there, stopped_because(asked.unit, day),
        asked.lot.factor is not None, asked.factor is not None,
    )  # fmt: skip


def stopped_because(unit: Equipment, day: date) -> str:
    stop = stop_of(unit)
    return stop.reason if stop and stop.happened_on <= day else ""


@transaction.atomic
def end_job(asked: EndAsked, *, site: Site, by: Person, id: UUID) -> JobEnded:
    """How it came out. The first end counts the parts as use of the unit, and so of its tools and of its upkeep."""
    with holding(site):
        return ended_now(asked, site, by, id)


def ended_now(asked: EndAsked, site: Site, by: Person, id: UUID) -> JobEnded:
    job = asked.job
    known = JobEnded.objects.filter(pk=id).first() if sealed_as(id) else None
    day = known.happened_on if known else asked.day or clock.today(site.time_zone)
    earlier = next(iter(NEWEST_END.all(job=[job.pk])), None)
    before = JobOutcome(earlier.outcome) if earlier else None
    refuse_if(
        *unit_refusals(job.equipment, site, day),
        Refusal("The number must be at least one.", "Count the parts that were milled.", "parts") if asked.parts < 1 else None,
        *(Refusal(one.found, one.needed, one.field) for one in rules.end_in_the_way(asked.outcome, asked.cause, before, job.happened_on, day)),
        sent=id,
    )  # fmt: skip
    row = record(
        JobEnded(
            id=id, site=site, happened_on=day, job=job, outcome=asked.outcome.value, cause=asked.cause, parts=asked.parts,
            minutes=asked.minutes, note=asked.note.strip(), done_by=by,
        ),
        by=by,
    )  # fmt: skip
    if earlier is None and known is None:
        log_use(
            job.equipment, asked.parts, site=site, by=by, day=day, material=job.lot.material, wet=job.wet, id=use_id(row)
        )  # fmt: skip
    return row


NEWEST_END = Instances(
    JobEnded, lambda job: JobEnded.objects.live().filter(job__in=job).order_by("-recorded_at", "-pk")[:1]
)


def use_id(end: JobEnded) -> UUID:
    """The use that this end counted goes under this key."""
    return uuid5(end.pk, "use")


def want_in_set(unit: Equipment, day: date, *, by: Person, id: UUID | None = None, **said: Any) -> SetLine:
    """A line of the set for a material, from a day."""
    refuse_if(*unit_refusals(unit, unit.site, day), sent=id)
    return record(SetLine(id=id or uuid4(), site=unit.site, happened_on=day, equipment=unit, **said), by=by)
