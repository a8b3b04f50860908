"""Upkeep is logged, units are used, stopped and returned. What was physically done is always recorded."""

from datetime import date, time
from typing import Any
from uuid import UUID, uuid4

from clinic import clock
from clinic.models import (
    Closure,
    Equipment,
    OpeningReading,
    OutOfService,
    Person,
    ReturnToService,
    Site,
    TaskSetting,
    UpkeepEntry,
    UpkeepTask,
    Use,
)
from clinic.port import returned_by, usable_people
from clinic.prepared import Instances
from clinic.reads.spores import status_of
from clinic.record import Refusal, record, refuse_if
from clinic.rules.silenced import asks_reason
from clinic.rules.spores import what_to_do
from clinic.rules.words import short_day

MOST_UNITS = 100_000  # more than any unit makes between two entries: a slip of the finger


def unit_refusals(unit: Equipment, site: Site, day: date) -> list[Refusal]:
    """Reasons that hold for anything logged about a unit."""
    checks = [
        (unit.site_id != site.pk, "This unit is not at this site.", "Choose a unit of this site.", "equipment"),
        (day < unit.in_service_from, f"{unit} was not in service yet.", f"Choose {short_day(unit.in_service_from)} or later.", "day"),
        (unit.in_service_to is not None and day > unit.in_service_to, f"{unit} is no longer in service.", "Choose its successor.", "equipment"),
        (day > clock.today(site.time_zone), "The day is in the future.", "Log it when it is done.", "day"),
    ]  # fmt: skip
    return [Refusal(says, supply, name) for wrong, says, supply, name in checks if wrong]


def log_entry(
    task: UpkeepTask, unit: Equipment, done_by: Person, *, site: Site, by: Person, day: date, at: time | None = None,
    stood_by: Person | None = None, readings: dict[str, Any] | None = None, note: str = "", id: UUID | None = None,
    from_observation: UUID | None = None, corrects: UUID | None = None, reason: str = "",
) -> UpkeepEntry:  # fmt: skip
    """Record one time the task was done. Whether it was held, stood by or neither is computed, never a reason to refuse."""
    refuse_if(
        *unit_refusals(unit, site, day),
        Refusal("This task is not for this kind of unit.", "Choose a task of the unit.", "task")
        if task.equipment_kind != unit.kind
        else None,
        Refusal("Nobody stands by for their own work.", "Name somebody else, or nobody.", "stood_by")
        if stood_by == done_by
        else None,
        sent=id,
    )
    return record(
        UpkeepEntry(
            id=id or uuid4(), site=site, happened_on=day, happened_at=at, task=task, equipment=unit, done_by=done_by,
            stood_by=stood_by, readings=readings or {}, note=note.strip(), from_observation=from_observation,
            corrects=corrects, reason=reason,
        ),
        by=by,
    )  # fmt: skip


def log_use(
    unit: Equipment,
    units: int,
    *,
    site: Site,
    by: Person,
    day: date,
    material: str = "",
    wet: bool | None = None,
    id: UUID | None = None,
) -> Use:
    """Record what a unit was used for."""
    refuse_if(
        *unit_refusals(unit, site, day),
        Refusal("The number must be at least one.", "Count the parts that were made.", "units") if units < 1 else None,
        Refusal(f"{units} in one go cannot be right.", f"Enter at most {MOST_UNITS:,}.", "units")
        if units > MOST_UNITS
        else None,
        sent=id,
    )
    return record(
        Use(id=id or uuid4(), site=site, happened_on=day, equipment=unit, units=units, material=material, wet=wet),
        by=by,
    )


def is_out_of_service(unit: Equipment) -> bool:
    return stop_of(unit) is not None


def stop_of(unit: Equipment) -> OutOfService | None:
    """The unit's newest stop, where no return came after it."""
    stop = next(iter(NEWEST_STOP.all(unit=[unit.pk])), None)
    back = next(iter(NEWEST_RETURN.all(unit=[unit.pk])), None) if stop else None
    return stop if stop and (back is None or back.recorded_at < stop.recorded_at) else None


def newest_of(model: Any) -> Instances:
    return Instances(model, lambda unit: model.objects.live().filter(equipment__in=unit).in_order().reverse()[:1])


NEWEST_STOP, NEWEST_RETURN = newest_of(OutOfService), newest_of(ReturnToService)


