"""Which bands a site judges its coolant by on a day."""

from dataclasses import dataclass
from datetime import date, datetime

from clinic.models import CoolantBands, Site
from clinic.rules.water import Edges, edges_on


@dataclass(frozen=True, slots=True)
class Bands:
    """A site's own bands, oldest first. A sample keeps the bands that were known when it was recorded (W-11)."""

    dated: tuple[tuple[date, datetime, Edges], ...]

    def on(self, day: date, known_by: datetime | None = None) -> Edges:
        known = [(first, edges) for first, made, edges in self.dated if known_by is None or made <= known_by]
        return edges_on(known, day)


def bands_of(site: Site) -> Bands:
    rows = CoolantBands.objects.live().filter(site=site).in_order()
    return Bands(
        tuple(
            (row.happened_on, row.recorded_at, Edges(row.edition, row.reasonable_from, row.poor_from)) for row in rows
        )
    )
