"""The last backup and the last restore drill of a site, and all of them as plain data for the findings."""

from collections import defaultdict
from datetime import date, datetime

from clinic.models import Safeguard, Site
from training.rules.findings_safeguards import DrillDone


def last_safeguards(site: Site, day: date) -> dict[str, Safeguard]:
    """The newest of each kind by then. One query a kind, which reads one row."""
    here = Safeguard.objects.live().filter(site=site, happened_on__lte=day).select_related("done_by").in_order()
    newest = (here.filter(kind=kind.value).last() for kind in Safeguard.Kind)
    return {row.kind: row for row in newest if row}


def kept(site: Site, known_by: datetime | None = None) -> dict[str, list[DrillDone]]:
    """Every one by kind, in order. One query."""
    found: dict[str, list[DrillDone]] = defaultdict(list)
    rows = Safeguard.objects.live(known_by).filter(site=site).in_order()
    for kind, pk, day, good in rows.values_list("kind", "pk", "happened_on", "good"):
        found[kind].append(DrillDone(str(pk), day, good))
    return found