def stop_unit(unit: Equipment, reason: str, *, site: Site, by: Person, id: UUID | None = None) -> OutOfService:
    """From now on nobody uses the unit. Anybody on duty, one tap, with a reason. A second arrival finds the first."""
    earlier = OutOfService.objects.filter(pk=id, equipment=unit, reason=reason.strip()).first() if id else None
    if earlier is not None:
        return earlier
    refuse_if(
        Refusal("This unit is not at this site.", "Choose a unit of this site.", "equipment")
        if unit.site_id != site.pk
        else None,
        Refusal("Say why, in a word or two.", "Tap one of the stop rules, or write it.", "reason")
        if not reason.strip()
        else None,
    )
    return record(
        OutOfService(
            id=id or uuid4(), site=site, happened_on=clock.today(site.time_zone), happened_at=clock.time_of_day(site.time_zone),
            equipment=unit, reason=reason.strip(),
        ),
        by=by,
    )  # fmt: skip


def return_unit(unit: Equipment, check_done: str, *, site: Site, by: Person, id: UUID | None = None) -> ReturnToService:
    """Only somebody usable for the procedure that covers the unit's kind returns it, after the check that it names."""
    earlier = (
        ReturnToService.objects.filter(pk=id, equipment=unit, check_done=check_done.strip()).first() if id else None
    )
    if earlier is not None:
        return earlier
    today, code = clock.today(site.time_zone), returned_by(site.organisation, unit.kind)
    usable = not code or by.pk in usable_people(site.organisation, code, today)
    refuse_if(
        Refusal(f"Only somebody who may do {code} alone returns this unit.", f"Ask a colleague who holds {code} today.")
        if not usable
        else None,
        *spore_refusals(unit, today),
        Refusal("It is not out of service.", "Nothing to do.") if not is_out_of_service(unit) else None,
        Refusal("Say what was checked.", "Name the check that its procedure asks for.", "check_done")
        if not check_done.strip()
        else None,
    )
    return record(
        ReturnToService(
            id=id or uuid4(), site=site, happened_on=today, happened_at=clock.time_of_day(site.time_zone), equipment=unit,
            check_done=check_done.strip(),
        ),
        by=by,
    )  # fmt: skip


def spore_refusals(unit: Equipment, today: date) -> list[Refusal]:
    """A steriliser runs loads for patients again only once its spore tests say so (W-18)."""
    status = status_of(unit, today) if unit.kind == "steriliser" else None
    if status is None or status.state.is_usable:
        return []
    return [Refusal(f"Its spore tests say: {status.state}.", " ".join(what_to_do(status)))]


def opening_reading(
    unit: Equipment, task: UpkeepTask, last_done: date, *, by: Person | None, units: int = 0, id: UUID | None = None
) -> OpeningReading:
    """Where a task stood when the register took the unit over."""
    refuse_if(
        Refusal("This task is not for this kind of unit.", "Choose a task of the unit.", "task")
        if task.equipment_kind != unit.kind
        else None,
        Refusal("The day is in the future.", "Give the day it was last done.", "last_done")
        if last_done > clock.today(unit.site.time_zone)
        else None,
        sent=id,
    )
    return record(
        OpeningReading(
            id=id or uuid4(), site=unit.site, happened_on=max(unit.in_service_from, unit.site.register_start), equipment=unit,
            task=task, last_done=last_done, units=units,
        ),
        by=by,
    )  # fmt: skip


def set_interval(
    task: UpkeepTask, site: Site, from_day: date, *, by: Person, source: str, every_days: int | None, every_units: int | None,
    warn_days: int = 0, plan_units: int | None = None, id: UUID | None = None,
) -> TaskSetting:  # fmt: skip
    """The site's own interval, with its source. The maker's interval wins over every default."""
    refuse_if(
        Refusal("Say where the interval comes from.", "Name the maker’s instructions, title and page.", "source")
        if not source.strip()
        else None,
        Refusal("Neither days nor units are given.", "Give at least one.", "every_days")
        if not (every_days or every_units)
        else None,
        sent=id,
    )
    return record(
        TaskSetting(
            id=id or uuid4(), site=site, happened_on=from_day, task=task, every_days=every_days, every_units=every_units,
            warn_days=warn_days, plan_units=plan_units, source=source.strip(),
        ),
        by=by,
    )  # fmt: skip


def close_site(
    site: Site, first: date, after: date, *, by: Person, reason: str = "", id: UUID | None = None
) -> Closure:
    """Days on which the practice is closed; upkeep clocks stand still."""
    earlier = Closure.objects.filter(pk=id).exists() if id else False
    silent = not earlier and not reason.strip() and asks_reason(first, after, clock.today(site.time_zone))
    refuse_if(
        Refusal("The closure ends before it starts.", "Choose a later day.", "last") if after <= first else None,
        Refusal("It is long, or reaches back.", "Say why.", "reason") if silent else None,
    )
    return record(
        Closure(id=id or uuid4(), site=site, happened_on=first, first=first, after=after, reason=reason), by=by
    )
