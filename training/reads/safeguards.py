"""The last backup and the last restore drill of a site."""

from datetime import date

from clinic.models import Safeguard, Site
from training.rules.findings_safeguards import Kept


def last_safeguards(site: Site, day: date) -> dict[str, Safeguard]:
    """The newest of each kind by then. One query."""
    rows = Safeguard.objects.live().filter(site=site, happened_on__lte=day).select_related("done_by").in_order()
    return {row.kind: row for row in rows}


def kept(rows: dict[str, Safeguard]) -> dict[str, Kept]:
    return {kind: Kept(str(row.pk), row.happened_on, row.good) for kind, row in rows.items()}
