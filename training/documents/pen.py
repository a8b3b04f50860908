"""The canvas of the drawing library with a quick hand for what pages are made of: lines of text, cells, rules and stamps.

The library works out every string letter by letter each time it is drawn, looks up its font and formats its place. A paper says
the same words, sizes and colours thousands of times, so each is worked out once and kept: strings as long as the document,
whose font holds only the letters that it says, in the order in which they came. What is written is to the byte what the
library would write; tests/documents/test_pen.py holds the one against the other.
"""

from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from typing import Any, NamedTuple
from zlib import compress

from reportlab.lib.colors import Color
from reportlab.lib.rl_accel import fp_str
from reportlab.pdfbase import pdfdoc, pdfmetrics
from reportlab.pdfgen.canvas import Canvas

from .archive import Drawn

LEAD = 1.2  # from line to line, in sizes of the type, where nothing else is said
KEPT = 16384  # strings of one font, so that a binder of many years does not hold them all

Runs = tuple[tuple[int, str], ...]
"""What draws a string: which part of its font, and the operator; more than one where its letters are in several parts."""


class Look(NamedTuple):
    """How lines of text look: font, size, from line to line, colour."""

    face: str
    size: float
    lead: float
    colour: Color


number = lru_cache(maxsize=KEPT)(fp_str)  # a number as it stands in the file


@lru_cache(maxsize=256)
def _three(red: float, green: float, blue: float) -> str:
    return str(fp_str(red, green, blue))


def fill_of(colour: Color) -> str:
    return f"{_three(colour.red, colour.green, colour.blue)} rg"


def stroke_of(colour: Color) -> str:
    return f"{_three(colour.red, colour.green, colour.blue)} RG"


class Pen(Canvas):
    """Every colour given to it is opaque, and no font but those of the paper is used."""

    def __init__(self, *args: Any, **named: Any) -> None:
        self._words: dict[str, dict[str, Runs]] = {}
        self._faces: dict[tuple[str, int, float, float], str] = {}
        super().__init__(*args, **named)

    def line_of_text(self, x: float, y: float, words: str, face: str, size: float) -> str:
        """The operators that draw one line from x, y."""
        runs = self._runs(face).get(words) or self._work_out(words, face)
        parts, part = [f"BT 1 0 0 1 {number(x)} {number(y)} Tm"], -1
        for n, shown in runs:
            if n != part:
                part = n
                parts.append(self._face(face, part, size, size * LEAD))
            parts.append(shown)
        return f"{' '.join(parts)} {'' if words else ' '}T* ET"

    def text_of_cells(self, y: float, cells: Iterable[tuple[str, float, Sequence[str]]], look: Look) -> str:
        """The operators that draw cells side by side: of each the mark that it begins with, its left edge and its lines.
        A mark may be empty: then there is none."""
        kept, part, high = self._runs(look.face), -1, number(y)
        parts = ["BT 1 0 0 1 0 0 Tm", fill_of(look.colour)]
        add = parts.append
        for mark, x, lines in cells:
            add(f"1 0 0 1 {number(x)} {high} Tm")
            if mark:
                add(mark)
            for words in lines:
                for n, shown in kept.get(words) or self._work_out(words, look.face):
                    if n != part:
                        part = n
                        add(self._face(look.face, part, look.size, look.lead))
                    add(shown)
                add("T*" if words else " T*")
            if mark:
                add("EMC")
        add("ET")
        return " ".join(parts)

    def _runs(self, face: str) -> dict[str, Runs]:
        return self._words.setdefault(face, {})

    def _work_out(self, words: str, face: str) -> Runs:
        font: Any = pdfmetrics.getFont(face)
        kept = self._words[face]
        if len(kept) >= KEPT:
            kept.clear()
        if (
            kept and words.isascii() and words.isprintable()
        ):  # the first part of each font has these under their own codes
            parts = [(0, words.encode())] if words else []
        else:
            parts = font.splitString(words, self._doc)
        runs = tuple((n, f"({self._escape(codes)}) Tj") for n, codes in parts)
        kept[words] = runs
        return runs

    def _face(self, face: str, part: int, size: float, lead: float) -> str:
        """The operators that choose a part of a font, at a size."""
        key = face, part, size, lead
        said = self._faces.get(key)
        if said is None:
            font: Any = pdfmetrics.getFont(face)
            name = font.getSubsetInternalName(part, self._doc)
            said = self._faces[key] = f"{name} {fp_str(size)} Tf {fp_str(lead)} TL"
        return said

    def stamp(self, x: float, y: float, scale: float) -> None:
        """Begins to draw a form smaller or larger with its origin at x, y; goes on with `doForm` and ends with `lift`."""
        self._code.append("q")
        self._code.append(f"{number(scale)} 0 0 {number(scale)} {number(x)} {number(y)} cm")

    def lift(self) -> None:
        self._code.append("Q")

    def showPage(self) -> None:
        """Ends the page. Its operators are kept compressed until the file is written, where the library keeps them plain."""
        super().showPage()
        page: Any = self._doc.idToObject[f"Page{self._doc.pageCounter - 1}"]
        filters = pdfdoc.PDFDictionary({"Filter": pdfdoc.PDFArray([pdfdoc.PDFName("FlateDecode")])})
        page.Contents, page.stream = pdfdoc.PDFStream(filters, compress(page.stream.encode())), None

    def body(self, number: int) -> bytes | str:
        """What the library writes of an object. It is held no longer than that."""
        document: Any = self._doc
        name = document.numberToId[number]
        one, document.idToObject[name] = document.idToObject[name], None
        return bytes(pdfdoc.format(one, document, toplevel=1))

    def drawn(self) -> Drawn:
        """Every object that was drawn, in the order of the library, which puts its file together from them. Each is written
        when it is asked for, and what it was drawn in is let go."""
        document: Any = self._doc
        for font in document.delayedFonts:
            font.addObjects(document)
        document.Reference(document.Catalog)
        document.Reference(document.info)
        document.Outlines.prepare(document, self)
        if document.Outlines.ready < 0:
            document.Catalog.Outlines = None
        numbers = document.idToObjectNumberAndVersion
        catalog, info = (numbers[each.__InternalName__][0] for each in (document.Catalog, document.info))
        return Drawn(self._bodies(), catalog, info)

    def _bodies(self) -> Iterator[tuple[int, bytes | str]]:
        number = 1
        while number <= self._doc.objectcounter:  # writing one may name further ones
            yield number, self.body(number)
            number += 1
