"""When units were out of service: each stop with the return that ended it."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.db.models import BooleanField, Value

from clinic.models import Equipment, OutOfService, ReturnToService, Site
from clinic.prepared import Prepared
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
    """The same of several sites, in one query."""
    happened = STOPS_AND_RETURNS.rows(known_by, sites=[site.pk for site in sites])
    found: dict[UUID, list[Pause]] = defaultdict(list)
    for day, recorded, pk, unit, is_stop in sorted(happened):
        follow(found[unit], str(pk), day, recorded, is_stop=is_stop)
    return found


def stops_and_returns(sites: Any, known_by: datetime | None = None) -> Any:
    stops, returns = (
        model._default_manager.live(known_by)
        .filter(site__in=sites)
        .order_by()
        .values_list("happened_on", "recorded_at", "pk", "equipment_id", Value(is_stop, BooleanField()))
        for model, is_stop in ((OutOfService, True), (ReturnToService, False))
    )
    return stops.union(returns, all=True)


STOPS_AND_RETURNS = Prepared(stops_and_returns)


def follow(pauses: list[Pause], pk: str, day: date, recorded: datetime, *, is_stop: bool) -> None:
    """Begin a pause with a stop, end the running one with a return."""
    running = bool(pauses) and pauses[-1].after is None
    if is_stop and not running:
        pauses.append(Pause(id=pk, day=day, recorded_at=recorded, why=PauseReason.OUT_OF_SERVICE))
    elif running and not is_stop:
        pauses.append(replace(pauses.pop(), after=day))
