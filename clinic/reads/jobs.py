"""Jobs as they stand: what runs now, what was milled from which lot with which tools, and how it came out."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from clinic.models import Equipment, FactQuerySet, JobEnded, JobStarted, Site, ToolMounted
from clinic.port import code_of
from clinic.prepared import Prepared
from clinic.reads.entries import covers_then, keys_among, named, work_of
from clinic.rules import jobs as rules
from clinic.rules.cover import EntryCover, EntryStanding
from clinic.rules.findings import EntryDone
from clinic.rules.jobs import Job, JobOutcome
from clinic.rules.roles import ProcedureRole

LOOK_BACK = timedelta(days=365)


@dataclass(frozen=True, slots=True)
class JobSaid:
    """A job with how it ended (None: it runs), in the order of its ends, and whether whoever started it might."""

    job: JobStarted
    ends: Sequence[JobEnded]
    tools: Sequence[str]
    cover: EntryCover

    @property
    def end(self) -> JobEnded | None:
        return self.ends[-1] if self.ends else None

    @property
    def is_finding(self) -> bool:
        return self.cover.standing is EntryStanding.NOBODY_USABLE


def jobs_of(site: Site, unit: Equipment | None = None) -> FactQuerySet:
    """Those that stand, newest first."""
    rows = JobStarted.objects.live().filter(site=site, **({"equipment": unit} if unit else {}))
    rows = rows.select_related("equipment", "lot", "done_by", "stood_by", "site")
    return rows.order_by("-happened_on", "-recorded_at", "pk")


def ends_of(jobs: Iterable[Any], known_by: datetime | None = None) -> dict[Any, list[JobEnded]]:
    found: dict[Any, list[JobEnded]] = {}
    rows = JobEnded.objects.live(known_by).filter(job__in=list(jobs)).select_related("done_by").in_order()
    for row in rows.order_by("recorded_at", "pk"):
        found.setdefault(row.job_id, []).append(row)
    return found


def tools_of(keys: Iterable[Any]) -> dict[str, str]:
    """The code of the tool by the key of its mounting, for those that stand."""
    rows = ToolMounted.objects.live().filter(pk__in=list(keys))
    return {str(pk): code for pk, code in rows.values_list("pk", "tool__code")}


def said(site: Site, rows: Iterable[JobStarted]) -> list[JobSaid]:
    """With a fixed number of further queries, however many jobs."""
    jobs = list(rows)
    ends, codes = ends_of(jobs), tools_of({key for row in jobs for key in row.tools})
    milling = code_of(site.organisation, ProcedureRole.MILLING) if jobs else ""
    covers = covers_then(site.organisation, [(row, milling) for row in jobs])
    return [
        JobSaid(row, ends.get(row.pk, []), [codes[key] for key in row.tools if key in codes], cover)
        for row, cover in zip(jobs, covers, strict=True)
    ]


def running_on(unit: Equipment) -> JobStarted | None:
    """What was started there last and is not ended."""
    open_ones = [pk for (pk,) in RUNNING.rows(unit=[unit.pk])]
    if not open_ones:
        return None
    return JobStarted.objects.select_related("lot", "done_by", "equipment", "site").get(pk=open_ones[-1])


def not_ended(unit: Any) -> Any:
    ended = JobEnded.objects.live().filter(job__equipment__in=unit).values("job")
    return JobStarted.objects.live().filter(equipment__in=unit).exclude(pk__in=ended).in_order().values_list("pk")


RUNNING = Prepared(not_ended)
LAST_JOB = Prepared(
    lambda unit: (
        JobStarted.objects.live().filter(equipment__in=unit).order_by("-happened_on").values_list("happened_on")[:1]
    )
)


def running_at(site: Site) -> dict[Any, JobStarted]:
    """The same for every unit of the site at once, by unit."""
    ended = JobEnded.objects.live().filter(site=site).values("job")
    rows = JobStarted.objects.live().filter(site=site).exclude(pk__in=ended).select_related("done_by")
    return {row.equipment_id: row for row in rows.in_order()}


def days_with_a_job(unit: Equipment) -> list[date]:
    """The last of them, newest first; empty before the first job."""
    return [day for (day,) in LAST_JOB.rows(unit=[unit.pk])]


def plain_jobs(site: Site, first: date, last: date, unit: Equipment | None = None) -> list[Job]:
    """Every job started on these days, as the rules read it; three queries."""
    where = {"equipment": unit} if unit else {}
    rows = list(jobs_of(site, unit).filter(happened_on__range=(first, last), **where))
    ends, codes = ends_of(rows), tools_of({key for row in rows for key in row.tools})
    return [plain(row, ends.get(row.pk, []), [codes[key] for key in row.tools if key in codes]) for row in rows]


def plain(row: JobStarted, ends: Sequence[JobEnded], tools: Sequence[str]) -> Job:
    last = ends[-1] if ends else None
    outcome, cause = (JobOutcome(last.outcome), last.cause) if last else (None, "")
    return Job(
        str(row.pk), row.happened_on, row.equipment.label, row.lot.lot, row.lot.material, tuple(tools), outcome, cause
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Counts:
    """What the jobs of a stretch of days come to."""

    first: date
    jobs: Sequence[Job]
    causes: Sequence[tuple[str, int, int]]
    units: Sequence[rules.Tally]
    lots: Sequence[rules.Tally]
    tools: Sequence[rules.Tally]

    @property
    def all(self) -> rules.Tally:
        return next(iter(rules.tallied(self.jobs, lambda job: ["all"])), rules.Tally("all", 0, 0, 0))

    @property
    def shown(self) -> list[tuple[str, Sequence[rules.Tally]]]:
        return [("By unit", self.units), ("By lot", self.lots), ("By tool that sat there", self.tools)]


def counts(site: Site, today: date, unit: Equipment | None = None) -> Counts:
    """Of the last 365 days."""
    first = today - LOOK_BACK
    found = plain_jobs(site, first, today, unit)
    tallies = [rules.tallied(found, names) for names in (rules.by_unit, rules.by_lot, rules.by_tool)]
    return Counts(first, found, rules.causes(found), *tallies)


def crashes_of(unit: Equipment) -> list[JobEnded]:
    """Every crash on the unit, newest first, for whoever is on duty there."""
    rows = JobEnded.objects.live().filter(job__equipment=unit, outcome=JobOutcome.CRASH)
    return list(rows.select_related("job__lot", "job__done_by").order_by("-happened_on", "-recorded_at"))


WORK = work_of(JobStarted)


def jobs_done(site: Site, among: Collection[str] | None = None, known_by: datetime | None = None) -> list[EntryDone]:
    """Every job that was started (`among` these, as known by an instant), with whether whoever did it might, for the
    findings."""
    rows = named(WORK.all(known_by, site=[site.pk], among=keys_among(among)))
    code = code_of(site.organisation, ProcedureRole.MILLING) if rows else ""
    covers = covers_then(site.organisation, [(row, code) for row in rows], known_by)
    return [
        EntryDone(str(row.pk), row.happened_on, f"Milling job, {row.equipment.label}", cover)
        for row, cover in zip(rows, covers, strict=True)
    ]
