"""Site facts for paper that speaks of a whole site: what every unit of a kind shares, and what each says where they differ."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import Any
from uuid import UUID

from clinic.models import Equipment, Site
from clinic.reads.site_answers import Stored, nearest, stored_answers
from training.rules.place import Answers, told_apart

Rows = Mapping[str, list[Stored]]


def answers_by_kind(site: Site) -> Mapping[str, Answers]:
    """For each kind of equipment at the site, and under "" for the site itself. Two queries."""
    by_name = stored_answers(site)
    units = {row.pk: row for row in Equipment.objects.filter(site=site, in_service_to__isnull=True).order_by("label")}
    kinds: dict[str, list[Equipment | None]] = defaultdict(list)
    for unit in units.values():
        kinds[unit.kind].append(unit)
    everywhere = shared(by_name, [None], units)
    return defaultdict(lambda: everywhere, {kind: shared(by_name, rows, units) for kind, rows in kinds.items()})


def shared(by_name: Rows, places: Sequence[Equipment | None], units: Mapping[Any, Equipment]) -> Answers:
    """What each fact says at these places; of one that none of them has, what it says wherever it was answered."""
    found, near = {}, [(unit, family(unit, units)) for unit in places]
    for name, rows in by_name.items():
        said = [(unit, nearest(rows, unit, others)) for unit, others in near]
        known = [(unit, row) for unit, row in said if row]
        said_by = known or [(units.get(row.unit), row) for row in rows]
        found[name] = told_apart([(str(unit), row.answer) for unit, row in said_by])
    return found


def family(unit: Equipment | None, units: Mapping[Any, Equipment]) -> set[UUID]:
    """The unit, what it is a part of, and its parts."""
    if unit is None:
        return set()
    return {unit.pk, *(row.pk for row in units.values() if row.part_of_id == unit.pk or row.pk == unit.part_of_id)}
