"""The wall card: what of one procedure must be read from the bench, on a page or two, and how to stop and whom to call."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from io import BytesIO
from typing import BinaryIO

from reportlab.lib.units import mm
from reportlab.lib.utils import ImageReader

from clinic.rules.words import begun

from .content import Content
from .paper import GREY, INK, SIZES, WHITE, finish, fit_line, flow, new_canvas, punch, rule, said, steel, text, wrap
from .shapes import draw_shape
from .tags import DECIMAL, Canvas, figure, stands_for, tagged

MOST_LINES, MOST_PAGES = 15, 2  # lines on a page
# Points; the air below a line, and the caution under it, as shares of its type; what a second page is begun for.
SIZES_OF_LINES, AIR, CAUTION = (20, 19, 18, 17, 16, 15, 14, 13, 12, 11, 10, 9, 8), 0.6, 0.85
LEAST_ON_ONE = 10


LEFT, RIGHT, INDENT, FLOOR = 24 * mm, 14 * mm, 19 * mm, 62 * mm
WIDE, HIGH = 25 * mm, 17 * mm  # what a picture beside a line takes, with the air around it
MAKER = "maker wins"
LEAST_BESIDE = 10  # points: with smaller lines the pictures stay away
NO_PICTURES: Mapping[int, bytes] = {}


@dataclass(frozen=True)
class CardLine(Content):
    """One line, verb first. `number`: of the step in its procedure, the same on every paper; 0 for its place on the card."""

    words: str
    critical: bool
    maker: bool = False  # the maker’s instructions win over it, said under its number
    number: int = 0
    caution: str = ""


@dataclass(frozen=True)
class WallCardContent(Content):
    """What hangs beside the unit. `stop` says how to stop here, whom to call and whom to tell; `more` names what the card
    leaves out, where it does."""

    paper: str
    language: str
    code: str
    title: str
    version: int
    place: str
    since: str
    lines: list[CardLine]
    stop: str
    maker: str
    more: str = ""


class TooLong(ValueError):
    """The card cannot carry its lines so that they can be read from the bench."""

    def __init__(self, content: WallCardContent) -> None:
        super().__init__(
            f"{content.code} {content.title} has too much for a wall card: {len(content.lines)} lines do not fit on "
            f"{MOST_PAGES} pages so that they can be read from the bench. Shorten its critical steps or their cautions in a "
            "new version, or hang up the checklist."
        )


def build(content: WallCardContent, out: BinaryIO | None = None, pictures: Mapping[int, bytes] = NO_PICTURES) -> bytes:
    """The PDF of one page, or of two where one does not hold every line. `pictures`: JPEGs by the number of the line that
    they stand beside, from 0, as many as leave lines that can still be read from the bench. Raises TooLong where two pages
    do not hold it either."""
    lines = [replace(line, number=line.number or n) for n, line in enumerate(content.lines, 1)]
    buffer = BytesIO()
    canvas = new_canvas(
        buffer, f"Wall card {content.code} {content.title}", content.place, content.paper, content.language
    )
    pages = paged(replace(content, lines=lines))
    for number, those in enumerate(pages, 1):
        beside = {at: pictures[n] for at, n in enumerate(those) if n in pictures}
        sheet = f" · sheet {number} of {len(pages)}" if len(pages) > 1 else ""
        _draw(canvas, replace(content, lines=[lines[n] for n in those]), beside, sheet)
        canvas.showPage()
    return finish(canvas, buffer, out)


def paged(content: WallCardContent) -> list[list[int]]:
    """Which lines stand on which page: all on one where they stay large, else the critical ones first. Raises TooLong."""
    everything = list(range(len(content.lines)))
    if _fits(content, everything, LEAST_ON_ONE):
        return [everything]
    order = sorted(everything, key=lambda n: not content.lines[n].critical)
    for least in (LEAST_ON_ONE, SIZES_OF_LINES[-1]):
        pages = _split(content, order, least)
        if pages:
            return pages
    raise TooLong(content)


def _split(content: WallCardContent, order: list[int], least: float) -> list[list[int]]:
    """The first page as full as can be at this size of type, and the rest on the second; none where that does not hold it.
    Each in the order of the work."""
    for count in range(min(MOST_LINES, len(order)), 0, -1):
        pages = [sorted(order[:count]), sorted(order[count:])]
        if _fits(content, pages[0], least):
            return [page for page in pages if page] if _fits(content, pages[1], least) else []
    return []


def _fits(content: WallCardContent, those: list[int], least: float) -> bool:
    width, _ = SIZES[content.paper]
    page = replace(content, lines=[content.lines[n] for n in those])
    size = fitting(page, width - LEFT - RIGHT - INDENT, _top(content)[1] - FLOOR, NO_PICTURES)
    return len(those) <= MOST_LINES and size is not None and size >= least


def _top(k: WallCardContent) -> tuple[float, float]:
    """The size of the title, and where the first line stands."""
    width, height = SIZES[k.paper]
    room = width - LEFT - RIGHT
    size = next((n for n in (38, 34, 30, 26) if len(wrap(k.title, room, "X", n)) == 1), 24)
    return size, height - 20 * mm - size * 0.8 - len(wrap(k.title, room, "X", size)) * size * 1.05 + size - 14 * mm


def _draw(c: Canvas, k: WallCardContent, pictures: Mapping[int, bytes], sheet: str) -> None:
    width, height = SIZES[k.paper]
    left, right = LEFT, width - RIGHT
    punch(c, width, height)
    head = f"{k.code}, version {k.version} · {k.place} · in force since {said(k.since)}{sheet}"
    fit_line(c, left, height - 18 * mm, head, right - left, "R", 10.5, colour=GREY)
    size, top = _top(k)
    with tagged(c, "H1"):
        y = flow(c, left, height - 20 * mm - size * 0.8, k.title, right - left, "X", size, 1.05)
    steel(c, left, y + size - 3 * mm, right - left)
    _lines(c, k, left, right, top, pictures)
    _stop(c, k, left, right)
    _foot(c, k, left, right)


def _lines(
    c: Canvas, k: WallCardContent, left: float, right: float, y: float, pictures: Mapping[int, bytes]
) -> None:  # fmt: skip
    """As large as the page allows, so that they can be read from the bench. Pictures only where the lines stay large."""
    deep = y - FLOOR
    pictures = those_that_fit(k, right - left - INDENT - WIDE, deep, pictures)
    room = right - left - INDENT - (WIDE if pictures else 0)
    size = fitting(k, room, deep, pictures) or SIZES_OF_LINES[-1]
    c.tag("L", DECIMAL)
    for n, line in enumerate(k.lines):
        font = "B" if line.critical else "R"
        c.tag("LI")
        with tagged(c, "Lbl"):
            if line.critical:
                with stands_for(c, "Critical: "):
                    draw_shape(c, "critical", left, y - 1.6 * mm, 6 * mm)
            text(c, left + 14.5 * mm, y, str(line.number), "X" if line.critical else "R", size + 1, side="right")
        with tagged(c, "LBody"):
            if line.maker:
                text(c, left + 14.5 * mm, y - 7.5, MAKER, "R", 6.5, GREY, side="right")
            end = flow(c, left + INDENT, y, f"{line.words} " if line.caution else line.words, room, font, size, 1.14)
            if line.caution:
                flow(c, left + INDENT, end, line.caution, room, "I", size * CAUTION, 1.14)
            if n in pictures:
                draw_picture(c, pictures[n], right, y + size * 0.8, f"Photo of line {line.number}")
        c.untag()
        y -= _tall(line, room, size, n in pictures)
        rule(c, left + INDENT, y + size * (AIR + 0.5), right)
    c.untag()


def those_that_fit(
    k: WallCardContent, room: float, deep: float, pictures: Mapping[int, bytes]
) -> Mapping[int, bytes]:  # fmt: skip
    """As many of the pictures, from the first line on, as leave the lines large enough."""
    for count in range(len(pictures), 0, -1):
        some = dict(sorted(pictures.items())[:count])
        if (fitting(k, room, deep, some) or 0) >= LEAST_BESIDE:
            return some
    return NO_PICTURES


def fitting(k: WallCardContent, room: float, deep: float, pictures: Mapping[int, bytes]) -> float | None:
    """The largest type at which all lines stand in the depth; None where none does."""
    return next(
        (
            size
            for size in SIZES_OF_LINES
            if sum(_tall(line, room, size, n in pictures) for n, line in enumerate(k.lines)) < deep
        ),
        None,
    )


def _tall(line: CardLine, room: float, size: float, pictured: bool = False) -> float:
    words = len(wrap(line.words, room, "B", size)) * size * 1.14 + size * AIR
    if line.caution:
        words += len(wrap(line.caution, room, "I", size * CAUTION)) * size * CAUTION * 1.14
    return max(words, HIGH) if pictured else words


def draw_picture(c: Canvas, picture: bytes, right: float, top: float, says: str) -> None:
    """In the right column, its shape kept."""
    wide, high = WIDE - 2 * mm, HIGH - 3 * mm
    x, y = right - wide, top - high
    with figure(c, says, (x, y, right, top)):
        c.drawImage(ImageReader(BytesIO(picture)), x, y, wide, high, preserveAspectRatio=True, anchor="ne")


def _stop(c: Canvas, k: WallCardContent, left: float, right: float) -> None:
    x, room = left + 28 * mm, right - left - 34 * mm
    c.setFillColor(INK)
    c.rect(left, 24 * mm, right - left, 34 * mm, stroke=0, fill=1)
    draw_shape(c, "stop", left + 6 * mm, 34 * mm, 15 * mm, "#ffffff")
    with tagged(c, "H2"):
        text(c, x, 47 * mm, "Anybody may stop it.", "X", 21, WHITE)
    size = next((n for n in (14, 13, 12, 11, 10, 9) if len(wrap(k.stop, room, "M", n)) * n * 1.2 < 52), 8)
    flow(c, x, 39.5 * mm, k.stop, room, "M", size, 1.2, WHITE)


def _foot(c: Canvas, k: WallCardContent, left: float, right: float) -> None:
    draw_shape(c, "critical", left, 16 * mm, 4.2 * mm)
    text(c, left + 6 * mm, 17.2 * mm, "done wrong, somebody can be hurt or the unit wrecked", "R", 9.5, GREY)
    mark = f", most of all where a line says “{MAKER}”" if any(line.maker for line in k.lines) else ""
    maker = f"{k.maker or 'the maker’s instructions'} and local rules come first{mark}."
    fit_line(c, right, 17.2 * mm, k.more, 84 * mm, "B", 9.5, side="right")
    fit_line(c, left, 12 * mm, begun(maker), right - left, "R", 9.5, colour=GREY)
