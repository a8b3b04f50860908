"""A binder in two passes: the first counts the pages, the second draws them."""

import gc
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from io import BytesIO
from typing import Any, BinaryIO

from training.documents.archive import LEVELS
from training.documents.paper import clean, finish, new_canvas, said, short

from . import (
    authority,
    contents,
    events,
    extras,
    findings,
    index,
    integrity,
    kept,
    matrix,
    people,
    procedures,
    roster,
    scope,
    sources,
    summary,
    taught,
    upkeep,
)
from .asks import several
from .content import BinderContent
from .names import names_in
from .sheet import NO_LIMIT, Blank, Setting, Sheet, Terms

SHORT_PAGES = 12
LONGEST = 64  # letters of organisation and site at the foot, so that number and days stay readable
Progress = Callable[[int, int, str], None]
Draw = Callable[[Sheet, BinderContent], None]


@dataclass(frozen=True, slots=True)
class BinderSection:
    """One part of the binder. `short`: how many pages the short form gives it; 0 leaves it out. `fills`: the short form has
    it where its twelve pages leave room, in that order (0: never)."""

    key: str
    title: str
    draw: Draw
    holds: Callable[[BinderContent], str]
    short: int = 0
    fills: int = 0


def draw_contents(sheet: Sheet, content: BinderContent) -> None:
    """Every part of this form but the first page, and what the short form leaves out."""
    shown = [BY_KEY[key] for key in sheet.setting.parts]
    parts = [(s.key, s.title, s.holds(content)) for s in shown if s.key not in ("summary", "contents")]
    left_out = [s.title for s in SECTIONS if s not in shown and s.key != "extras"]
    contents.draw(sheet, parts, left_out)


def _table(key: str, title: str, one: str, none: str, fills: int = 0) -> BinderSection:
    def holds(content: BinderContent) -> str:
        return several(sum(len(extra.rows) for extra in content.extras if extra.key == key), one)

    return BinderSection(key, title, extras.drawer(key, title, none), holds, fills=fills)


def _held(name: str, one: str, many: str = "") -> Callable[[BinderContent], str]:
    return lambda content: several(len(getattr(content, name)), one, many)


SECTIONS = (
    BinderSection("summary", "Summary", summary.draw, lambda content: "", 2),
    BinderSection("contents", "Contents", draw_contents, lambda content: "", 1),
    BinderSection("scope", "Scope", scope.draw, lambda content: "whose, which days, how to read a line"),
    BinderSection("roster", "Roster", roster.draw, _held("roster", "person", "people")),
    BinderSection("matrix", "Who may do what", matrix.draw, _held("procedures", "procedure"), 2),
    BinderSection("people", "A record per person", people.draw, _held("people", "person", "people"), fills=4),
    BinderSection("taught", "Topics taught", taught.draw, _held("sessions", "session"), 1),
    BinderSection("procedures", "Procedures in force", procedures.draw, _held("texts", "text"), fills=5),
    BinderSection("sources", "Sources of the texts", sources.draw, _held("sources", "source")),
    BinderSection(
        "authority",
        "Authority, and who signed whom",
        authority.draw,
        _held("authorities", "authority", "authorities"),
        1,
    ),
    BinderSection("upkeep", "Upkeep by equipment", upkeep.draw, _held("upkeep", "entry", "entries"), 1),
    _table(
        "water",
        "Water",
        "reading",
        "No water reading was recorded in the period: no line and no tank is on the register, or none was sampled.",
        fills=1,
    ),
    _table(
        "spores",
        "Spore tests",
        "test",
        "No spore test was recorded in the period: no steriliser is on the register, or none was tested.",
        fills=2,
    ),
    _table(
        "drivers",
        "Torque drivers",
        "verification",
        "No torque driver was verified in the period: none is on the register, or none was due or done.",
        fills=3,
    ),
    _table(
        "tools", "Milling tools", "line", "No milling tool was mounted in the period, so far as the register was told."
    ),
    _table("jobs", "Jobs", "job", "No job was started in the period, so far as the register was told."),
    BinderSection(
        "extras", "Further records", extras.draw_others, lambda content: several(len(extras.others(content)), "table")
    ),
    BinderSection("events", "Events, without names", events.draw, _held("events", "event"), 1),
    BinderSection("findings", "Findings, with what was done", findings.draw, _held("findings", "finding"), 1),
    BinderSection("kept", "Kept elsewhere", kept.draw, _held("kept", "thing"), 1),
    BinderSection(
        "integrity",
        "Can this record have been changed?",
        integrity.draw,
        lambda content: "seals, and how to check them",
        1,
    ),
    BinderSection("index", "Index", index.draw, lambda content: "people, procedures, equipment"),
)


