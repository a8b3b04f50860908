"""Torque drivers: what their papers say, every verification judged, whether they may be used, and what they tightened."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from clinic.models import (
    DriverDetails,
    Equipment,
    JobStarted,
    ReferenceDetails,
    Site,
    ToolMounted,
    ToolRemoved,
    UpkeepEntry,
    Use,
    Verification,
)
from clinic.port import Watched, watched_tightening
from clinic.reads.stops import stops_of
from clinic.reads.upkeep import UnitTask, unit_tasks
from clinic.rules import torque
from clinic.rules.roles import TaskRole
from clinic.rules.torque_units import Exact, Unit, convert, rounded
from clinic.rules.upkeep_facts import UpkeepState
from clinic.rules.words import day_words, listed

GOOD = {UpkeepState.IN_TIME, UpkeepState.DUE}


@dataclass(frozen=True, slots=True)
class DriverNow:
    """A driver today. `refused`: why it may not be used, empty where it may."""

    unit: Equipment
    details: DriverDetails | None
    refused: str
    good_through: date | None

    @property
    def seat(self) -> str:
        return self.details.seat if self.details else ""


def drivers_now(site: Site, today: date) -> list[DriverNow]:
    """Every torque driver in service at the site; a fixed number of queries."""
    units = list(Equipment.objects.filter(site=site, kind="torque driver").in_service_on(today))
    details = {
        row.equipment_id: row
        for row in DriverDetails.objects.live().filter(site=site, happened_on__lte=today).in_order()
    }
    stopped = {key for key, stops in stops_of(site).items() if any(stop.holds_on(today) for stop in stops)}
    checks: dict[Any, list[UnitTask]] = {unit.pk: [] for unit in units}
    for one in unit_tasks(site, units, since=today):
        checks[one.unit.pk].append(one)
    return [driver_now(unit, details.get(unit.pk), unit.pk in stopped, checks[unit.pk], today) for unit in units]


def driver_now(
    unit: Equipment, details: DriverDetails | None, stopped: bool, checks: Sequence[UnitTask], today: date
) -> DriverNow:
    spans = [span for one in checks for span in one.spans if span.holds_on(today)]
    through = min((day for span in spans if (day := span.last_good)), default=None)
    return DriverNow(unit, details, why_not(unit, details, stopped, [span.state for span in spans], through), through)


def why_not(
    unit: Equipment, details: DriverDetails | None, stopped: bool, states: Sequence[UpkeepState], through: date | None
) -> str:
    if stopped:
        return f"{unit} is out of service."
    if details is None:
        return f"Nothing is written about {unit}: its class, its torque and what it fits."
    if any(state not in GOOD for state in states):
        return (
            f"The check of {unit} was good through {day_words(through)}."
            if through
            else f"The check of {unit} is overdue."
        )
    return ""


@dataclass(frozen=True, slots=True)
class VerificationSaid:
    """One verification with each reading and its deviation in percent, and every reason why it does not pass."""

    row: Verification
    passed: bool
    limit: str
    points: Sequence[tuple[str, Sequence[tuple[str, str, bool]]]]
    reasons: Sequence[str]
    outside: bool = False  # some reading is beyond the limit: the driver itself is at fault
    reference: ReferenceDetails | None = None  # what was written of the reference by that day


def judged(row: Verification, details: DriverDetails, reference: ReferenceDetails | None) -> VerificationSaid:
    """By the rules of the torque module. Without the reference's papers it does not pass."""
    points = points_of(row.points)
    limit = limit_of(details)
    known = (
        torque.Reference(Decimal(reference.percent), reference.good_through)
        if reference
        else torque.Reference(Decimal(100), date.min)
    )
    room = torque.Room(Decimal(row.room_lowest), Decimal(row.room_highest))
    found = torque.verify(torque.DriverClass(details.driver_class), points, limit, row.happened_on, known, room)
    shown = [
        (
            str(point.set_value),
            [
                (str(reading), f"{rounded(off, 3):+}", abs(off) <= limit)
                for reading, off in zip(point.readings, offs, strict=True)
            ],
        )
        for point, offs in zip(points, found.deviations, strict=True)
    ]
    reasons = found.reasons if reference else (f"Nothing is written about {row.reference}.",)
    return VerificationSaid(row, found.passed, f"{rounded(limit, 2)}", shown, reasons, found.outside, reference)


def points_of(said: Sequence[dict[str, Any]]) -> list[torque.TorquePoint]:
    """The readings of a verification as the rules take them. Each is a number: `as_decimal` of the form saw to it."""
    return [torque.TorquePoint(Decimal(p["set"]), tuple(Decimal(reading) for reading in p["readings"])) for p in said]


def limit_of(details: DriverDetails) -> Any:
    """The largest deviation allowed, in percent (T-02, T-03)."""
    most: Exact = convert(details.most_torque, Unit(details.torque_unit), Unit.NEWTON_METRE)
    return torque.permissible_percent(torque.DriverClass(details.driver_class), most, details.declared_percent or None)


