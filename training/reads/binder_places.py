"""Site facts for paper that speaks of a whole site: what every unit of a kind shares, and what each says where they differ."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import Any
from uuid import UUID

from clinic.models import Equipment, Site, SiteFact, SiteFactValue
from training.reads.bench import nearest
from training.rules.place import Answer, Answers

Rows = Mapping[str, list[SiteFactValue]]


def answers_by_kind(site: Site) -> Mapping[str, Answers]:
    """For each kind of equipment at the site, and under "" for the site itself. Three queries."""
    names, by_name = dict(SiteFact.objects.values_list("pk", "name")), defaultdict(list)
    for (fact, _), row in SiteFactValue.objects.latest_by_fact(site).items():
        by_name[names[fact]].append(row)
    units, parts = defaultdict(list), defaultdict(set)
    for unit in Equipment.objects.filter(site=site, in_service_to__isnull=True).order_by("label"):
        units[unit.kind].append(unit)
        parts[unit.part_of_id].add(unit.pk)
    everywhere = shared(by_name, [None], parts)
    return defaultdict(lambda: everywhere, {kind: shared(by_name, rows, parts) for kind, rows in units.items()})


def shared(by_name: Rows, units: Sequence[Equipment | None], parts: Mapping[Any, set[UUID]]) -> Answers:
    """What each fact says at these units; a fact that none of them has is left out."""
    found = {}
    for name, rows in by_name.items():
        said = [(unit, nearest(rows, unit, {unit.pk} | parts[unit.pk] if unit else set())) for unit in units]
        if known := [(unit, row) for unit, row in said if row]:
            found[name] = joined(known)
    return found


def joined(known: Sequence[tuple[Equipment | None, SiteFactValue]]) -> Answer:
    """One answer where all agree, or each with its unit. Not used here: only where no unit uses it."""
    if all(row.not_used for _, row in known):
        return Answer("", not_used=True)
    used = [(unit, row.value) for unit, row in known if not row.not_used]
    if len({value for _, value in used}) == 1:
        return Answer(used[0][1])
    return Answer(" or ".join(f"{value} ({unit})" for unit, value in used))
