"""The paper every document is drawn on: sizes, margins, type, rules, the foot, and text that is only ever text."""

import unicodedata
from collections.abc import Iterator
from datetime import date
from functools import cache, lru_cache
from io import BytesIO
from typing import Any, BinaryIO

import segno
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.units import mm
from reportlab.pdfbase import pdfmetrics

from clinic.rules.words import day_words, short_day

from .archive import About
from .fonts import has_glyph, register_fonts
from .memo import Memo
from .pen import Ink
from .tags import Canvas, aside, figure, stands_for, tagged

SIZES = {"A4": A4, "Letter": LETTER}
# Millimetres from the middle of the edge: two holes 80 mm apart (ISO 838, from memory); three, 4¼ inches apart, on the paper
# of North America (common practice, no source).
HOLES = {"A4": (-40, 40), "Letter": (-107.95, 0, 107.95)}
INK, GREY, LINE, STEEL = Ink("#14302b"), Ink("#48605a"), Ink("#9aa9a1"), Ink("#dfe6e0")
SURELY = 0.999  # of a width: what is no wider fits, however the last digits of a sum are rounded
ROOM = {"right": 1.0, "centre": 0.5}  # how much of a line stands before its x
WHITE, SHADE, LATE = Ink("#ffffff"), Ink("#f0f4f0"), Ink("#9d2a36")


def new_canvas(
    buffer: BinaryIO, title: str, subject: str, paper: str, language: str = "en-GB", made: str = ""
) -> Canvas:
    """A canvas that gives the same bytes for the same drawing. Paper: A4 or Letter. Raises KeyError for another. `made`: the
    instant of making that the content names, if it names one."""
    register_fonts()
    face: Any = "R"  # the stubs of the drawing library take its name for a number
    canvas = Canvas(buffer, pagesize=SIZES[paper], initialFontName=face, invariant=1, lang=language, pageCompression=1)
    canvas.about = About(clean(title), clean(subject), language, made)
    return canvas


def finish(canvas: Canvas, buffer: BytesIO, out: BinaryIO | None) -> bytes:
    """Closes the document, writes it to `out` where given, and returns its bytes."""
    canvas.save()
    data = buffer.getvalue()
    if out is not None:
        out.write(data)
    return data


@lru_cache(maxsize=16384)
def clean(words: str) -> str:
    """What a person typed, as it can be drawn: composed letters, no control characters, a box for what has no glyph."""
    composed = unicodedata.normalize("NFC", words)
    spaced = "".join(" " if letter.isspace() or unicodedata.category(letter) == "Cc" else letter for letter in composed)
    return "".join(letter if letter == " " or has_glyph(letter) else "?" for letter in spaced)


@cache
def widths_of(font: str, size: float) -> Memo[str, float]:
    """Widths in points, by words."""
    return Memo(lambda words: float(pdfmetrics.stringWidth(words, font, size)), 8192)


def width_of(words: str, font: str, size: float) -> float:
    """Width in points."""
    return widths_of(font, size)[words]


def text(
    c: Canvas,
    x: float,
    y: float,
    words: str,
    font: str = "R",
    size: float = 10.5,
    colour: Ink = INK,
    side: str = "left",
) -> None:
    """Draws one line. Side: left, right or centre of x."""
    shown = clean(words)
    if not shown:
        return
    if side != "left":
        room = ROOM[side]
        if shown.endswith(" "):  # a space between two lines moves nothing
            x += room * width_of(" ", font, size)
        x -= room * width_of(shown, font, size)
    c.write(x, y, shown, font, size, colour)


def text_as(
    c: Canvas, kind: str, extra: str, x: float, y: float, words: str, font: str, size: float, colour: Ink = INK,
    name: str = "",
) -> None:  # fmt: skip
    """Draws one line that is an element of its own, of this kind; with a name where cells lead to it."""
    shown = clean(words)
    if shown:
        c.write_as(kind, extra, x, y, shown, font, size, colour, name)
        return
    with tagged(c, kind, extra):
        if name:
            c.named(name)


def fitted(words: str, width: float, font: str, size: float, least: float = 6) -> float:
    """The largest size, not above `size`, at which one line of the words fits the width (never below `least`)."""
    return max(least, min(size, size * width / max(width_of(clean(words), font, size), 0.1)))


def fit_line(
    c: Canvas, x: float, y: float, words: str, width: float, font: str, size: float, least: float = 6,
    colour: Ink = INK, side: str = "left",
) -> None:  # fmt: skip
    """Draws one line made smaller to fit the width; what does not fit at the least size ends with "…"."""
    shown = clean(words)
    if width_of(shown, font, size) < width * SURELY and size >= least:
        if side == "left" and shown:
            c.write(x, y, shown, font, size, colour)
        else:
            text(c, x, y, shown, font, size, colour, side)
        return
    size = fitted(words, width, font, size, least)
    if width_of(shown, font, size) > width + 0.01:
        while shown and width_of(f"{shown}…", font, size) > width:
            shown = shown[:-1]
        shown = f"{shown.rstrip()}…"
        with stands_for(c, clean(words)):
            text(c, x, y, shown, font, size, colour, side)
        return
    text(c, x, y, shown, font, size, colour, side)


