"""Counts on a page, counted again in its rows.

`data-counts="out lines"` on a sentence names what its numbers count, in the order in which they stand in the text, in words or
figures; where no number stands there, it claims that there is none of each. `data-row="out"` marks each row that is counted.
Rows are counted on the whole page, or within the nearest element with `data-within`; a tile that leads elsewhere says with
`data-at` on which page its rows stand. Days, times and codes in the text are no counts.
"""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser

from clinic.rules.words import NUMBERS

VOID = frozenset(
    [
        "area",
        "base",
        "br",
        "col",
        "embed",
        "hr",
        "img",
        "input",
        "link",
        "meta",
        "source",
        "track",
        "wbr",
        "use",
        "path",
        "line",
        "circle",
        "rect",
    ]
)
MONTHS = "Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec"
NO_COUNT = re.compile(
    rf"\b\d{{1,2}}(?: (?:{MONTHS})[a-z]*\.?)(?: \d{{4}})?|\b\d{{4}}-\d\d-\d\d\b|\b\d\d?:\d\d\b|\b[A-Z]+-?\d[\w-]*|\d+ %"
)
WORDS = {word: number for number, word in enumerate(NUMBERS)} | {"nothing": 0, "nobody": 0, "none": 0}
NUMBER = re.compile(rf"\b(\d[\d,]*|{'|'.join(WORDS)})\b", re.I)
NONE_SAID = re.compile(r"\b(no|none|nothing|nobody|every|everything|everybody|all)\b", re.I)
# A number before a small word counts something: "3 duties", "two of nine".
COUNTING = re.compile(
    rf"(?<![\w.,])(\d+(?:,\d{{3}})*|{'|'.join(w for w in NUMBERS if w not in ('no', 'one'))}) (?=[a-z])", re.I
)
HEADS = ("h1", "h2", "caption", "summary")


@dataclass(slots=True)
class Node:
    """One element. `bits`: its texts and elements in order."""

    tag: str
    attrs: dict[str, str]
    parent: "Node | None" = None
    bits: "list[Node | str]" = field(default_factory=list)

    @property
    def text(self) -> str:
        whole = "".join(bit if isinstance(bit, str) else f"{bit.text}{' ' * (bit.tag != 'span')}" for bit in self.bits)
        return " ".join(whole.split())

    def walk(self) -> "Iterator[Node]":
        yield self
        for bit in self.bits:
            if isinstance(bit, Node):
                yield from bit.walk()

    def up(self) -> "Iterator[Node]":
        here: Node | None = self
        while here is not None:
            yield here
            here = here.parent

    def words(self, name: str) -> list[str]:
        return self.attrs.get(name, "").split()


class _Builder(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.here = self.root = Node("page", {})

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        node = Node(tag, {name: value or "" for name, value in attrs}, self.here)
        self.here.bits.append(node)
        if tag not in VOID:
            self.here = node

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.here.bits.append(Node(tag, {name: value or "" for name, value in attrs}, self.here))

    def handle_endtag(self, tag: str) -> None:
        opened = next((node for node in self.here.up() if node.tag == tag), None)
        if opened is not None and opened.parent is not None:
            self.here = opened.parent

    def handle_data(self, data: str) -> None:
        if self.here.tag not in ("script", "style"):
            self.here.bits.append(data)


def parsed(html: str) -> Node:
    builder = _Builder()
    builder.feed(html)
    return builder.root


def numbers(text: str) -> list[int]:
    """Those that stand in a text, in words or figures; days, times, codes and shares are none."""
    found = NUMBER.findall(NO_COUNT.sub(" ", text))
    return [WORDS[word.lower()] if word.lower() in WORDS else int(word.replace(",", "")) for word in found]


def claimed(text: str, names: list[str]) -> list[int] | None:
    """What the text claims of each name; None where it cannot be read."""
    found = numbers(text)
    if len(found) == len(names):
        return found
    if NONE_SAID.search(text) and not any(found):
        return [0] * len(names)
    return None


def rows(scopes: list[Node], name: str) -> int:
    """Each row once, or as often as its `data-times` says, where it stands for so many days or pieces."""
    here = (node for scope in scopes for node in scope.walk() if name in node.words("data-row"))
    return sum(int(node.attrs.get("data-times") or 1) if node.attrs.get("data-times") != "0" else 0 for node in here)


def wrong_counts(pages: list[Node], elsewhere: Callable[[str], Node | None] = lambda href: None) -> list[str]:
    """Every sentence of the first page whose number is not that of its rows. `pages`: the page, and its further pages
    where its list is cut into several; `elsewhere`: the page at an address."""
    found = []
    for node in pages[0].walk():
        names = node.words("data-counts")
        if not names:
            continue
        says = claimed(node.text, names)
        scope = next((each for each in node.up() if "data-within" in each.attrs), None)
        scopes = [scope] if scope else pages
        if at := node.attrs.get("data-at"):
            there = elsewhere(at)
            if there is None:
                continue
            scopes = [there]
        counted = [rows(scopes, name) for name in names]
        if says != counted:
            found.append(f"“{node.text[:160]}” counts {', '.join(names)}; the rows are {counted}")
    return found


def counts_on(page: Node) -> int:
    return sum("data-counts" in node.attrs for node in page.walk())


def unmarked(page: Node) -> list[str]:
    """Heads that count something without saying what."""
    return [
        f"<{node.tag}> {node.text[:120]}"
        for node in page.walk()
        if node.tag in HEADS and COUNTING.search(NO_COUNT.sub("#", bare(node)))
    ]


def bare(node: Node) -> str:
    """The text of a head without what is marked as a count or as a figure, and without links and buttons."""
    if node.attrs.keys() & {"data-counts", "data-figure"} or node.tag in ("a", "button", "svg", "details"):
        return "" if node.tag != "summary" else "#"
    return " ".join("".join(bit if isinstance(bit, str) else bare(bit) for bit in node.bits).split())
