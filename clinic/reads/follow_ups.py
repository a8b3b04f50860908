"""Readings out of limits that no good reading has closed yet, and those that one has."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from datetime import datetime
from typing import Any

from django.db.models import QuerySet

from clinic.models import FollowUp, ResultRead, Site, UpkeepEntry
from clinic.prepared import Prepared
from clinic.rules.follow_ups import Good, Out, closed_on

Place = tuple[Any, Any]  # unit, task


def follow_ups(site: Site, known_by: datetime | None = None, places: Collection[Place] | None = None) -> list[FollowUp]:
    """All of the site that stand, oldest due day first, each with `closed_on` (None: open). Three queries. `places`: only
    those of these units and tasks."""
    return follow_ups_at([site], known_by, places)


def follow_ups_at(
    sites: Sequence[Site], known_by: datetime | None = None, places: Collection[Place] | None = None
) -> list[FollowUp]:
    """The same of several sites, in as many queries."""
    if known_by is None and not [*ANY.rows(sites=[site.pk for site in sites])]:
        return []
    rows = FollowUp.objects.standing(known_by).filter(site__in=sites).select_related("entry__equipment", "entry__task")
    if places is not None:
        rows = rows.filter(
            entry__equipment__in={unit for unit, _ in places}, entry__task__in={task for _, task in places}
        )
    return with_closings(list(rows.order_by("due_on", "recorded_at", "pk")), known_by)


ANY = Prepared(lambda sites: FollowUp.objects.standing().filter(site__in=sites).order_by().values_list("pk")[:1])


def with_closings(rows: Sequence[FollowUp], known_by: datetime | None = None) -> list[FollowUp]:
    goods = goods_for(rows, known_by)
    for row in rows:
        row.closed_on = closed_on(plain(row), goods.get(place_of(row), ()))
    return list(rows)


def place_of(row: FollowUp) -> Place:
    return row.entry.equipment_id, row.entry.task_id


def plain(row: FollowUp) -> Out:
    return Out(str(row.pk), place_of(row), row.reading, row.happened_on, row.recorded_at)


def goods_for(rows: Sequence[FollowUp], known_by: datetime | None) -> dict[Place, list[Good]]:
    """Every reading that was taken where one of these was out, and was not out itself."""
    found: dict[Place, list[Good]] = defaultdict(list)
    if not rows:
        return found
    bad = {(row.result_id or row.entry_id, row.reading) for row in rows}
    places, first = {place_of(row) for row in rows}, min(row.happened_on for row in rows)
    entries = UpkeepEntry.objects.live(known_by).filter(
        equipment__in={unit for unit, _ in places}, task__in={task for _, task in places}, happened_on__gte=first
    )
    taken = entries.values_list("pk", "equipment", "task", "happened_on", "happened_on", "recorded_at", "readings")
    for pk, unit, task, *when, readings in [*taken, *results_of(entries, known_by)]:
        keys = frozenset(key for key, value in readings.items() if value not in ("", None) and (pk, key) not in bad)
        found[unit, task].append(Good((unit, task), keys, *when))
    return found


def results_of(entries: QuerySet[UpkeepEntry], known_by: datetime | None) -> Iterable[Any]:
    """What was read later, as `goods_for` reads it: key, place, day of the sample, day of reading."""
    rows = ResultRead.objects.live(known_by).filter(entry__in=entries)
    names = ("entry__equipment", "entry__task", "entry__happened_on", "happened_on", "recorded_at", "readings")
    return rows.values_list("pk", *names)


def open_follow_ups(site: Site, known_by: datetime | None = None) -> list[FollowUp]:
    return open_follow_ups_at([site], known_by)


def open_follow_ups_at(sites: Sequence[Site], known_by: datetime | None = None) -> list[FollowUp]:
    return [row for row in follow_ups_at(sites, known_by) if row.closed_on is None]