@lru_cache(maxsize=1024)  # most are asked for their lines with spaces, which are kept
def wrap(words: str, width: float, font: str = "R", size: float = 10.5) -> tuple[str, ...]:
    """Lines no wider than the width; a word longer than a line is cut, after a hyphen where it has one."""
    widths = widths_of(font, size)
    lines, line, used, space = [], "", 0.0, widths[" "]
    for word in _pieces(clean(words), width, widths):
        wide = widths[word]
        if line and used + space + wide > width:
            lines.append(line)
            line, used = word, wide
        else:
            used += wide + (space if line else 0)
            line = f"{line} {word}" if line else word
    return (*lines, line)


@lru_cache(maxsize=256)
def column(width: float, font: str, size: float) -> Memo[str, tuple[str, ...]]:
    """The lines of `spaced` by their words, for the cells of one column, which are asked most."""
    return Memo(lambda words: spaced.__wrapped__(words, width, font, size), 2048)


@lru_cache(maxsize=16384)
def spaced(words: str, width: float, font: str = "R", size: float = 10.5) -> tuple[str, ...]:
    """The lines of `wrap`, with the space after each that ends between two words: so the text can be read on."""
    whole, at, lines = " ".join(clean(words).split()), 0, []
    for line in wrap(words, width, font, size):
        at += len(line)
        between = whole[at : at + 1] == " "
        lines.append(f"{line} " if between else line)
        at += between
    return tuple(lines)


def _pieces(words: str, width: float, widths: Memo[str, float]) -> Iterator[str]:
    """Words; one that is wider than a line is parted after its last hyphen that fits, never before one."""
    for word in words.split():
        while widths[word] > width and len(word) > 1:
            cut = max(1, int(len(word) * width / widths[word]))
            while cut > 1 and widths[word[:cut]] > width:
                cut -= 1
            hyphen = word.rfind("-", 1, cut)
            cut = hyphen + 1 if hyphen > 0 else cut - 1 if word[cut] == "-" and cut > 1 else cut
            yield word[:cut]
            word = word[cut:]
        yield word


def flow(
    c: Canvas,
    x: float,
    y: float,
    words: str,
    width: float,
    font: str = "R",
    size: float = 10.5,
    lead: float = 1.3,
    colour: Ink = INK,
) -> float:
    """Draws wrapped lines from y downward; returns where the next line would stand."""
    c.paragraph()
    for line in spaced(words, width, font, size):
        text(c, x, y, line, font, size, colour)
        y -= size * lead
    c.untag()
    return y


def rule(c: Canvas, x: float, y: float, right: float, heavy: bool = False) -> None:
    """1.2 pt ink opens a part, 0.5 pt grey parts rows."""
    c.rule(x, y, right, INK if heavy else LINE, 1.2 if heavy else 0.5)


def punch(c: Canvas, width: float, height: float) -> None:
    """Ticks where the holes go, on the long edge that is filed: the left one, of a page that lies across the upper one, which
    comes to the left when the sheet is turned to stand with the others."""
    for from_middle in HOLES["A4" if round(max(width, height)) == round(A4[1]) else "Letter"]:
        if width > height:
            at = width / 2 + from_middle * mm
            c.setStrokeColor(LINE)
            c.setLineWidth(0.5)
            c.line(at, height, at, height - 3 * mm)
        else:
            rule(c, 0, height / 2 + from_middle * mm, 3 * mm)


def page_foot(c: Canvas, left: float, right: float, says: str, page: int, total: int) -> None:
    """The foot of a page: what it belongs to, and page x of y."""
    with aside(c, "Footer"):
        rule(c, left, 15 * mm, right)
        fit_line(c, left, 11 * mm, says, right - left - 30 * mm, "R", 8, colour=GREY)
        text(c, right, 11 * mm, f"page {page} of {total}", "B", 8, side="right")


def steel(c: Canvas, x: float, y: float, width: float) -> None:
    """The steel rule under a head."""
    c.setFillColor(STEEL)
    c.rect(x, y - 3.2 * mm, width, 3.2 * mm, stroke=0, fill=1)
    rule(c, x, y, x + width, heavy=True)
    c.setLineWidth(0.5)
    c.ticks(y, [(x + n * 2.5 * mm, y - (2.6 if n % 5 else 5)) for n in range(int(width / (2.5 * mm)) + 1)])


def qr(c: Canvas, data: str, x: float, y: float, size: float, says: str = "") -> None:
    """A code square drawn as one path, with its quiet zone inside the size. `says`: what it holds, for who cannot see it."""
    rows = tuple(segno.make(data, error="m", micro=False).matrix_iter(scale=1, border=2))
    unit, path = size / len(rows), c.beginPath()
    for i, row in enumerate(rows):
        for j, dark in enumerate(row):
            if dark:
                path.rect(x + j * unit, y + size - (i + 1) * unit, unit + 0.05, unit + 0.05)
    c.setFillColor(INK)
    with figure(c, says or f"Code square: {data}", (x, y, x + size, y + size)):
        c.drawPath(path, stroke=0, fill=1)


def said(iso: str) -> str:
    """2 December 2026."""
    return day_words(date.fromisoformat(iso[:10]))


def short(iso: str) -> str:
    """2 Dec 2026, with the time where there is one."""
    return short_day(date.fromisoformat(iso[:10])) + (f", {iso[11:16]}" if len(iso) > 10 else "")
