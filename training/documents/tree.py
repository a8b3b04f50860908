"""The structure of a document as it grows, and as it stands in the file (ISO 32000-1, 14.7.2 and 14.7.4).

A binder has hundreds of thousands of elements, and most are a cell with one mark: so an element is a number, and rows of
small numbers hold what is known of each. Lists and objects of their own would take ten times the memory.
"""

from array import array
from collections.abc import Iterator, Sequence
from operator import itemgetter
from typing import NamedTuple

EMPTY = 0  # the number of no words
CELLS = ("TD", "TH")
NONE = -1
DROPPED = -2  # what stands above an element that was taken out again
BESIDE = -2  # what is held and is no element stands beside, at this less the number


class Cells(NamedTuple):
    """What the cells of a row say further; and of the row and each of them the number of that, and of its kind."""

    extras: Sequence[str]
    numbers: "array[int]"
    kinds: "array[int]"


BLOCK = array("i", (NONE,)) * 1024


class Tree:
    """Of each element by its number: its kind and its further entries (by number), the element it stands in, the page on which
    it begins, the mark that it began with where that is the first it holds, and the first and the last thing that it holds
    after that. Of each thing, what is held next to it. None of these: -1.

    A thing is an element, or stands beside: a mark on the element's own page, a mark on another page, or a link on a page.
    """

    __slots__ = (
        "above", "beside", "beside_next", "beside_page", "count", "counting", "extras", "first", "kinds", "known", "last", "marks",
        "named", "named_extras", "names", "next", "pages", "room", "rows", "said", "straight", "whole",
    )  # fmt: skip

    def __init__(self) -> None:
        self.known: dict[str, int] = {"": EMPTY}  # kinds, and further entries that come again, by number
        self.said: list[str] = [""]
        self.rows: dict[str, Cells] = {}  # of the row before, by the kind of its cells
        self.kinds, self.extras, self.above, self.pages = array("i"), array("i"), array("i"), array("i")
        self.marks, self.first, self.last, self.next = array("i"), array("i"), array("i"), array("i")
        self.beside, self.beside_page, self.beside_next = array("i"), array("i"), array("i")
        self.names: list[str] = []
        self.named = array("i")  # of each name its element
        self.named_extras = array("i")  # and what that says further beside its name
        self.count, self.room = 1, 0
        self.counting = array("i")  # the numbers of elements, of which pieces are copied
        self.straight = True  # they were made in the order in which they are read
        self.whole = True  # and none was taken out again
        self._grow()
        self.kinds[0], self.extras[0] = self._number("Document"), EMPTY

    def _grow(self) -> None:
        """Room for further elements of which nothing is known."""
        for known in (
            self.kinds, self.extras, self.above, self.pages, self.marks, self.first, self.last, self.next
        ):  # fmt: skip
            known.extend(BLOCK)
        self.counting.extend(range(self.room, self.room + len(BLOCK)))
        self.room += len(BLOCK)

    def _number(self, words: str) -> int:
        found = self.known.get(words)
        return self.known.setdefault(words, self._say(words)) if found is None else found

    def _say(self, words: str) -> int:
        self.said.append(words)
        return len(self.said) - 1

    def kind(self, element: int) -> str:
        return self.said[self.kinds[element]]

    def add(self, kind: str, above: int, extra: str = "") -> int:
        """A new element, the last in the one above."""
        element = self.count
        if element == self.room:
            self._grow()
        self.count = element + 1
        self.kinds[element] = self.known.get(kind) or self._number(kind)
        self.extras[element] = self._number(extra) if extra else EMPTY
        self.above[element] = above
        before = self.last[above]
        if before >= 0:
            self.next[before] = self.last[above] = element
        else:
            self._hold(above, element)
        return element

    def add_row(self, above: int, extras: Sequence[str], kind: str = "TD") -> int:
        """A new row of a table, and in it as many cells, of data or of heads, whose numbers follow on its own."""
        row, count = self.count, len(extras)
        begin, end = row + 1, row + 1 + count
        self.count = end
        while end > self.room:
            self._grow()
        cells = self.rows.get(kind)
        if cells is None or extras is not cells.extras:
            numbers = array("i", [EMPTY, *[self._say(each) if each else EMPTY for each in extras]])
            kinds = array("i", [self._number("TR"), *[self._number(kind)] * count])
            cells = self.rows[kind] = Cells(extras, numbers, kinds)
        self.kinds[row:end], self.extras[row:end] = cells.kinds, cells.numbers
        self.above[row] = above
        self.above[begin:end] = self.counting[row:begin] * count
        self.next[begin : end - 1] = self.counting[begin + 1 : end]
        self.first[row], self.last[row] = begin, end - 1
        before = self.last[above]
        if before >= 0:
            self.next[before] = self.last[above] = row
        else:
            self._hold(above, row)
        return row

    def add_link_cell(self, row: int, page: int, mark: int, link: int) -> int:
        """A new cell of data, and in it a link with its mark; `link`: the number of its object. Returns the element of the link."""
        cell = self.add("TD", row)
        element = self.add("Link", cell)
        beside = BESIDE - len(self.beside)
        self.beside.append(-link)
        self.beside_page.append(page)
        self.beside_next.append(NONE)
        self.pages[element], self.marks[element] = page, mark
        self.first[element] = self.last[element] = beside
        return element

    def _hold(self, element: int, thing: int) -> None:
        """The thing is the last that the element holds."""
        before = self.last[element]
        if before == NONE:
            self.first[element] = thing
        elif before >= 0:
            self.next[before] = thing
        else:
            self.beside_next[BESIDE - before] = thing
        self.last[element] = thing

    def _hold_beside(self, element: int, number: int, page: int) -> None:
        self.beside.append(number)
        self.beside_page.append(page)
        self.beside_next.append(NONE)
        self._hold(element, BESIDE - len(self.beside) + 1)

    def hold_mark(self, element: int, page: int, mark: int) -> None:
        if self.is_empty(element):
            self.pages[element], self.marks[element] = page, mark
            return
        if self.pages[element] < 0:
            self.pages[element] = page
        self._hold_beside(element, mark, NONE if self.pages[element] == page else page)

    def hold_link(self, element: int, page: int, link: int) -> None:
        """`link`: the number of its object."""
        if self.pages[element] < 0:
            self.pages[element] = page
        self._hold_beside(element, -link, page)

    def is_empty(self, element: int) -> bool:
        return self.marks[element] == NONE and self.first[element] == NONE

    def drop_if_empty(self, element: int) -> None:
        """Takes the element out again where nothing is in it, but for a table's cell."""
        if self.is_empty(element) and self.kind(element) not in CELLS:
            above = self.above[element]
            self.above[element], self.whole = DROPPED, False
            if self.first[above] == element:
                self.first[above] = self.next[element]
                if self.last[above] == element:
                    self.last[above] = NONE

    def things(self, element: int) -> list[int]:
        """What it holds after the mark that it began with."""
        return list(self._things(element))

    def _things(self, element: int) -> Iterator[int]:
        thing = self.first[element]
        while thing != NONE:
            if thing >= 0:
                if self.above[thing] != DROPPED:
                    yield thing
                thing = self.next[thing]
            else:
                yield thing
                thing = self.beside_next[BESIDE - thing]

    def put(self, element: int, things: Sequence[int]) -> None:
        """The element holds these, in this order, after the mark that it began with."""
        self.straight = False
        self.first[element] = self.last[element] = NONE
        for thing in things:
            if thing >= 0:
                self.next[thing] = NONE
            else:
                self.beside_next[BESIDE - thing] = NONE
            self._hold(element, thing)

    def name(self, element: int, name: str) -> None:
        """Of an element that has one, the number of its further entries is that of its name, at -1 less it."""
        self.named.append(element)
        self.named_extras.append(self.extras[element])
        self.extras[element] = -1 - len(self.names)
        self.names.append(name)

    def further(self, element: int) -> str:
        """Its further entries as they are written."""
        extra = self.extras[element]
        if extra >= 0:
            return self.said[extra]
        return f"{self.said[self.named_extras[-1 - extra]]}/ID({self.names[-1 - extra]})"

    def in_order(self) -> "array[int]":
        """Every element in the order in which it is read."""
        if self.straight:
            made = self.counting[: self.count]
            return made if self.whole else array("i", [n for n in made if self.above[n] != DROPPED])
        first, after, above, beside, order = self.first, self.next, self.above, self.beside_next, array("i")

        def count(element: int) -> None:
            order.append(element)
            thing = first[element]
            while thing != NONE:
                if thing < 0:
                    thing = beside[BESIDE - thing]
                    continue
                if above[thing] != DROPPED:
                    if first[thing] == NONE:
                        order.append(thing)
                    else:
                        count(thing)
                thing = after[thing]

        count(0)
        return order

    def written(self, order: Sequence[int], keys: "Keys", root: int, pages: Sequence[int]) -> Iterator[str]:
        """The root, each element in order, and the tree that leads from marks to elements; numbered on from the root."""
        numbers = array("i", range(root + 1, root + 1 + self.count))
        if not (self.straight and self.whole):
            for number, element in enumerate(order, root + 1):
                numbers[element] = number
        names = sorted(zip(self.names, self.named, strict=True), key=itemgetter(0))
        ids = " ".join(f"({name}){numbers[element]} 0 R" for name, element in names)
        del names
        named = f"/IDTree<</Names[{ids}]>>" if ids else ""
        parents = root + len(order) + 1
        yield f"<</Type/StructTreeRoot/K {root + 1} 0 R/ParentTree {parents} 0 R/ParentTreeNextKey {len(keys)}{named}>>"
        numbers.append(root)  # what stands above the first
        begins = [*(f"/Pg {page} 0 R" for page in pages), ""]  # the last is that of an element with nothing on any page
        said, columns = self.said, [self.kinds, self.extras, self.above, self.pages, self.marks, self.first, self.last]
        if not (self.straight and self.whole):
            columns = [array("i", map(column.__getitem__, order)) for column in columns]
        same, start = (NONE, NONE, NONE), ""
        for element, kind, extra, above, page, mark, first, last in zip(order, *columns, strict=False):
            more = said[extra] if extra >= 0 else self.further(element)
            if same != (above, kind, page):  # the cells of a row begin alike
                same, start = (above, kind, page), f"<</S/{said[kind]}/P {numbers[above]} 0 R{begins[page]}"
            if first == NONE:  # a mark, as most hold
                yield f"{start}/K {mark}{more}>>" if mark >= 0 else f"{start}{more}>>"
            elif first == last and first >= 0 and mark < 0:
                yield f"{start}/K {numbers[first]} 0 R{more}>>"
            else:
                yield f"{start}{self._held(mark, first, numbers, pages)}{more}>>"
        yield keys.written(numbers)

    def _held(self, mark: int, thing: int, numbers: Sequence[int], pages: Sequence[int]) -> str:
        """The mark that an element began with, where it has one, and from this thing on what it holds."""
        each = [] if mark < 0 else [f"{mark}"]
        above, after, beside = self.above, self.next, self.beside_next
        while thing != NONE:
            if thing >= 0:
                if above[thing] != DROPPED:
                    each.append(f"{numbers[thing]} 0 R")
                thing = after[thing]
            else:
                each.append(self._beside(BESIDE - thing, pages))
                thing = beside[BESIDE - thing]
        return f"/K[{' '.join(each)}]" if len(each) > 1 else f"/K {each[0]}" if each else ""

    def _beside(self, at: int, pages: Sequence[int]) -> str:
        number, page = self.beside[at], self.beside_page[at]
        if number < 0:
            return f"<</Type/OBJR/Obj {-number} 0 R/Pg {pages[page]} 0 R>>"
        return str(number) if page < 0 else f"<</Type/MCR/Pg {pages[page]} 0 R/MCID {number}>>"


class Keys:
    """Of each number of the tree that leads from marks to elements, those of a page's marks, or the one of a link."""

    __slots__ = ("owners", "pages")

    def __init__(self) -> None:
        self.owners = array("i")  # of a link its element; of a page -2 less its number
        self.pages: list[array[int]] = []

    def __len__(self) -> int:
        return len(self.owners)

    def add_page(self, owners: "array[int]") -> None:
        """`owners`: of each mark of the page its element. The element of a link is added to the owners itself."""
        self.owners.append(-2 - len(self.pages))
        self.pages.append(owners)

    def written(self, numbers: Sequence[int]) -> str:
        """In one piece, as it is the longest object by far."""
        each = [
            f"{n} {numbers[owner]} 0 R" if owner >= -1 else f"{n} {self._page(-2 - owner, numbers)}"
            for n, owner in enumerate(self.owners)
        ]
        return f"<</Nums[{' '.join(each)}]>>" if each else ""

    def _page(self, page: int, numbers: Sequence[int]) -> str:
        owners = " 0 R ".join(map(str, map(numbers.__getitem__, self.pages[page])))
        return f"[{owners} 0 R]" if owners else "[]"
