"""The coverage page as what its paper takes."""

from datetime import date

from clinic.models import Site
from clinic.rules.words import day_words, several
from training.documents.cover_sheet import CoverLine, CoverSheet
from training.reads.coverage import DutyCovered, SiteCoverage, site_coverage


def cover_sheet(site: Site, today: date) -> CoverSheet:
    page = site_coverage(site, today)
    return CoverSheet(
        paper=site.paper,
        language=site.language,
        site=site.name,
        days=f"working days from {day_words(page.first)} up to {day_words(page.after)}",
        sentence=first_sentence(page),
        lines=[line(duty) for duty in page.duties],
    )


def first_sentence(page: SiteCoverage) -> str:
    if not page.duties:
        return "No job role here needs a duty yet."
    short, every = len(page.short), several(len(page.duties), "duty", "duties")
    if not short:
        return "Every duty is covered for the coming ninety days."
    return f"Of {every}, {several(short, 'falls', 'fall')} below the least cover in the coming ninety days."


def line(duty: DutyCovered) -> CoverLine:
    """The first sentences of the duty on the page; no person is judged by it, and those whose lapse causes it are named."""
    says = [duty.short_says, duty.repair_says, duty.lapse_says] if duty.is_short else []
    covered = [] if duty.first_gap else ["Covered on every working day."]
    unsigned = duty.unsigned_says[:1]
    return CoverLine(str(duty.procedure), " ".join(filter(None, [*says, *covered, *unsigned])), duty.picture)
