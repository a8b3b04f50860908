"""The findings of a site's equipment on a day, computed straight from the facts and not read from what is stored."""

from datetime import date, datetime

from clinic.models import Site
from clinic.reads.findings import EQUIPMENT
from clinic.rules.findings import Finding, on_day


def equipment_findings(site: Site, today: date, known_by: datetime | None = None) -> list[Finding]:
    """All kinds, in no order. The number of queries does not depend on how much there is."""
    return on_day((one for gather in EQUIPMENT.values() for _, one in gather(site, None, known_by)), today)
