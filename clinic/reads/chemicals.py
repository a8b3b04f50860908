"""The list of chemicals on any day, what left it, and which hazard classes came new."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from clinic.models import ChemicalGone, ChemicalListed, Site
from clinic.prepared import Instances, Prepared
from clinic.rules.chemicals import ListedProduct, NewHazard, new_hazards


@dataclass(frozen=True, slots=True)
class ChemicalSaid:
    """One row of the list with the first day it was not here any more (None: it is here)."""

    row: ChemicalListed
    after: date | None

    @property
    def plain(self) -> ListedProduct:
        row = self.row
        return ListedProduct(str(row.pk), row.happened_on, row.product, tuple(row.hazard_classes), self.after)


def chemicals_of(site: Site, known_by: datetime | None = None) -> list[ChemicalSaid]:
    """Everything that was ever on the list, by product, newest first; as known by an instant. Two queries."""
    gone: dict[object, date] = {}
    for pk, day in GONE.rows(known_by, site=[site.pk]):
        gone[pk] = min(day, gone.get(pk, day))
    return [ChemicalSaid(row, gone.get(row.pk)) for row in LISTED.rows(known_by, site=[site.pk])]


GONE = Prepared(
    lambda site, known_by=None: (
        ChemicalGone.objects.live(known_by).filter(site__in=site).values_list("listed", "happened_on")
    )
)
LISTED = Instances(
    ChemicalListed,
    lambda site, known_by=None: (
        ChemicalListed.objects.live(known_by)
        .filter(site__in=site)
        .order_by("product", "-happened_on", "-recorded_at", "pk")
    ),
)


def here_on(rows: Sequence[ChemicalSaid], day: date) -> list[ChemicalSaid]:
    return [one for one in rows if one.plain.is_here_on(day)]


def new_hazards_of(site: Site, today: date | None = None, known_by: datetime | None = None) -> list[NewHazard]:
    """What came new after the register started, up to today where it is given, as known by an instant."""
    rows = sorted(chemicals_of(site, known_by), key=lambda one: (one.row.happened_on, one.row.recorded_at))
    found = new_hazards([one.plain for one in rows], site.register_start)
    return [one for one in found if today is None or one.since <= today]
