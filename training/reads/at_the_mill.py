"""Who is at the mill today: everybody at work with what they may do there alone, and what each unit is at."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from clinic.models import Equipment, JobStarted, Person, Site
from clinic.reads.jobs import running_at
from clinic.reads.stops import stops_of
from clinic.rules.roles import ProcedureRole
from training.models import Procedure, StandingSpan
from training.reads.who_may import at_work, choices

AT_THE_MILL = ("milling unit", "coolant tank", "coolant filter", "suction unit")
"""Kinds of equipment whose procedures are done there."""


@dataclass(frozen=True, slots=True)
class PersonAtMill:
    """Somebody at work with what they may do alone at the mill. `mills`: may start a job alone."""

    person: Person
    mills: bool
    alone: Sequence[Procedure]


@dataclass(frozen=True, slots=True)
class UnitNow:
    """A milling unit with the job that runs there, and since when it is out of service."""

    unit: Equipment
    running: JobStarted | None
    stopped: date | None


@dataclass(frozen=True, slots=True)
class AtTheMill:
    people: Sequence[PersonAtMill]
    units: Sequence[UnitNow]

    @property
    def mill(self) -> list[PersonAtMill]:
        return [one for one in self.people if one.mills]

    @property
    def others(self) -> list[PersonAtMill]:
        return [one for one in self.people if not one.mills]


def at_the_mill(site: Site, on: date) -> AtTheMill:
    """A fixed number of queries, whatever the number of people and units."""
    there = {row.pk: row for row in choices(site, on) if row.equipment_kind in AT_THE_MILL}
    here = at_work(site, on)
    spans = StandingSpan.objects.on(on).usable().filter(person__in=here, procedure__in=there)
    held: dict[object, list[Procedure]] = {}
    for person, procedure in spans.values_list("person", "procedure"):
        held.setdefault(person, []).append(there[procedure])
    people = [at_work_with(person, held.get(person.pk, [])) for person in here]
    units = Equipment.objects.filter(site=site, kind="milling unit").in_service_on(on).order_by("label")
    running, stops = running_at(site), stops_of(site)
    return AtTheMill(people, [UnitNow(unit, running.get(unit.pk), stopped_since(stops, unit, on)) for unit in units])


def at_work_with(person: Person, held: list[Procedure]) -> PersonAtMill:
    mills = any(row.stands_for == ProcedureRole.MILLING for row in held)
    return PersonAtMill(person, mills, sorted(held, key=lambda row: row.code))


def stopped_since(stops: dict, unit: Equipment, on: date) -> date | None:  # type: ignore[type-arg]
    return next((stop.day for stop in stops.get(unit.pk, ()) if stop.holds_on(on)), None)
