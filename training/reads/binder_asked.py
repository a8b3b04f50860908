"""Which binder is asked for, and the facts that it turns out to rest on."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from clinic.models import Person, Site

By = dict[Any, list[Any]]


@dataclass(slots=True)
class Asked:
    """Which binder: a site, the days [first, last], the day its matrix shows, its form and paper."""

    site: Site
    first: date
    last: date
    as_of: date
    in_full: bool = True
    paper: str = "A4"
    facts: set[str] = field(default_factory=set)  # filled while gathering

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.site.time_zone)

    def local(self, instant: datetime) -> str:
        """Site time to the minute."""
        return instant.astimezone(self.zone).strftime("%Y-%m-%dT%H:%M")


def in_period(asked: Asked, rows: Any, people: Sequence[Person]) -> Any:
    """Facts about these people that stand, of the period, in order."""
    return rows.live().filter(person__in=people, happened_on__range=(asked.first, asked.last)).in_order()


def iso(day: date | None) -> str:
    """2026-12-02, or empty."""
    return day.isoformat() if day else ""
