"""What the retention table offers to take away on a day. Nothing is changed here: `clinic.actions.purging` does that."""

from dataclasses import dataclass
from datetime import date

from clinic.models import EntryPhoto, Fact, Incident, LegalHold, Site
from clinic.rules.purging import INJURIES, PHOTOS, TABLE, RetentionLine, is_over


@dataclass(frozen=True, slots=True)
class PurgeLine:
    """A line of the table at a site: how many records it has, and whose period is over, each with what goes with it, in the
    order in which they can be taken away."""

    line: RetentionLine
    all: int
    over: tuple[Fact, ...]


def holds(site: Site) -> list[LegalHold]:
    return list(LegalHold.objects.live().filter(site=site).in_order())


def offered(site: Site, today: date, years: int = 0) -> list[PurgeLine]:
    """Every line of the table. Nothing is changed."""
    return [offer(line, site, today, years) for line in TABLE]


def offer(line: RetentionLine, site: Site, today: date, years: int = 0) -> PurgeLine:
    groups = groups_of(line, site)
    over = [group for group in groups if is_over(line, [fact.happened_on for fact in group], today, years)]
    return PurgeLine(line, sum(map(len, groups)), tuple(fact for group in over for fact in group))


def groups_of(line: RetentionLine, site: Site) -> list[list[Fact]]:
    """Records that go together: what names another goes before it."""
    if line.what == INJURIES:
        hurt = Incident.objects.filter(site=site, kind__in=[Incident.Kind.SHARPS, Incident.Kind.OTHER])
        return [[*row.reviews.all(), row] for row in hurt.prefetch_related("reviews").in_order()]
    if line.what == PHOTOS:
        return [[photo] for photo in EntryPhoto.objects.filter(site=site).defer("picture").in_order()]
    return []
