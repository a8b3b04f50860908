"""A canvas that says what it draws: each piece of text belongs to an element of the document's structure, everything else is
an artifact. The structure tree, by which a screen reader finds its way, is written once the drawing is done.

ISO 32000-1, 14.7 (structure) and 14.8 (tagged PDF); ISO 14289-1 (PDF/UA-1) says which of it is asked. The names of elements
are those of 14.8.4. A mark is opened only when something is drawn, so that what is drawn is the same with marks or without.
"""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any
from urllib.parse import quote

from reportlab import rl_config
from reportlab.pdfbase.pdfdoc import PDFObject
from reportlab.pdfgen.canvas import Canvas as Bare

from .archive import About, Parts, archived
from .strings import text_string

COLUMN_HEAD, ROW_HEAD = "/A<</O/Table/Scope/Column>>", "/A<</O/Table/Scope/Row>>"
DECIMAL = "/A<</O/List/ListNumbering/Decimal>>"
CELLS = ("TD", "TH")
PRINTED = 4  # the flag of a note that is printed with its page
ADDRESS = "%:/?#[]@!$&'*+,;=~-._"  # what stands in an address as it is; brackets would end a string of the file

Box = tuple[float, float, float, float]


class TagElement:
    """A node of the structure. `kids`: elements, (page, mark) of content, and (page, number of the object) of links.

    `owner` is the element that marks made here belong to: another one where this only stands for what it says."""

    __slots__ = ("begins", "extra", "kids", "kind", "number", "owner", "page", "paints", "parent")

    def __init__(self, kind: str, parent: "TagElement | None", extra: str = "") -> None:
        self.kind, self.parent, self.extra, self.owner = kind, parent, extra, self
        self.kids: list[Any] = []
        self.begins, self.number, self.page, self.paints = "", 0, -1, kind == "Figure"


class _Link(PDFObject):
    """A link as it stands in the file: where it is pressed, where it leads, in words too, and its place in the structure."""

    def __init__(self, rect: Sequence[float], leads: Any, says: str, key: int) -> None:
        self.rect, self.leads, self.says, self.key = rect, leads, says, key

    def format(self, document: Any) -> bytes:
        if isinstance(self.leads, str):
            leads = f"/A<</S/URI/URI({quote(self.leads, safe=ADDRESS)})>>"
        else:
            leads = f"/Dest {self.leads.format(document).decode('latin1')}"
        rect = " ".join(f"{n:.2f}" for n in self.rect)
        return (
            f"<</Type/Annot/Subtype/Link/F {PRINTED}/Border[0 0 0]/Rect[{rect}]/StructParent {self.key}"
            f"/Contents{text_string(self.says)}{leads}>>"
        ).encode("latin1")


