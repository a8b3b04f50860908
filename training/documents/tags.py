"""A canvas that says what it draws: each piece of text belongs to an element of the document's structure, everything else is
an artifact. The structure tree, by which a screen reader finds its way, is written once the drawing is done.

ISO 32000-1, 14.7 (structure) and 14.8 (tagged PDF); ISO 14289-1 (PDF/UA-1) says which of it is asked. The names of elements
are those of 14.8.4. A mark is opened only when something is drawn, so that what is drawn is the same with marks or without.
"""

from array import array
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from functools import cache
from typing import Any
from urllib.parse import quote

from reportlab import rl_config
from reportlab.pdfbase.pdfdoc import PDFObject

from .archive import About, Parts, archive
from .pen import Ink, Lines, Look, Pen, number, place_of
from .strings import text_string
from .tree import NONE, Keys, Tree

COLUMN_HEAD, ROW_HEAD = "/A<</O/Table/Scope/Column>>", "/A<</O/Table/Scope/Row>>"
DECIMAL = "/A<</O/List/ListNumbering/Decimal>>"
PRINTED = 4  # the flag of a note that is printed with its page
ADDRESS = "%:/?#[]@!$&'*+,;=~-._"  # what stands in an address as it is; brackets would end a string of the file

ROOT = 0  # the element of the whole document
ENDED = "EMC\n"  # ends a mark
RECT = "%.2f %.2f %.2f %.2f"  # four numbers at once, in half the time of each by itself

Box = tuple[float, float, float, float]


class Apart:
    """What is drawn while it is open is no element of its own: an artifact, or what reads as other words than it shows.

    `begins`: what begins its mark; with an owner, the words that it reads as. `owner`: the element whose mark it is; -1 for an
    artifact, which is nobody's."""

    __slots__ = ("begins", "owner")

    def __init__(self, begins: str, owner: int = -1) -> None:
        self.begins, self.owner = begins, owner


@cache
def column_heads(count: int) -> tuple[str, ...]:
    """What each head of a column says further."""
    return (COLUMN_HEAD,) * count


PLAIN = Apart("/Artifact BMC")
READ = Apart("")  # a mark that was begun at once, and that nothing goes on with


Open = int | Apart
"""What is open: an element by its number, or what stands apart."""


class Pressed:
    """The links, of which a binder has as many as lines: of each the number of its object, where it is pressed, its number in
    the tree that leads to elements, where it leads, and that in words."""

    __slots__ = ("boxes", "keys", "leads", "numbers", "says", "written")

    def __init__(self) -> None:
        self.numbers, self.keys, self.boxes = array("i"), array("i"), array("d")
        self.leads: list[Any] = []
        self.says: list[str] = []
        self.written = 0

    def add(self, number: int, box: Box, key: int, leads: Any, says: str) -> None:
        self.numbers.append(number)
        self.keys.append(key)
        self.boxes.extend(box)
        self.leads.append(leads)
        self.says.append(says)

    def is_next(self, number: int) -> bool:
        """Whether the object is a link. They are asked for in the order in which they were made."""
        return self.written < len(self.numbers) and self.numbers[self.written] == number

    def next(self, document: Any) -> str:
        n = self.written
        to, says = self.leads[n], self.says[n]
        self.written, self.leads[n], self.says[n] = n + 1, None, ""  # let go: there are as many as lines
        if isinstance(to, str):
            leads = f"/A<</S/URI/URI({quote(to, safe=ADDRESS)})>>"
        else:
            leads = f"/Dest {place_of(to, document)}"
        rect = RECT % (*self.boxes[4 * n : 4 * n + 4],)
        return (
            f"<</Type/Annot/Subtype/Link/F {PRINTED}/Border[0 0 0]/Rect[{rect}]"
            f"/StructParent {self.keys[n]}/Contents{text_string(says)}{leads}>>"
        )


