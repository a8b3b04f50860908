"""A canvas that says what it draws: each piece of text belongs to an element of the document's structure, everything else is
an artifact. The structure tree, by which a screen reader finds its way, is written once the drawing is done.

ISO 32000-1, 14.7 (structure) and 14.8 (tagged PDF); ISO 14289-1 (PDF/UA-1) says which of it is asked. The names of elements
are those of 14.8.4. A mark is opened only when something is drawn, so that what is drawn is the same with marks or without.
"""

from array import array
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from functools import lru_cache
from typing import Any
from urllib.parse import quote

from reportlab import rl_config
from reportlab.lib.colors import Color
from reportlab.pdfbase.pdfdoc import PDFObject

from .archive import About, Parts, archive
from .pen import Look, Pen, fill_of, number, stroke_of
from .strings import text_string
from .tree import Keys, Tree

COLUMN_HEAD, ROW_HEAD = "/A<</O/Table/Scope/Column>>", "/A<</O/Table/Scope/Row>>"
DECIMAL = "/A<</O/List/ListNumbering/Decimal>>"
PRINTED = 4  # the flag of a note that is printed with its page
ADDRESS = "%:/?#[]@!$&'*+,;=~-._"  # what stands in an address as it is; brackets would end a string of the file

ROOT = 0  # the element of the whole document

Box = tuple[float, float, float, float]


class Apart:
    """What is drawn while it is open is no element of its own: an artifact, or what reads as other words than it shows.

    `begins`: what its mark says. `owner`: the element whose mark it is; -1 for an artifact, which is nobody's."""

    __slots__ = ("begins", "owner")

    def __init__(self, begins: str, owner: int = -1) -> None:
        self.begins, self.owner = begins, owner


PLAIN = Apart("/Artifact BMC")


@lru_cache(maxsize=4096)  # the marks of each page are counted anew
def _begins_with(kind: str, mark: int) -> str:
    return f"/{kind}<</MCID {mark}>>BDC"


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
            leads = f"/Dest {_place(to, document)}"
        left, low, right, top = self.boxes[4 * n : 4 * n + 4]
        return (
            f"<</Type/Annot/Subtype/Link/F {PRINTED}/Border[0 0 0]/Rect[{left:.2f} {low:.2f} {right:.2f} {top:.2f}]"
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


def _place(leads: Any, document: Any) -> str:
    """Where in the document a link leads, as the library writes it; ValueError for a key that nothing was marked by."""
    if leads.page is None:
        raise ValueError(f"Nothing in the document is marked by the key {leads.name}.")
    page, place = document.idToObjectNumberAndVersion[leads.page.name][0], leads.fmt
    return f"[ {page} 0 R /XYZ {number(place.left)} {number(place.top)} {number(place.zoom)} ]"


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
        if type(closed) is int and self.tree.is_empty(closed) and self.tree.above[closed] == self.here:
            self.tree.drop_if_empty(closed)

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
        self._go(here if owner < 0 else Apart(f"/ActualText{text_string(says)}", owner))

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
        self.tag("TR")
        if type(self.here) is int:
            self._cells = self.tree.add_cells(self.here, extras)

    def cell_links(self, n: int) -> None:
        """The text of cell n is a link, which is made until `untag`."""
        link = self.tree.add("Link", self._cells[n])
        self._cells = [*self._cells[:n], link, *self._cells[n + 1 :]]
        self._go(link)

    def write(self, x: float, y: float, words: str, face: str, size: float, colour: Color) -> None:
        """One line of text from x, y. Text that nobody said more of is a paragraph."""
        self._code.append(fill_of(colour))
        if self.here != self._marked or self.here == ROOT:
            self._mark_text()
        self._code.append(self.line_of_text(x, y, words, face, size))

    def write_cells(self, y: float, cells: Iterable[tuple[int, float, Sequence[str]]], look: Look) -> None:
        """Lines of the row that is open, side by side: of each cell which it is, its left edge and its lines."""
        self._mark(None)
        own = self._cells
        marked = [(self._begin(own[n]), x, lines) for n, x, lines in cells]
        self._code.append(self.text_of_cells(y, marked, look))

    def rule(self, x: float, y: float, right: float, colour: Color, width: float) -> None:
        """A line across."""
        self._code.append(stroke_of(colour))
        self._code.append(f"{number(width)} w")
        self._paint()
        self._code.append(f"n {number(x)} {number(y)} m {number(right)} {number(y)} l S")

    def _begins(self, element: Open) -> str:
        """What begins a mark of the element, or of what stands apart."""
        if type(element) is int:
            return self._begin(element)
        owner, more = element.owner, element.begins  # type: ignore[union-attr]
        if owner < 0:
            return more
        mark = len(self._owners)
        self._owners.append(owner)
        self.tree.hold_mark(owner, self._page, mark)
        return f"/Span<</MCID {mark}{more}>>BDC"

    def _begin(self, element: int) -> str:
        owners, tree = self._owners, self.tree
        mark = len(owners)
        owners.append(element)
        tree.hold_mark(element, self._page, mark)
        return _begins_with(tree.kind(element), mark)

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
        self._doc.objectcounter += 1
        link = self._doc.objectcounter
        self._annotationrefs.append(link)
        self._pressed.add(link, rect, len(self._keys), leads, says)
        self._keys.add_link(self.here)  # type: ignore[arg-type]  # every link belongs to an element
        if type(self.here) is int:
            self.tree.hold_link(self.here, self._page, link)
        if alone:
            self.untag()

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
        archive(drawn, added, self.about, self._filename)


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
