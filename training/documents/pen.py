"""The canvas of the drawing library with a quick hand for what pages are made of: lines of text, cells, rules and stamps.

The library works out every string letter by letter each time it is drawn, looks up its font and formats its place. A paper says
the same words, sizes and colours thousands of times, so each is worked out once and kept: strings as long as the document,
whose font holds only the letters that it says, in the order in which they came. What is written is to the byte what the
library would write; tests/documents/test_pen.py holds the one against the other.
"""

from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from typing import Any, NamedTuple, TypeVar
from zlib import compress

from reportlab.lib.colors import Color, HexColor
from reportlab.lib.rl_accel import fp_str
from reportlab.pdfbase import pdfdoc, pdfmetrics
from reportlab.pdfgen.canvas import Canvas

from .archive import LEVELS, Drawn
from .memo import Memo

LEAD = 1.2  # from line to line, in sizes of the type, where nothing else is said
KEPT = 16384  # strings of one font, so that a binder of many years does not hold them all

Key = TypeVar("Key")
Value = TypeVar("Value")
Runs = tuple[tuple[int, str], ...]
"""What draws a string: which part of its font, and the operator; more than one where its letters are in several parts."""

Lines = tuple[str, ...]
SIXES = " \n  "
MANY = 256  # codes in each part of a font
PARTS = "parts"  # stands for the operators of lines whose letters are not all in the first part of their font


class Ink(Color):
    """A colour of the paper, which is opaque, with the operators that fill and stroke in it."""

    def __init__(self, value: str) -> None:
        plain = HexColor(value)
        super().__init__(plain.red, plain.green, plain.blue)
        three = fp_str(self.red, self.green, self.blue)
        self.fill, self.stroke = f"{three} rg", f"{three} RG"


class Look(NamedTuple):
    """How lines of text look: font, size, from line to line, colour."""

    face: str
    size: float
    lead: float
    colour: Ink


numbers: Memo[float, str] = Memo(fp_str)
number = numbers.__getitem__  # a number as it stands in the file


def _keep(kept: dict[Key, Value], key: Key, value: Value) -> Value:
    """Keeps what was worked out, and lets all go where it has become too much."""
    if len(kept) >= KEPT:
        kept.clear()
    kept[key] = value
    return value


@lru_cache(maxsize=64)
def packed(part: bytes) -> bytes:
    """A part of a font, of which most papers have the same."""
    return compress(part)


def dictionary(entries: Sequence[str]) -> str:
    """Entries in the order of their names, six a line, as the library writes them."""
    sixes = [" ".join(entries[n : n + 6]) for n in range(0, len(entries), 6)]
    return f"<<\n{SIXES.join(sixes)}\n>>"


def place_of(leads: Any, document: Any) -> str:
    """Where in the document a link leads, as the library writes it; ValueError for a key that nothing was marked by."""
    if leads.page is None:
        raise ValueError(f"Nothing in the document is marked by the key {leads.name}.")
    page, place = document.idToObjectNumberAndVersion[leads.page.name][0], leads.fmt
    return f"[ {page} 0 R /XYZ {number(place.left)} {number(place.top)} {number(place.zoom)} ]"