def details_on(unit: Equipment, day: date) -> DriverDetails | None:
    return DriverDetails.objects.live().filter(equipment=unit, happened_on__lte=day).in_order().last()


def reference_on(unit: Equipment, day: date) -> ReferenceDetails | None:
    return ReferenceDetails.objects.live().filter(equipment=unit, happened_on__lte=day).in_order().last()


def verifications_of(unit: Equipment) -> list[VerificationSaid]:
    """Newest first, each judged by the papers of its day; those of a day without papers are left to the list of facts."""
    rows = Verification.objects.live().filter(equipment=unit).select_related("reference", "done_by").in_order()
    papers = list(DriverDetails.objects.live().filter(equipment=unit).in_order())
    references = list(ReferenceDetails.objects.live().filter(site=unit.site_id).in_order())
    found = []
    for row in rows:
        own = newest([paper for paper in papers if paper.happened_on <= row.happened_on])
        against = newest(
            [
                paper
                for paper in references
                if paper.happened_on <= row.happened_on and paper.equipment_id == row.reference_id
            ]
        )
        if own:
            found.append(judged(row, own, against))
    return found[::-1]


def newest(rows: Sequence[Any]) -> Any:
    return rows[-1] if rows else None


@dataclass(frozen=True, slots=True)
class TightenedTool:
    """A tool that a driver tightened, through when it sat there, and how many parts its unit milled meanwhile. `jobs`: those
    that were started while it sat there; `watched`: whoever was watched tightening at that unit that day, and did this."""

    mounted: ToolMounted
    through: date | None
    parts: int
    jobs: Sequence[JobStarted] = ()
    watched: Sequence[Watched] = ()

    @property
    def cases(self) -> str:
        return listed([row.case for row in self.jobs])


def jobs_since(unit: Equipment, last_pass: date | None, until: date = date.max) -> list[TightenedTool]:
    """What the driver tightened since its last pass, oldest first: the jobs in doubt when it fails. Five queries."""
    found = ToolMounted.objects.live().filter(driver=unit, happened_on__lte=until)
    found = found.select_related("tool", "equipment", "done_by").in_order()
    rows = list(found.filter(happened_on__gte=last_pass) if last_pass else found)
    if not rows:
        return []
    ends = dict(ToolRemoved.objects.live().filter(mounting__in=rows).values_list("mounting", "happened_on"))
    uses = Use.objects.live().filter(equipment__in={row.equipment_id for row in rows})
    milled = list(uses.values_list("equipment", "happened_on", "units"))
    jobs = JobStarted.objects.live().filter(
        equipment__in={row.equipment_id for row in rows}, happened_on__gte=rows[0].happened_on
    )
    started = list(jobs.in_order())
    watched = watched_tightening(unit.site, rows[0].happened_on, rows[-1].happened_on)
    return [
        TightenedTool(
            row,
            ends.get(row.pk),
            parts_during(row, ends.get(row.pk, date.max), milled),
            [job for job in started if str(row.pk) in job.tools],
            [
                one
                for one in watched
                if (one.person, one.unit, one.day) == (row.done_by_id, row.equipment_id, row.happened_on)
            ],
        )
        for row in rows
    ]


def parts_during(row: ToolMounted, last: date, milled: Sequence[tuple[Any, date, int]]) -> int:
    return sum(units for unit, day, units in milled if unit == row.equipment_id and row.happened_on <= day <= last)


def last_pass_of(unit: Equipment, history: Sequence[VerificationSaid]) -> date | None:
    """The newest day on which it passed."""
    return max(passes_of(unit, history), default=None)


def passes_of(unit: Equipment, history: Sequence[VerificationSaid]) -> list[date]:
    """Every day on which it passed: by readings here, or by an entry of its check that was within limits."""
    checks = UpkeepEntry.objects.live().filter(
        equipment=unit, task__stands_for=TaskRole.DRIVER_CHECK, follow_ups__isnull=True
    )
    return [*checks.values_list("happened_on", flat=True), *(one.row.happened_on for one in history if one.passed)]


@dataclass(frozen=True, slots=True)
class InDoubt:
    """What a driver tightened between its last pass and a check that it failed by its readings."""

    failed: VerificationSaid
    since: date | None
    tools: Sequence[TightenedTool]


def in_doubt(unit: Equipment, history: Sequence[VerificationSaid], first: date, last: date) -> list[InDoubt]:
    """For each check of the period that failed, oldest first. A pass of the same day counts only before it. `history`: its
    verifications, newest first."""
    failed = [one for one in history[::-1] if one.outside and first <= one.row.happened_on <= last]
    passes = passes_of(unit, history) if failed else []
    found = []
    for one in failed:
        since = max((day for day in passes if day < one.row.happened_on), default=None)
        found.append(InDoubt(one, since, jobs_since(unit, since, one.row.happened_on)))
    return found
