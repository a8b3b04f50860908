"""A binder in two passes: the first counts the pages, the second draws them."""

from collections.abc import Callable
from dataclasses import dataclass
from io import BytesIO
from typing import Any, BinaryIO

from training.documents.paper import clean, finish, new_canvas, said, short

from . import matrix, people, procedures, summary, tables, taught
from .content import BinderContent
from .sheet import NO_LIMIT, Blank, Sheet

SHORT_PAGES = 12
Progress = Callable[[int, int, str], None]


@dataclass(frozen=True, slots=True)
class Section:
    """One part of the binder. `short`: how many pages the short form gives it; 0 leaves it out."""

    key: str
    title: str
    draw: Callable[[Sheet, BinderContent], None]
    short: int = 0


def draw_contents(sheet: Sheet, content: BinderContent) -> None:
    """Titles with the pages found by the pass before."""
    sheet.part("contents", "Contents")
    shown = [section for section in sections(content) if section.key not in ("summary", "contents")]
    rows = [(section.title, str(sheet.known.get(section.key, ""))) for section in shown]
    sheet.table((("Part", 150), ("Page", 20)), rows)


SECTIONS = (
    Section("summary", "Summary", summary.draw, 2),
    Section("contents", "Contents", draw_contents, 1),
    Section("scope", "Scope", tables.draw_scope),
    Section("roster", "Roster", people.draw_roster),
    Section("matrix", "Who may do what", matrix.draw, 3),
    Section("people", "A record per person", people.draw),
    Section("taught", "Topics taught", taught.draw, 1),
    Section("procedures", "Procedures in force", procedures.draw),
    Section("authority", "Authority, and who signed whom", tables.draw_authority, 1),
    Section("upkeep", "Upkeep", tables.draw_upkeep, 1),
    Section("extras", "Water, tests, drivers, tools and events", tables.draw_extras),
    Section("findings", "Findings, with what was done", tables.draw_findings, 1),
    Section("integrity", "Can this record have been changed?", tables.draw_integrity, 1),
    Section("index", "Index", tables.draw_index),
)


def sections(content: BinderContent) -> list[Section]:
    """The parts this binder has: those of its form, and no empty extras."""
    kept = [section for section in SECTIONS if section.short or not content.short]
    return [section for section in kept if section.key != "extras" or content.extras]


def build(content: BinderContent, out: BinaryIO | None = None, progress: Progress | None = None) -> bytes:
    """The PDF, also written to `out` where given; the same content gives the same bytes.

    `progress(done, total, says)` is called as each part of each pass begins, and once at the end. Raises ValueError
    when a short form would need more than twelve pages.
    """
    tell = progress or (lambda done, total, says: None)
    first = _draw(Blank(), content, {}, 0, tell, 0)
    if content.short and first.page > SHORT_PAGES:
        raise ValueError(f"The short form came to {first.page} pages; at most {SHORT_PAGES} are allowed.")
    buffer = BytesIO()
    title = f"Binder: {content.organisation}, {content.site}, {said(content.first)} to {said(content.last)}"
    canvas = new_canvas(buffer, title, summary.sentence(content), content.paper, content.language)
    canvas.showOutline()
    count = len(sections(content))
    _draw(canvas, content, first.pages, first.page, tell, count)
    tell(2 * count, 2 * count, "done")
    return finish(canvas, buffer, out)


def _draw(canvas: Any, content: BinderContent, pages: dict[str, int], total: int, tell: Progress, done: int) -> Sheet:
    says = clean(
        f"{content.organisation}, {content.site} · Millroom Register · made {short(content.made_at)}, as of {short(content.as_of)}"
    )
    sheet = Sheet(canvas, content.paper, says, pages, total)
    parts = sections(content)
    for n, section in enumerate(parts):
        tell(done + n, 2 * len(parts), section.title)
        sheet.limit = sheet.page + section.short if content.short else NO_LIMIT
        section.draw(sheet, content)
    sheet.end_page()
    return sheet