class Canvas(Bare):
    """Draws as the canvas of the library does, and marks as it draws."""

    def __init__(self, *args: Any, **named: Any) -> None:
        rl_config.useA85 = 0  # letters for bytes would make each page a quarter longer, for mail of long ago
        self.root = self.here = TagElement("Document", None)
        self._stack: list[TagElement] = []
        self._marked: TagElement | None = None
        self._plain = TagElement("Artifact", None)
        self._plain.begins = "/Artifact BMC"
        self._owners: list[TagElement] = []
        self._cells: list[TagElement] = []
        self._keys: list[Any] = []  # of each number of the parent tree: the elements of a page's marks, or of one link
        self.page_keys: list[int] = []  # of each page, its number in the parent tree
        self.about = About("", "", "")
        self._ids: list[tuple[str, TagElement]] = []
        super().__init__(*args, **named)

    def tag(self, kind: str, extra: str = "") -> None:
        """What is drawn until `untag` belongs to a new element of this kind inside the one that is open."""
        if self.here.kind == "Artifact":
            self._go(self.here)
            return
        element = TagElement(kind, self.here, extra)
        self.here.kids.append(element)
        self._go(element)

    def paragraph(self) -> None:
        """A paragraph, unless an element is open already. Ends with `untag`."""
        if self.here is self.root:
            self.tag("P")
        else:
            self._go(self.here)

    def untag(self) -> None:
        """The element around the one that is open goes on. One that nothing was drawn in is dropped, but for a table's cell."""
        closed, self.here = self.here, self._stack.pop()
        if not closed.kids and closed.kind not in CELLS and closed is not self.here and closed.parent is self.here:
            self.here.kids.remove(closed)

    def _go(self, element: TagElement) -> None:
        self._stack.append(self.here)
        self.here = element

    def figure(self, says: str, box: Box) -> None:
        """A picture, with its words for whoever cannot see it and its place on the page. Ends with `untag`."""
        where = " ".join(f"{n:.2f}" for n in box)
        self.tag("Figure", f"/Alt{text_string(says)}/A<</O/Layout/Placement/Block/BBox[{where}]>>")

    def aside(self, kind: str = "") -> None:
        """What is drawn until `untag` is no part of the document's text: Header and Footer say that the page bears it."""
        aside = TagElement("Artifact", None)
        aside.begins = f"/Artifact<</Type/Pagination/Subtype/{kind}>>BDC" if kind else "/Artifact BMC"
        aside.paints = True
        self._go(aside)

    def stand_for(self, says: str) -> None:
        """What is drawn until `untag` reads as these words. Among artifacts it stays one."""
        if self.here.kind == "Artifact":
            self._go(self.here)
            return
        if self.here is self.root:
            self.root.kids.append(TagElement("P", self.root))
        owner = self.root.kids[-1] if self.here is self.root else self.here.owner
        stand = TagElement("Span", None)
        stand.owner, stand.begins, stand.paints = owner, f"/ActualText{text_string(says)}", True
        self._go(stand)

    def named(self, name: str) -> None:
        """Names the element that is open, so that cells can lead to it."""
        if self.here.kind != "Artifact":
            self._ids.append((name, self.here))
            self.here.extra += f"/ID({name})"

    def read_first(self, count: int) -> None:
        """The last so many elements of the document come before all others."""
        kids = self.root.kids
        kids[:] = [*kids[-count:], *kids[:-count]]

    def row(self, extras: Sequence[str]) -> None:
        """A row of a table with so many cells of data; each says more by its entry. Ends with `untag`."""
        self.tag("TR")
        self._cells = [TagElement("TD", self.here, extra) for extra in extras]
        self.here.kids.extend(self._cells)

    def cell_links(self, n: int) -> None:
        """The text of cell n is a link, which is made until `untag`."""
        link = TagElement("Link", self._cells[n])
        self._cells[n].kids.append(link)
        self._cells[n] = link
        self._go(link)

    def mark_cell(self, words: Any, n: int) -> None:
        """The next lines of this text are those of cell n; ends with `unmark_cell`."""
        words._code.append(self._begins(self._cells[n]))

    def unmark_cell(self, words: Any) -> None:
        words._code.append("EMC")

    def draw_cells(self, words: Any) -> None:
        self._mark(None)
        super().drawText(words)

    def _begins(self, element: TagElement) -> str:
        if element.kind == "Artifact":
            return element.begins
        owner, number = element.owner, len(self._owners)
        self._owners.append(owner)
        owner.kids.append((len(self.page_keys), number))
        if owner.page < 0:
            owner.page = len(self.page_keys)
        return f"/{element.kind}<</MCID {number}{element.begins}>>BDC"

    def _mark(self, element: TagElement | None) -> None:
        if element is self._marked or self._formData is not None:
            return
        if self._marked is not None:
            self._code.append("EMC")
        self._marked = element
        if element is not None:
            self._code.append(self._begins(element))

    def _paint(self) -> None:
        self._mark(self.here if self.here.paints else self._plain)

    def drawText(self, aTextObject: Any) -> None:
        if self.here is self.root:  # text that nobody said more of is a paragraph
            self.tag("P")
            self._mark(self.here)
            self.untag()
        else:
            self._mark(self.here)
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
        self.page_keys.append(len(self._keys))
        self._keys.append(self._owners)
        self._owners = []
        super().showPage()

    def linkURL(self, url: str, rect: Any, relative: int = 0, thickness: int = 0, **named: Any) -> None:
        self._link(rect, url, named.get("says") or url)

    def linkRect(self, contents: str, destinationname: str, Rect: Any = None, **named: Any) -> None:
        """A link to a place in this document; `contents` says which."""
        self._link(Rect, self._bookmarkReference(destinationname), contents)

    def _link(self, rect: Any, leads: Any, says: str) -> None:
        alone = self.here.kind != "Link"
        if alone:
            self.tag("Link")
        link = _Link(self._absRect(rect, 0), leads, says, len(self._keys))
        self._keys.append(self.here)
        self._addAnnotation(link)
        number = self._doc.idToObjectNumberAndVersion[link.__InternalName__][0]  # type: ignore[attr-defined]
        self.here.kids.append((len(self.page_keys), number, "link"))
        if self.here.page < 0:
            self.here.page = len(self.page_keys)
        if alone:
            self.untag()

    def finished(self, data: bytes) -> bytes:
        """The file that was drawn, with its structure and all that it says of itself."""
        document = self._doc
        numbers = {name: number for name, (number, _) in document.idToObjectNumberAndVersion.items()}
        places = {numbers[name]: place for name, place in document.idToOffset.items()}
        pages = [numbers[f"Page{n + 1}"] for n in range(len(self.page_keys))]
        entries = {page: f"/Tabs/S/StructParents {key}" for page, key in zip(pages, self.page_keys, strict=True)}
        objects = list(_objects(self, len(places) + 1, pages))
        names = (document.Catalog.__InternalName__, document.info.__InternalName__)
        return archived(data, places, Parts(entries, objects, *(numbers[name] for name in names)), self.about)