class Pen(Canvas):
    """Every colour given to it is opaque, and no font but those of the paper is used. `level`: of compression."""

    level = LEVELS[0]

    def __init__(self, *args: Any, **named: Any) -> None:
        self._words: dict[str, dict[str, Runs]] = {}
        self._tails: dict[tuple[str, str, float], str] = {}
        self._blocks: dict[str, Memo[Lines, str]] = {}
        self._faces: dict[tuple[str, int, float, float], str] = {}
        self._alike: dict[tuple[Any, ...], str] = {}
        super().__init__(*args, **named)

    def line_of_text(self, x: float, y: float, words: str, face: str, size: float) -> str:
        """The operators that draw one line from x, y."""
        tail = self._tails.get((words, face, size)) or self._tail(words, face, size)
        return f"BT 1 0 0 1 {number(x)} {number(y)} Tm {tail}"

    def _tail(self, words: str, face: str, size: float) -> str:
        """What follows on the place of a line."""
        parts, part = [], -1
        for n, shown in self._runs(face).get(words) or self._work_out(words, face):
            if n != part:
                part = n
                parts.append(self._face(face, part, size, size * LEAD))
            parts.append(shown)
        tail = f"{' '.join(parts)} {'' if words else ' '}T* ET" if parts else " T* ET"
        return _keep(self._tails, (words, face, size), tail)

    def text_of_cells(self, y: float, cells: Iterable[tuple[str, float, Lines]], look: Look) -> str:
        """The operators that draw cells side by side: of each the mark that it begins with, its left edge and its lines.
        A mark may be empty: then there is none."""
        face, part, high = look.face, -1, number(y)
        blocks = self._blocks.get(face) or self._blocks.setdefault(face, Memo(lambda lines: self._block(face, lines)))
        parts = [f"BT 1 0 0 1 0 0 Tm {look.colour.fill}"]
        add = parts.append
        for mark, x, lines in cells:
            block = blocks[lines]
            if part == 0 and mark and block is not PARTS:  # as most are
                add(f"1 0 0 1 {number(x)} {high} Tm {mark} {block} EMC")
                continue
            begins = f"1 0 0 1 {number(x)} {high} Tm {mark}" if mark else f"1 0 0 1 {number(x)} {high} Tm"
            if part <= 0 and block is not PARTS:
                if part:
                    part = 0
                    begins = f"{begins} {self._face(face, 0, look.size, look.lead)}"
                add(f"{begins} {block} EMC" if mark else f"{begins} {block}")
                continue
            add(begins)
            for words in lines:
                for n, shown in self._runs(face).get(words) or self._work_out(words, face):
                    if n != part:
                        part = n
                        add(self._face(face, part, look.size, look.lead))
                    add(shown)
                add("T*" if words else " T*")
            if mark:
                add("EMC")
        add("ET")
        return " ".join(parts)

    def _block(self, face: str, lines: Lines) -> str:
        """What shows these lines while the first part of the font is chosen; PARTS where that part does not have them all."""
        shown: list[str] = []
        for words in lines:
            runs = self._runs(face).get(words) or self._work_out(words, face)
            if len(runs) != 1 or runs[0][0]:
                return PARTS
            shown.append(f"{runs[0][1]} T*")
        return " ".join(shown) or PARTS

    def _runs(self, face: str) -> dict[str, Runs]:
        return self._words.setdefault(face, {})

    def _work_out(self, words: str, face: str) -> Runs:
        font: Any = pdfmetrics.getFont(face)
        kept = self._words[face]
        if (
            kept and words.isascii() and words.isprintable()
        ):  # the first part of each font has these under their own codes
            parts = [(0, words.encode())] if words else []
        else:
            parts = self._in_first(words, font) or font.splitString(words, self._doc)
        return _keep(kept, words, tuple([(n, f"({self._escape(codes)}) Tj") for n, codes in parts]))

    def _in_first(self, words: str, font: Any) -> list[tuple[int, bytes]]:
        """The words in the codes of the font's first part, where that has all their letters already; else nothing."""
        state = font.state.get(self._doc)
        codes = [state.assignments.get(letter, MANY) for letter in map(ord, words)] if state else []
        return [(0, bytes(codes))] if codes and max(codes) < MANY else []

    def _face(self, face: str, part: int, size: float, lead: float) -> str:
        """The operators that choose a part of a font, at a size."""
        key = face, part, size, lead
        said = self._faces.get(key)
        if said is None:
            font: Any = pdfmetrics.getFont(face)
            name = font.getSubsetInternalName(part, self._doc)
            said = self._faces[key] = f"{name} {fp_str(size)} Tf {fp_str(lead)} TL"
        return said

    def showPage(self) -> None:
        """Ends the page. Its operators are kept compressed until the file is written, where the library keeps them plain."""
        super().showPage()
        page: Any = self._doc.idToObject[f"Page{self._doc.pageCounter - 1}"]
        filters = pdfdoc.PDFDictionary({"Filter": pdfdoc.PDFArray([pdfdoc.PDFName("FlateDecode")])})
        page.Contents, page.stream = pdfdoc.PDFStream(filters, compress(page.stream.encode(), self.level)), None

    def body(self, number: int) -> bytes | str:
        """What the library writes of an object. It is held no longer than that."""
        document: Any = self._doc
        name = document.numberToId[number]
        one, document.idToObject[name] = document.idToObject[name], None
        if isinstance(one, pdfdoc.PDFPage):
            return self._page_body(one)
        if isinstance(one, pdfdoc.OutlineEntryObject):
            return self._bookmark_body(one)
        if (
            isinstance(one, pdfdoc.PDFStream)
            and one.filters == [pdfdoc.PDFZCompress]
            and isinstance(one.content, bytes)
        ):
            one.dictionary["Filter"] = pdfdoc.PDFArray([pdfdoc.PDFName("FlateDecode")])
            one.content = packed(one.content)
        return bytes(pdfdoc.format(one, document, toplevel=1))

    def _page_body(self, page: Any) -> str:
        """A page, of which there are hundreds; what many have alike is written by the library once."""
        document: Any = self._doc
        page.check_format(document)
        contents = self._refer(document.Reference(page.Contents))
        forms = tuple(page.XObjects.dict) if page.XObjects else ()
        resources = self._written(("resources", page.hasImages, *forms), page.Resources)
        box = self._written((page.pagewidth, page.pageheight), page.MediaBox)
        links = [f"/Annots {page.Annots.format(document).decode()}"] if page.Annots else []
        return dictionary([
            *links, f"/Contents {contents}", f"/MediaBox {box}", f"/Parent {self._refer(page.Parent)}",
            f"/Resources {resources}", f"/Rotate {page.Rotate}", "/Trans <<\n\n>>", "/Type /Page",
        ])  # fmt: skip

    def _bookmark_body(self, one: Any) -> str:
        document: Any = self._doc
        first, last, after, before = (
            [f"/{name} {self._refer(to)}"] if to is not None else []
            for name, to in (("First", one.First), ("Last", one.Last), ("Next", one.Next), ("Prev", one.Prev))
        )
        count = [f"/Count {one.Count}"] if one.Count is not None else []
        title = pdfdoc.PDFString(one.Title).format(document).decode("latin1")
        return dictionary([
            *count, f"/Dest {place_of(one.Dest, document)}", *first, *last, *after, f"/Parent {self._refer(one.Parent)}",
            *before, f"/Title {title}",
        ])  # fmt: skip

    def _refer(self, to: Any) -> str:
        return f"{self._doc.idToObjectNumberAndVersion[to.name][0]} 0 R"

    def _written(self, key: tuple[Any, ...], one: Any) -> str:
        """What the library writes of what stands in many objects, written once."""
        said = self._alike.get(key)
        if said is None:
            said = self._alike[key] = pdfdoc.format(one, self._doc).decode("latin1")
        return said

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
