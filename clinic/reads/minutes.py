"""How many minutes jobs took, where the unit counts them."""

from datetime import date, datetime

from clinic.models import JobEnded, JobStarted, Site


def minutes_by_mounting(site: Site, known_by: datetime | None = None) -> dict[str, list[tuple[date, int]]]:
    """What ended jobs took, where the unit counts minutes, by each mounting that sat there then. Two queries."""
    found: dict[str, list[tuple[date, int]]] = {}
    rows = JobEnded.objects.live(known_by).filter(site=site, minutes__isnull=False)
    stands = JobStarted.objects.live(known_by).filter(site=site).values("pk")
    for tools, day, minutes in (
        rows.filter(job__in=stands).order_by("happened_on").values_list("job__tools", "happened_on", "minutes")
    ):
        for key in tools:
            found.setdefault(key, []).append((day, minutes or 0))
    return found