class _Links(PDFObject):
    """The links of a page, by number, as the library writes a row of objects."""

    def __init__(self, numbers: Sequence[int]) -> None:
        self.numbers = numbers

    def format(self, document: Any) -> bytes:
        each = [f"{number} 0 R" for number in self.numbers]
        tens = (" ".join(each[n : n + 10]) for n in range(0, len(each), 10))
        return b"[ %s ]" % " \n  ".join(tens).encode()


class Canvas(Pen):
    """Draws as the canvas of the library does, and marks as it draws."""

    def __init__(self, *args: Any, **named: Any) -> None:
        rl_config.useA85 = 0  # letters for bytes would make each page a quarter longer, for mail of long ago
        self.tree = Tree()
        self.here: Open = ROOT
        self._stack: list[Open] = []
        self._marked: Open | None = None
        self._owners = array("i")
        self._cells: Sequence[int] = ()
        self._page = 0
        self._keys = Keys()
        self.page_keys: list[int] = []  # of each page, its number in the parent tree
        self.about = About("", "", "")
        self._pressed = Pressed()
        super().__init__(*args, **named)

    def tag(self, kind: str, extra: str = "") -> None:
        """What is drawn until `untag` belongs to a new element of this kind inside the one that is open."""
        here = self.here
        self._stack.append(here)
        if type(here) is int:
            self.here = self.tree.add(kind, here, extra)

    def paragraph(self) -> None:
        """A paragraph, unless an element is open already. Ends with `untag`."""
        if self.here == ROOT:
            self.tag("P")
        else:
            self._stack.append(self.here)

    def untag(self) -> None:
        """The element around the one that is open goes on. One that nothing was drawn in is dropped, but for a table's cell."""
        closed, self.here = self.here, self._stack.pop()
        if type(closed) is int:
            tree = self.tree
            if tree.first[closed] == NONE and tree.marks[closed] == NONE and tree.above[closed] == self.here:
                tree.drop_if_empty(closed)

    def _go(self, apart: Open) -> None:
        self._stack.append(self.here)
        self.here = apart

    def figure(self, says: str, box: Box) -> None:
        """A picture, with its words for whoever cannot see it and its place on the page. Ends with `untag`."""
        where = " ".join(f"{n:.2f}" for n in box)
        self.tag("Figure", f"/Alt{text_string(says)}/A<</O/Layout/Placement/Block/BBox[{where}]>>")

    def aside(self, kind: str = "") -> None:
        """What is drawn until `untag` is no part of the document's text: Header and Footer say that the page bears it."""
        self._go(Apart(f"/Artifact<</Type/Pagination/Subtype/{kind}>>BDC" if kind else PLAIN.begins))

    def stand_for(self, says: str) -> None:
        """What is drawn until `untag` reads as these words. Among artifacts it stays one."""
        here = self.here
        if here == ROOT:
            here = self.tree.add("P", ROOT)
        owner = here if type(here) is int else here.owner  # type: ignore[union-attr]
        self._go(here if owner < 0 else Apart(says, owner))

    def named(self, name: str) -> None:
        """Names the element that is open, so that cells can lead to it."""
        if type(self.here) is int:
            self.tree.name(self.here, name)

    def read_first(self, count: int) -> None:
        """The last so many elements of the document come before all others."""
        held = self.tree.things(ROOT)
        self.tree.put(ROOT, [*held[-count:], *held[:-count]])

    def row(self, extras: Sequence[str]) -> None:
        """A row of a table with so many cells of data; each says more by its entry. Ends with `untag`."""
        here = self.here
        self._stack.append(here)
        if type(here) is int:
            self.here = row = self.tree.add_row(here, extras)
            self._cells = range(row + 1, row + 1 + len(extras))

    def cell_links(self, box: Box, leads: str, says: str, inside: bool = False) -> None:
        """The text of the last cell of the row is a link to an address, or to a key inside the document."""
        cells = self._cells
        element = self.tree.add("Link", cells[-1])
        self._cells = (*cells[:-1], element)
        self._press(box, self._bookmarkReference(leads) if inside else leads, says, element)

    def write(self, x: float, y: float, words: str, face: str, size: float, colour: Ink) -> None:
        """One line of text from x, y. Text that nobody said more of is a paragraph."""
        code, here = self._code, self.here
        code.append(colour.fill)
        if here != self._marked or here == ROOT:
            self._mark_text()
        code.append(self.line_of_text(x, y, words, face, size))

    def write_as(
        self, kind: str, extra: str, x: float, y: float, words: str, face: str, size: float, colour: Ink, name: str = ""
    ) -> None:
        """One line of text that is an element of its own, which holds nothing else; with a name, cells can lead to it."""
        here = self.here
        if type(here) is not int or self._formData is not None:
            self.write(x, y, words, face, size, colour)
            return
        element = self.tree.add(kind, here, extra)
        if name:
            self.tree.name(element, name)
        begins = f"{colour.fill}\nEMC\n" if self._marked is not None else f"{colour.fill}\n"
        self._marked = element
        self._code.append(f"{begins}{self._begin(element)}\n{self.line_of_text(x, y, words, face, size)}")

    def write_heads(self, y: float, heads: Sequence[tuple[float, str]], names: Sequence[str], look: Look) -> None:
        """A row of heads of columns: of each its left edge, its words, and the name by which cells lead to it, if it has one."""
        here = self.here
        if type(here) is not int:
            for x, words in heads:
                if words:
                    self.write(x, y, words, look.face, look.size, look.colour)
            return
        row = self.tree.add_row(here, column_heads(len(heads)), "TH")
        code = self._code
        for element, ((x, words), name) in enumerate(zip(heads, names, strict=True), row + 1):
            if name:
                self.tree.name(element, name)
            if words:
                begins = f"{look.colour.fill}\nEMC" if self._marked is not None else look.colour.fill
                line = self.line_of_text(x, y, words, look.face, look.size)
                code.append(f"{begins}\n{self._begin(element)}\n{line}")
                self._marked = element

    def write_cells(self, y: float, lefts: Iterable[float], cells: Iterable[Lines], look: Look) -> None:
        """Lines of the row that is open, side by side: of each cell its left edge and its lines, of which it may have none."""
        self._mark(None)
        tree, owners, page = self.tree, self._owners, self._page
        marks, first, pages, said, kinds = tree.marks, tree.first, tree.pages, tree.said, tree.kinds
        mark, shown = len(owners), []
        for element, x, lines in zip(self._cells, lefts, cells, strict=True):
            if any(lines):
                owners.append(element)
                if marks[element] == NONE and first[element] == NONE:
                    pages[element], marks[element] = page, mark
                else:
                    tree.hold_mark(element, page, mark)
                shown.append((f"/{said[kinds[element]]}<</MCID {mark}>>BDC", x, lines))
                mark += 1
        self._code.append(self.text_of_cells(y, shown, look))

    def rule(self, x: float, y: float, right: float, colour: Ink, width: float) -> None:
        """A line across."""
        here, high = self.here, number(y)
        line = f"n {number(x)} {high} m {number(right)} {high} l S"
        if type(here) is int and self._formData is None and self.tree.kind(here) != "Figure":
            marked, self._marked = self._marked, PLAIN
            begins = "" if marked is PLAIN else f"{PLAIN.begins}\n" if marked is None else f"EMC\n{PLAIN.begins}\n"
            self._code.append(f"{colour.stroke}\n{number(width)} w\n{begins}{line}")
            return
        self._code.append(f"{colour.stroke}\n{number(width)} w")
        self._paint()
        self._code.append(line)

    def ticks(self, y: float, ticks: Iterable[tuple[float, float]]) -> None:
        """Lines that go down from y: of each where it stands, and how far down it goes."""
        self._paint()
        high = number(y)
        self._code.extend([f"n {number(x)} {high} m {number(x)} {number(low)} l S" for x, low in ticks])

    def upright(self, x: float, y: float) -> None:
        """Begins to draw along a line that runs upward from x, y; ends with `lie`."""
        self._code.append(f"q\n0 1 -1 0 {number(x)} {number(y)} cm")

    def lie(self) -> None:
        self._code.append("Q")

    def stamp(self, form: str, x: float, y: float, scale: float, says: str = "") -> None:
        """Draws a form smaller or larger with its origin at x, y. `says`: what it reads as."""
        by, here = number(scale), self.here
        placed = f"q\n{by} 0 0 {by} {number(x)} {number(y)} cm"
        if says and type(here) is int and here != ROOT:
            begins = f"EMC\n{self._reads_as(here, says)}" if self._marked is not None else self._reads_as(here, says)
            self._marked = READ
            self._formsinuse.append(form)
            self._code.append(f"{placed}\n{begins}\n/{self._doc.getXObjectName(form)} Do\nQ")
            return
        self._code.append(placed)
        if says:
            self.stand_for(says)
        self.doForm(form)
        if says:
            self.untag()
        self._code.append("Q")

    def stamp_link(
        self, form: str, at: tuple[float, float, float], says: str, leads: str, box: Box, where: str
    ) -> None:
        """A cell of the row that is open, with a form in it that is a link to a key; `at`: its origin, and how much larger it is
        drawn. `says`: what it reads as, `where`: where it leads, in words."""
        here: Any = self.here
        document: Any = self._doc
        x, y, scale = at
        mark, by, marked = len(self._owners), number(scale), self._marked
        link = document.objectcounter = document.objectcounter + 1
        element = self.tree.add_link_cell(here, self._page, mark, link)
        self._owners.append(element)
        self._annotationrefs.append(link)
        self._pressed.add(link, box, len(self._keys.owners), self._bookmarkReference(leads), where)
        self._keys.owners.append(element)
        self._formsinuse.append(form)
        self._marked = READ
        self._code.append(
            f"q\n{by} 0 0 {by} {number(x)} {number(y)} cm\n{'' if marked is None else ENDED}/Span<</MCID {mark}/ActualText"
            f"{text_string(says)}>>BDC\n/{document.getXObjectName(form)} Do\nQ"
        )

    def _begins(self, element: Open) -> str:
        """What begins a mark of the element, or of what stands apart."""
        if type(element) is int:
            return self._begin(element)
        owner, begins = element.owner, element.begins  # type: ignore[union-attr]
        return begins if owner < 0 else self._reads_as(owner, begins)

    def _reads_as(self, owner: int, says: str) -> str:
        """What begins a mark that reads as these words."""
        mark = len(self._owners)
        self._owners.append(owner)
        self.tree.hold_mark(owner, self._page, mark)
        return f"/Span<</MCID {mark}/ActualText{text_string(says)}>>BDC"

    def _begin(self, element: int) -> str:
        owners, tree = self._owners, self.tree
        mark = len(owners)
        owners.append(element)
        if tree.marks[element] == NONE and tree.first[element] == NONE:
            tree.pages[element], tree.marks[element] = self._page, mark
        else:
            tree.hold_mark(element, self._page, mark)
        return f"/{tree.said[tree.kinds[element]]}<</MCID {mark}>>BDC"

    def _mark(self, element: Open | None) -> None:
        if element == self._marked or self._formData is not None:
            return
        if self._marked is not None:
            self._code.append("EMC")
        self._marked = element
        if element is not None:
            self._code.append(self._begins(element))

    def _paint(self) -> None:
        here = self.here
        self._mark(here if type(here) is not int or self.tree.kind(here) == "Figure" else PLAIN)

    def _mark_text(self) -> None:
        if self.here == ROOT:
            self.tag("P")
            self._mark(self.here)
            self.untag()
        else:
            self._mark(self.here)

    def drawText(self, aTextObject: Any) -> None:
        self._mark_text()
        super().drawText(aTextObject)

    def line(self, *args: Any, **named: Any) -> None:
        self._paint()
        super().line(*args, **named)

    def rect(self, *args: Any, **named: Any) -> None:
        self._paint()
        super().rect(*args, **named)

    def circle(self, *args: Any, **named: Any) -> None:
        self._paint()
        super().circle(*args, **named)

    def drawPath(self, *args: Any, **named: Any) -> None:
        self._paint()
        super().drawPath(*args, **named)

    def clipPath(self, *args: Any, **named: Any) -> None:
        self._paint()
        super().clipPath(*args, **named)

    def doForm(self, name: str) -> None:
        self._paint()
        super().doForm(name)

    def showPage(self) -> None:
        self._mark(None)
        self._page += 1
        self.page_keys.append(len(self._keys))
        self._keys.add_page(self._owners)
        self._owners = array("i")
        super().showPage()

    def linkURL(self, url: str, rect: Any, relative: int = 0, thickness: int = 0, **named: Any) -> None:
        self._link(rect, url, named.get("says") or url)

    def linkRect(self, contents: str, destinationname: str, Rect: Any = None, **named: Any) -> None:
        """A link to a place in this document; `contents` says which."""
        self._link(Rect, self._bookmarkReference(destinationname), contents)

    def _link(self, rect: Any, leads: Any, says: str) -> None:
        alone = type(self.here) is not int or self.tree.kind(self.here) != "Link"
        if alone:
            self.tag("Link")
        self._press(rect, leads, says, self.here)
        if alone:
            self.untag()

    def _press(self, rect: Any, leads: Any, says: str, element: Any) -> None:
        """Every link belongs to an element."""
        document: Any = self._doc
        link = document.objectcounter = document.objectcounter + 1
        self._annotationrefs.append(link)
        self._pressed.add(link, rect, len(self._keys.owners), leads, says)
        self._keys.owners.append(element)
        if type(element) is int:
            self.tree.hold_link(element, self._page, link)

    def body(self, number: int) -> bytes | str:
        return self._pressed.next(self._doc) if self._pressed.is_next(number) else super().body(number)

    def _setAnnotations(self, page: Any) -> None:
        if self._annotationrefs:
            page.Annots = _Links(self._annotationrefs)

    def save(self) -> None:
        """Writes the file: what was drawn, with its structure and all that it says of itself."""
        if self._code:
            self.showPage()
        drawn = self.drawn()
        numbers = self._doc.idToObjectNumberAndVersion
        pages = [numbers[f"Page{n + 1}"][0] for n in range(self._page)]
        entries = {page: f"/Tabs/S/StructParents {key}" for page, key in zip(pages, self.page_keys, strict=True)}
        order = self.tree.in_order()
        added = Parts(entries, len(order) + 2, lambda root: self.tree.written(order, self._keys, root, pages))
        archive(drawn, added, self.about, self._filename, self.level)


class tagged:
    """What is drawn within belongs to an element of this kind. A generator would cost more than what it opens."""

    __slots__ = ("c", "extra", "kind")

    def __init__(self, c: Any, kind: str, extra: str = "") -> None:
        self.c, self.kind, self.extra = c, kind, extra

    def __enter__(self) -> None:
        self.c.tag(self.kind, self.extra)

    def __exit__(self, *failed: object) -> None:
        self.c.untag()


@contextmanager
def aside(c: Any, kind: str = "") -> Iterator[None]:
    c.aside(kind)
    yield
    c.untag()


@contextmanager
def stands_for(c: Any, says: str) -> Iterator[None]:
    c.stand_for(says)
    yield
    c.untag()


@contextmanager
def figure(c: Any, says: str, box: Box) -> Iterator[None]:
    c.figure(says, box)
    yield
    c.untag()
