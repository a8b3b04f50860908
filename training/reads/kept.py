"""Papers that the register only points at, each with its last review done."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from clinic.models import KeptElsewhere, Site, UpkeepEntry
from clinic.rules.retention import yearly_due
from training.rules.reviews import last_review, paper_reviewed


@dataclass(frozen=True, slots=True)
class KeptPaper:
    """The newest line of a paper. `reviewed`: the last review done, noted on the line or logged as upkeep; None: none noted."""

    row: KeptElsewhere
    reviewed: date | None

    @property
    def review_by(self) -> date | None:
        return yearly_due(self.reviewed) if self.reviewed else None


def papers_kept(site: Site, day: date) -> list[KeptPaper]:
    """The newest line of each paper, by name; reviews through the day. Two queries."""
    rows = {row.what.casefold(): row for row in KeptElsewhere.objects.live().filter(site=site).in_order()}
    logged = reviews_logged(site, day)
    return [KeptPaper(row, last_review(what, row.last_review, logged)) for what, row in sorted(rows.items())]


def reviews_logged(site: Site, day: date) -> Mapping[str, date]:
    """The last day on which each review task of the site was done, by the name of its paper in small letters."""
    rows = UpkeepEntry.objects.live().filter(site=site, happened_on__lte=day, task__title__iendswith=" review")
    days = rows.order_by("happened_on").values_list("task__title", "happened_on")
    return {paper_reviewed(title): done for title, done in days}