@contextmanager
def tagged(c: Any, kind: str, extra: str = "") -> Iterator[None]:
    """What is drawn within belongs to an element of this kind."""
    c.tag(kind, extra)
    yield
    c.untag()


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


def _objects(c: Canvas, root: int, pages: Sequence[int]) -> Iterator[str]:
    """The root, each element, and the tree that leads from marks to elements; numbered on from the root."""
    order, stack = [], [c.root]
    while stack:
        element = stack.pop()
        order.append(element)
        element.number = root + len(order)
        stack.extend(kid for kid in reversed(element.kids) if type(kid) is TagElement)
    parents = root + len(order) + 1
    ids = " ".join(f"({name}){element.number} 0 R" for name, element in sorted(c._ids, key=lambda each: each[0]))
    named = f"/IDTree<</Names[{ids}]>>" if ids else ""
    yield f"<</Type/StructTreeRoot/K {root + 1} 0 R/ParentTree {parents} 0 R/ParentTreeNextKey {len(c._keys)}{named}>>"
    for element in order:
        above = element.parent.number if element.parent else root
        page = f"/Pg {pages[element.page]} 0 R" if element.page >= 0 else ""
        kids = [_kid(kid, element.page, pages) for kid in element.kids]
        held = f"/K {kids[0]}" if len(kids) == 1 else f"/K[{' '.join(kids)}]" if kids else ""
        yield f"<</S/{element.kind}/P {above} 0 R{page}{held}{element.extra}>>"
    yield f"<</Nums[{' '.join(f'{n} {_owner(key)}' for n, key in enumerate(c._keys))}]>>"


def _kid(kid: Any, page: int, pages: Sequence[int]) -> str:
    if type(kid) is TagElement:
        return f"{kid.number} 0 R"
    if len(kid) == 3:
        return f"<</Type/OBJR/Obj {kid[1]} 0 R/Pg {pages[kid[0]]} 0 R>>"
    if kid[0] == page:
        return str(kid[1])
    return f"<</Type/MCR/Pg {pages[kid[0]]} 0 R/MCID {kid[1]}>>"


def _owner(key: Any) -> str:
    if type(key) is TagElement:
        return f"{key.number} 0 R"
    return f"[{' '.join(f'{element.number} 0 R' for element in key)}]"
