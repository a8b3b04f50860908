"""The observation that is likely to begin now: whom the day wants watched, in what, on which unit, and how."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from clinic.models import Equipment, EquipmentKind, Person, Site
from clinic.reads.stops import stops_of
from training.models import Version
from training.permissions import procedures_of
from training.reads import bench
from training.reads.today import work_of
from training.rules.facts import Method
from training.rules.wording import METHODS


@dataclass(frozen=True, slots=True)
class Likely:
    """A card that is filled in; whoever opens it still says whether it is practice or an assessment, by what they press."""

    person: Person
    version: Version
    unit: Equipment | None
    method: Method

    @property
    def how(self) -> str:
        return METHODS[self.method]


def likely(me: Person, site: Site, day: date, versions: Sequence[Version], chosen: dict[str, Any]) -> Likely | None:
    """`chosen`: person and procedures as the form begins with them. What is not chosen there is the day's most urgent."""
    codes = {row.pk: row for row in versions}
    asked = [codes[pk] for pk in chosen["procedures"]]
    people = {str(person.pk): person for person in bench.learners(me, site, day)}
    person, version = people.get(str(chosen.get("person", ""))), asked[0] if asked else None
    if person is None or version is None:
        person, version = most_urgent(me, site, day, people, versions, person, version)
    if person is None or version is None or len(asked) > 1:
        return None
    wants_unit = version.procedure.equipment_kind != EquipmentKind.SITE
    unit = unit_for(site, day, version, str(chosen.get("equipment") or "")) if wants_unit else None
    return Likely(person, version, unit, method_for(version))


def most_urgent(
    me: Person, site: Site, day: date, people: dict[str, Person], versions: Sequence[Version],
    person: Person | None, version: Version | None,
) -> tuple[Person | None, Version | None]:  # fmt: skip
    """Whom to watch first, of those that the address leaves open."""
    by_code = {row.procedure.code: row for row in versions}
    _, watch = work_of(me, site, day, procedures_of(me, site, day))
    for one in (each.who for each in watch):
        fits = person is None or one.person == str(person.pk)
        if fits and one.person in people and one.procedure in by_code and version in (None, by_code[one.procedure]):
            return people[one.person], by_code[one.procedure]
    return person, version


def unit_for(site: Site, day: date, version: Version, chosen: str) -> Equipment | None:
    """The chosen one where it is of the kind; otherwise the first that is running."""
    stopped = {key for key, stops in stops_of(site).items() if any(stop.holds_on(day) for stop in stops)}
    fits = [unit for unit in bench.units(site, day) if unit.kind == version.procedure.equipment_kind]
    named = [unit for unit in fits if str(unit.pk) == chosen]
    return next(iter([*named, *(unit for unit in fits if unit.pk not in stopped)]), None)


def method_for(version: Version) -> Method:
    """Real work where it counts, otherwise the first way that does."""
    counts = bench.counting_methods(version)
    return next((method for method in Method if method in counts), Method.REAL)
