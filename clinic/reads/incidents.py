"""The log of events. Nobody is named: neither who was hurt, for whom there is no field, nor who filed it."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from django.db.models import Max

from clinic.models import Incident, IncidentReview, RoleHeld, Site
from clinic.prepared import Prepared
from clinic.rules.incident_path import Path, path_of
from clinic.rules.retention import peak_headcount, sharps_log_keep_through, size_words


@dataclass(frozen=True, slots=True)
class ReviewSaid:
    day: date
    looked_at: str
    changed: str
    causes: Sequence[str] = ()


@dataclass(frozen=True, slots=True)
class EventSaid:
    """One event as it is shown and printed. `number`: its place in the site's list of that year."""

    id: UUID
    number: str
    day: date
    kind: str
    contaminated: str
    item: str
    place: str
    how: str
    unit: str
    procedure_code: str
    referred: bool
    recorded_at: datetime
    path: Path
    reviews: Sequence[ReviewSaid]

    @property
    def keep_through(self) -> date:
        """How long its line of the log is kept (O-12)."""
        return sharps_log_keep_through(self.day)


def events_of(site: Site) -> list[EventSaid]:
    """Newest first; two queries."""
    rows = list(Incident.objects.live().filter(site=site).in_order().select_related("equipment"))
    reviews: dict[UUID, list[ReviewSaid]] = {row.pk: [] for row in rows}
    for review in IncidentReview.objects.live().filter(site=site).in_order():
        reviews.setdefault(review.incident_id, []).append(
            ReviewSaid(review.happened_on, review.looked_at, review.changed, review.causes)
        )
    numbered: dict[int, int] = {}
    found = []
    for row in rows:
        numbered[row.happened_on.year] = numbered.get(row.happened_on.year, 0) + 1
        found.append(event_said(row, f"{row.happened_on.year}-{numbered[row.happened_on.year]}", reviews[row.pk]))
    return found[::-1]


def event_said(row: Incident, number: str, reviews: Sequence[ReviewSaid]) -> EventSaid:
    return EventSaid(
        row.pk, number, row.happened_on, row.get_kind_display(), row.get_contaminated_display(), row.item, row.place, row.how,
        str(row.equipment or ""), row.procedure_code, row.referred, row.recorded_at, path_of(row.kind, row.contaminated), reviews,
    )  # fmt: skip


def sharps_log(site: Site) -> list[EventSaid]:
    """What belongs to the log of injuries by contaminated sharps (O-09), oldest first."""
    return [event for event in events_of(site)[::-1] if event.path.in_log]


def size_said(site: Site, today: date) -> str:
    """What the number of people of the year before says of the duty to keep the log. Two queries, of the whole practice."""
    held = RoleHeld.objects.filter(site__organisation=site.organisation_id)
    year, rows = today.year - 1, held.values_list("person", "from_day", "to_day", "person__last_day")
    stretches = [(who, first, min(filter(None, ends), default=None)) for who, first, *ends in rows]
    started = Site.objects.filter(organisation=site.organisation_id).aggregate(last=Max("register_start"))["last"]
    return size_words(peak_headcount(stretches, year), year, started)


def events_waiting(site: Site) -> int:
    """How many events nobody has looked into yet. One query."""
    return len([*WAITING.rows(site=[site.pk])])


WAITING = Prepared(
    lambda site: (
        Incident.objects.live()
        .filter(site__in=site)
        .exclude(pk__in=IncidentReview.objects.live().filter(site__in=site).values("incident"))
        .order_by()
        .values_list("pk")
    )
)
