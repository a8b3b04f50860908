"""When units were out of service: each stop with the return that ended it."""

from collections import defaultdict
from collections.abc import Sequence
from datetime import date, datetime
from typing import Any
from uuid import UUID

from clinic.models import Equipment, OutOfService, ReturnToService, Site
from clinic.rules.upkeep_facts import Pause, PauseReason
from clinic.rules.words import day_words


def stops_of(site: Site, known_by: datetime | None = None) -> dict[UUID, list[Pause]]:
    """By unit, in order. A stop while the unit is stopped already changes nothing; the day of a return counts again.

    Both are recorded when they happen, so the instant of recording orders those of one day: the time on the wall runs
    through one hour twice when the clocks go back.
    """
    return stops_at([site], known_by)


def why_stopped(unit: Equipment, day: date) -> str:
    """Since when it is out of service and why, in a sentence; empty where it is in service."""
    stop = next((each for each in stops_of(unit.site)[unit.pk] if each.holds_on(day)), None)
    if stop is None:
        return ""
    reason = OutOfService.objects.get(pk=stop.id).reason
    return f"{unit.label} is out of service since {day_words(stop.day)}: {reason}"


def stops_at(sites: Sequence[Site], known_by: datetime | None = None) -> dict[UUID, list[Pause]]:
    """The same of several sites, in two queries."""
    stops = OutOfService.objects.live(known_by).filter(site__in=sites).in_order()
    returns = ReturnToService.objects.live(known_by).filter(site__in=sites).in_order()
    happened: list[Any] = [*stops, *returns]
    happened.sort(key=lambda row: (row.happened_on, row.recorded_at))
    found: dict[UUID, list[Pause]] = defaultdict(list)
    for row in happened:
        follow(found[row.equipment_id], row)
    return found


def follow(pauses: list[Pause], row: OutOfService | ReturnToService) -> None:
    """Begin a pause with a stop, end the running one with a return."""
    running = bool(pauses) and pauses[-1].after is None
    if isinstance(row, OutOfService) and not running:
        pauses.append(
            Pause(id=str(row.pk), day=row.happened_on, recorded_at=row.recorded_at, why=PauseReason.OUT_OF_SERVICE)
        )
    elif isinstance(row, ReturnToService) and running:
        stop = pauses.pop()
        pauses.append(
            Pause(id=stop.id, day=stop.day, recorded_at=stop.recorded_at, why=stop.why, after=row.happened_on)
        )
