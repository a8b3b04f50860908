"""Reading a finished PDF as a screen reader does: along its structure tree, the text of each mark by its number."""

import io
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import pikepdf

# Operators that draw something (ISO 32000-1, table 51, without those that only end a path).
PAINTS = {"S", "s", "f", "F", "f*", "B", "B*", "b", "b*", "Do", "Tj", "TJ", "'", '"', "sh", "EI"}
SHOWS = {"Tj", "TJ", "'", '"'}


@dataclass(slots=True)
class Mark:
    """What stands between a mark's two ends: number (None for an artifact), tag, words, and of an artifact its kind. `stands`:
    it reads otherwise than it is drawn."""

    number: int | None
    tag: str
    says: str
    kind: str = ""
    stands: bool = False
    drawn: str = ""
    page: int = 0


@dataclass(slots=True)
class Node:
    """An element with its parts in reading order: further elements, words, and "link" where it can be pressed."""

    kind: str
    entry: Any
    parts: list[Any] = field(default_factory=list)

    def words(self) -> str:
        return "".join(part.words() if isinstance(part, Node) else part.says for part in self.parts)

    def all(self) -> Iterator["Node"]:
        yield self
        for part in self.parts:
            if isinstance(part, Node):
                yield from part.all()

    def of(self, *kinds: str) -> list["Node"]:
        return [node for node in self.all() if node.kind in kinds]

    def links(self) -> list[Any]:
        return [part.entry for part in self.parts if isinstance(part, Pressed)]


@dataclass(slots=True)
class Pressed:
    """The place that is pressed, of a link."""

    entry: Any
    says: str = ""


class Told:
    """A document as it is told: its tree, and the marks and stray operators of each page."""

    def __init__(self, data: bytes) -> None:
        self.data, self.pdf = data, pikepdf.open(io.BytesIO(data))
        self.codes: dict[Any, set[int]] = {}  # of each font, the codes that are shown
        self.pages = [_page(page, self.codes) for page in self.pdf.pages]
        self._place = {page.obj.objgen: n for n, page in enumerate(self.pdf.pages)}
        self.read: list[tuple[int, int]] = []  # page and number of each mark, in the order of reading
        self.pressed: list[Any] = []
        self.root = self._node(self.pdf.Root.StructTreeRoot.K)

    def _node(self, entry: Any) -> Node:
        node = Node(str(entry.S)[1:], entry)
        kids = entry.get("/K", pikepdf.Array())
        for kid in kids if isinstance(kids, pikepdf.Array) else [kids]:
            node.parts.append(self._part(kid, entry))
        return node

    def _part(self, kid: Any, above: Any) -> Any:
        if isinstance(kid, int):
            return self._mark(above.Pg, kid)
        if kid.get("/Type") == "/MCR":
            return self._mark(kid.Pg, int(kid.MCID))
        if kid.get("/Type") == "/OBJR":
            self.pressed.append(kid.Obj)
            return Pressed(kid.Obj)
        assert kid.P.objgen == above.objgen, "an element names another parent"
        return self._node(kid)

    def _mark(self, page: Any, number: int) -> Mark:
        at = self._place[page.objgen]
        self.read.append((at, number))
        mark = next(mark for mark in self.pages[at][0] if mark.number == number)
        mark.page = at
        return mark

    def strays(self) -> list[tuple[int, str]]:
        """What is drawn outside every mark, by page."""
        return [(n, each) for n, (_, strays) in enumerate(self.pages, start=1) for each in strays]

    def marks(self) -> list[tuple[int, int]]:
        return [
            (n, mark.number) for n, (marks, _) in enumerate(self.pages) for mark in marks if mark.number is not None
        ]

    def words(self, page: int) -> str:
        """Everything on a page, artifacts too."""
        return "".join(mark.says for mark in self.pages[page][0])


def _page(page: Any, used: dict[Any, set[int]]) -> tuple[list[Mark], list[str]]:
    names = dict(page.Resources.get("/Font", {}).items())
    fonts = {str(name): letters_of(font) for name, font in names.items()}
    codes: set[int] = set()
    marks: list[Mark] = []
    strays: list[str] = []
    open_one: Mark | None = None
    letters: dict[int, str] = {}
    for operands, operator in pikepdf.parse_content_stream(page):
        name = str(operator)
        if name in ("BDC", "BMC"):
            assert open_one is None, "a mark within a mark"
            entry = operands[1] if name == "BDC" else {}
            number = entry.get("/MCID") if name == "BDC" else None
            stands = str(entry.get("/ActualText", "")) if name == "BDC" else ""
            kind = str(entry.get("/Subtype", "")) if name == "BDC" else ""
            open_one = Mark(None if number is None else int(number), str(operands[0])[1:], stands, kind, bool(stands))
            marks.append(open_one)
        elif name == "EMC":
            assert open_one is not None, "the end of no mark"
            open_one = None
        elif name == "Tf":
            letters = fonts[str(operands[0])]
            codes = used.setdefault(names[str(operands[0])].objgen, set())
        elif name in PAINTS:
            if open_one is None:
                strays.append(name)
            if name in SHOWS and open_one is not None:
                shown = operands[0] if name == "TJ" else operands[-1:]
                shows = [code for part in shown for code in _codes(part)]
                codes.update(shows)
                words = "".join(letters.get(code, "") for code in shows)
                open_one.drawn += words
                open_one.says += "" if open_one.stands else words
    assert open_one is None, "a mark that goes on beyond its page"
    return marks, strays


def _codes(part: Any) -> bytes:
    return bytes(part) if isinstance(part, pikepdf.String) else b""


def letters_of(font: Any) -> dict[int, str]:
    """By its code, each character that the font says it shows (ISO 32000-1, 9.10.3)."""
    table = font.ToUnicode.read_bytes().decode("latin1")
    found: dict[int, str] = {}
    for block in re.findall(r"beginbfrange(.*?)endbfrange", table, re.S):
        for first, last, given in re.findall(r"<(\w+)>\s*<(\w+)>\s*(\[.*?\]|<\w+>)", block, re.S):
            texts = re.findall(r"<(\w+)>", given)
            for n in range(int(last, 16) - int(first, 16) + 1):
                plain = texts[n] if given[0] == "[" else f"{int(texts[0], 16) + n:04X}"
                found[int(first, 16) + n] = bytes.fromhex(plain).decode("utf-16-be")
    for block in re.findall(r"beginbfchar(.*?)endbfchar", table, re.S):
        for code, plain in re.findall(r"<(\w+)>\s*<(\w+)>", block):
            found[int(code, 16)] = bytes.fromhex(plain).decode("utf-16-be")
    return found
