"""How many minutes jobs took, where the unit counts them."""

from datetime import date, datetime
from typing import Any

from clinic.models import JobEnded, JobStarted, Site
from clinic.prepared import Prepared


def minutes_by_mounting(site: Site, known_by: datetime | None = None) -> dict[str, list[tuple[date, int]]]:
    """What ended jobs took, where the unit counts minutes, by each mounting that sat there then. One query."""
    found: dict[str, list[tuple[date, int]]] = {}
    for tools, day, minutes in MINUTES.rows(known_by, site=[site.pk]):
        for key in tools:
            found.setdefault(key, []).append((day, minutes or 0))
    return found


def of_ended(site: Any, known_by: datetime | None = None) -> Any:
    rows = JobEnded.objects.live(known_by).filter(site__in=site, minutes__isnull=False)
    stands = JobStarted.objects.live(known_by).filter(site__in=site).values("pk")
    return rows.filter(job__in=stands).order_by("happened_on").values_list("job__tools", "happened_on", "minutes")


MINUTES = Prepared(of_ended)
