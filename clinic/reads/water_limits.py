"""The makers' limits of water lines, each from its day."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from clinic.models import Equipment, Site, WaterLimit

FACT = "water limit"  # the site fact in whose place it stands in sentences


@dataclass(frozen=True, slots=True)
class WaterLimits:
    """A site's limits, oldest first. A sample keeps the limit of its day that was known when it was recorded."""

    rows: tuple[WaterLimit, ...]

    def on(self, unit: Equipment | None, day: date, known_by: datetime | None = None) -> WaterLimit | None:
        """The line's own before that of the unit it is part of, before the site's."""
        known = [
            row for row in self.rows if row.happened_on <= day and (known_by is None or row.recorded_at <= known_by)
        ]
        places: list[Any] = [unit.pk, unit.part_of_id] if unit else []
        levels = ([row for row in known if row.equipment_id == place] for place in [*filter(None, places), None])
        return next((rows[-1] for rows in levels if rows), None)

    def number(self, unit: Equipment | None, day: date, known_by: datetime | None = None) -> int | None:
        found = self.on(unit, day, known_by)
        return found.number if found else None


def limits_of(site: Site) -> WaterLimits:
    return WaterLimits(tuple(WaterLimit.objects.live().filter(site=site).in_order()))
