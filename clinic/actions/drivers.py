"""What is written about torque drivers, and their verification by readings."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import Any
from uuid import UUID, uuid4, uuid5

from django.db import transaction

from clinic.actions.readings import DoneTask, log_work
from clinic.actions.upkeep import is_out_of_service, stop_unit, unit_refusals
from clinic.models import DriverDetails, Equipment, Person, ReferenceDetails, Site, UpkeepTask, Verification
from clinic.reads.drivers import VerificationSaid, details_on, judged, points_of, reference_on
from clinic.record import Refusal, record, refuse_if
from clinic.rules.roles import TaskRole
from clinic.rules.torque import ROOM_SWAPPED, DriverClass, details_refusals, points_refusals, target_refusals


@dataclass(frozen=True, slots=True)
class Readings:
    """One verification as read: for each set torque the readings of the reference, as text."""

    driver: Equipment
    reference: Equipment
    day: date
    points: list[dict[str, Any]]
    room: tuple[str, str]
    note: str = ""


def write_driver(unit: Equipment, day: date, *, by: Person, id: UUID | None = None, **said: str) -> DriverDetails:
    """What a driver is, from a day."""
    refuse_if(
        Refusal("This is no torque driver.", "Choose a torque driver.") if unit.kind != "torque driver" else None,
        *unit_refusals(unit, unit.site, day),
        *(Refusal(says, field=name) for name, says in details_faults(said).items()),
        sent=id,
    )
    return record(DriverDetails(id=id or uuid4(), site=unit.site, happened_on=day, equipment=unit, **said), by=by)


def write_reference(unit: Equipment, day: date, *, by: Person, id: UUID | None = None, **said: Any) -> ReferenceDetails:
    refuse_if(
        Refusal("This is no reference for torque drivers.", "Choose a reference.")
        if unit.kind != "reference driver"
        else None,
        Refusal("The paper is dated after the last day through which it is good.", "Check both days.", "paper_day")
        if said.get("paper_day") and said["paper_day"] > said["good_through"]
        else None,
        *unit_refusals(unit, unit.site, day),
        sent=id,
    )
    return record(ReferenceDetails(id=id or uuid4(), site=unit.site, happened_on=day, equipment=unit, **said), by=by)


def details_faults(said: Mapping[str, str]) -> dict[str, str]:
    """A driver without the maker's target and its source is nothing that a check could pass (T-14)."""
    missing = target_refusals(said.get("set_torque"), said.get("target_source", ""))
    return (
        missing
        if "set_torque" in missing
        else missing | details_refusals(said["set_torque"], said["most_torque"], said.get("lowest_marked") or None)
    )


def verification_of(read: Readings, *, site: Site, by: Person, id: UUID | None = None) -> VerificationSaid:
    """The readings judged, nothing recorded. Refused are fewer than asked, and what no reading can be (T-07, T-08)."""
    details, reference = details_on(read.driver, read.day), reference_on(read.reference, read.day)
    refuse_if(
        *unit_refusals(read.driver, site, read.day),
        Refusal(
            "Nothing is written about this driver on that day.", "Enter its class, its torque and what it fits first."
        )
        if details is None
        else None,
        Refusal("The reference is not at this site.", "Choose a reference of this site.", "reference")
        if read.reference.site_id != site.pk
        else None,
        *(readings_refusals(details, read) if details else ()),
        sent=id,
    )
    row = Verification(
        id=id or uuid4(), site=site, happened_on=read.day, equipment=read.driver, reference=read.reference, done_by=by,
        points=read.points, room_lowest=read.room[0], room_highest=read.room[1], note=read.note,
    )  # fmt: skip
    assert details is not None  # refused above
    return judged(row, details, reference)


def readings_refusals(details: DriverDetails, read: Readings) -> list[Refusal]:
    faults = points_refusals(DriverClass(details.driver_class), points_of(read.points))
    lowest, highest = (Decimal(one) for one in read.room)
    swapped = [Refusal(ROOM_SWAPPED, field="room_highest")] if lowest > highest else []
    return [Refusal(says, "Nothing is recorded yet.") for says in faults] + swapped


@transaction.atomic
def verify_driver(read: Readings, *, site: Site, by: Person, id: UUID | None = None) -> VerificationSaid:
    """Record the readings. A pass logs the upkeep it is; a reading outside takes the driver out of use (T-08).

    Where only the room or the reference was not as it must be, the check does not count and nothing else changes (T-09).
    """
    said = verification_of(read, site=site, by=by, id=id)
    row = record(said.row, by=by)
    if said.passed:
        log_pass(said, site, by)
    elif said.outside and not is_out_of_service(read.driver):
        stop_unit(read.driver, "Its check failed. Do not use it.", site=site, by=by, id=uuid5(row.pk, "stop"))
    return replace(said, row=row)


def log_pass(said: VerificationSaid, site: Site, by: Person) -> None:
    """The upkeep entry that a passed verification is, where the site keeps that task."""
    task = UpkeepTask.objects.filter(stands_for=TaskRole.DRIVER_CHECK).first()
    if task is None:
        return
    row = said.row
    offs = [off for _, readings in said.points for _, off, _ in readings]
    worst = max(offs, key=lambda off: abs(float(off)))
    readings = {"deviation": worst, "room": row.room_highest, "reference": "yes"}
    known = {spec["key"] for spec in task.readings}
    taken = {key: value for key, value in readings.items() if key in known}
    log_work(DoneTask(task, row.equipment, site, by, row.happened_on, readings=taken, id=uuid5(row.pk, "entry")), by=by)
