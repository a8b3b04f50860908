"""Jumps of the clock that were recorded, and not answered yet."""

from clinic.models import Change, Site
from clinic.record import AHEAD, BACK, CLOCK


def jumps(site: Site) -> list[Change]:
    """In the order in which they were recorded. One query."""
    rows = Change.objects.filter(site=site, about=CLOCK).order_by("recorded_at")
    answered = {pk for row in rows for pk in row.after.get("answers", [])}
    return [row for row in rows if row.about_id in (AHEAD, BACK) and str(row.pk) not in answered]