FIRST = ("summary", "contents", "people")  # of a short form, before its matrix
BY_KEY = {section.key: section for section in SECTIONS}
FILLS = sorted((section for section in SECTIONS if section.fills), key=lambda section: section.fills)


def sections(content: BinderContent, fills: int = 0) -> list[BinderSection]:
    """The parts this binder has: those of its form, the first so many that fill a short one, and further records only where
    there are any."""
    form = [s for s in SECTIONS if not content.short or s.short or s in FILLS[:fills]]
    if content.short:  # the matrix lies across a page of its own; what stands upright goes on below the contents
        form.sort(key=lambda section: (section.key not in FIRST, section.key != "matrix"))
    return [section for section in form if section.key != "extras" or extras.others(content)]


def build(content: BinderContent, out: BinaryIO | None = None, progress: Progress | None = None) -> bytes:
    """The PDF, also written to `out` where given; the same content gives the same bytes.

    `progress(done, total, says)` is called as each part and each person of each pass begins, and once at the end.
    Raises ValueError when a short form would need more than twelve pages.
    """
    with undisturbed():
        return _built(content, out, progress)


@contextmanager
def undisturbed() -> Iterator[None]:
    """Nothing is looked through for garbage meanwhile, which would be done again and again while all of it is in use: neither
    the content of a large binder nor what is drawn of it. Afterwards it is as before."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def _built(content: BinderContent, out: BinaryIO | None, progress: Progress | None) -> bytes:
    blank, spare = _fitted(content)
    tick = _Ticks(content, blank, progress)
    first = _draw(Blank(), content, replace(blank, tick=tick), spare)
    setting = replace(blank, fact_url=content.fact_url, known=first.pages, total=first.page, tick=tick)
    buffer = BytesIO()
    title = f"Binder: {content.organisation}, {content.site}, {said(content.first)} to {said(content.last)}"
    canvas = new_canvas(buffer, title, summary.sentence(content), content.paper, content.language, content.made_at)
    canvas.level = LEVELS[content.packing]
    canvas.showOutline()
    _draw(canvas, content, setting, spare, first.terms)
    tick.end()
    return finish(canvas, buffer, out)


def _fitted(content: BinderContent) -> tuple[Setting, int]:
    """What every page shares, with the parts of this form: a short one has as many of those that fill it as twelve pages
    hold. And the pages left over, which its matrix may have."""
    shared = Setting(content.paper, foot(content), names=names_in(content))
    shared = replace(shared, wanted=frozenset(row.fact for row in content.findings if row.fact))
    if not content.short:
        return _with(shared, sections(content)), 0
    for fills in range(len(FILLS), -1, -1):
        blank = _with(shared, sections(content, fills))
        pages = _draw(Blank(), content, blank).page
        if pages <= SHORT_PAGES:
            return blank, SHORT_PAGES - pages
    raise ValueError(f"The short form came to {pages} pages; at most {SHORT_PAGES} are allowed.")


def _with(shared: Setting, parts: list[BinderSection]) -> Setting:
    keys = tuple(section.key for section in parts)
    return replace(shared, parts=keys, known=dict.fromkeys(keys, 0))


def foot(content: BinderContent) -> str:
    """What stands at the foot of every page: whose, which days, made when, as of when, and the number."""
    who, days = f"{content.organisation}, {content.site}", f"{short(content.first)} to {short(content.last)}"
    whose = who if len(who) <= LONGEST else f"{who[:LONGEST].rstrip()}…"
    number = f" · binder {content.number}" if content.number else ""
    made = f"made {short(content.made_at)}, as of {short(content.as_of)}"
    return clean(f"{whose} · {days} · {made}{number} · Millroom Register")


class _Ticks:
    """Counts parts and people over both passes, so that progress never goes back."""

    def __init__(self, content: BinderContent, setting: Setting, progress: Progress | None) -> None:
        self.progress, self.done = progress or (lambda done, total, says: None), 0
        self.total = 2 * (len(setting.parts) + (0 if content.short else len(content.people)))

    def __call__(self, says: str) -> None:
        self.progress(self.done, self.total, says)
        self.done += 1

    def end(self) -> None:
        self.progress(self.total, self.total, "done")


def _draw(canvas: Any, content: BinderContent, setting: Setting, spare: int = 0, terms: Terms | None = None) -> Sheet:
    sheet = Sheet(canvas, setting, terms)
    for section in (BY_KEY[key] for key in setting.parts):
        setting.tick(section.title)
        more = spare if section.key == "matrix" else 0
        pages = max(section.short, 1) + more
        sheet.limit = sheet.page + pages if content.short else NO_LIMIT
        section.draw(sheet, content)
    sheet.end_page()
    return sheet
