"""The structure of a document as it grows, and as it stands in the file (ISO 32000-1, 14.7.2 and 14.7.4).

A binder has hundreds of thousands of elements, and most are a cell with one mark: so an element is a number, and lists hold
what is known of each. Objects of their own would be walked again and again by whatever looks for those nobody needs.
"""

from array import array
from collections.abc import Iterator, Sequence
from typing import Any

CELLS = ("TD", "TH")


class Tree:
    """Of each element by its number: its kind, its further entries, the element it stands in (-1: none), the page on which it
    begins (-1: none yet), and what it holds.

    What it holds is None, one thing or a list of things: a mark on its own page by number, a mark on another page as (page,
    mark), an element as -1 less its number, or a link as (page, number of its object, True).
    """

    __slots__ = ("above", "extras", "kids", "kinds", "names", "pages")

    def __init__(self) -> None:
        self.kinds, self.extras, self.above, self.pages = ["Document"], [""], [-1], [-1]
        self.kids: list[Any] = [None]
        self.names: list[tuple[str, int]] = []

    def add(self, kind: str, above: int, extra: str = "") -> int:
        """A new element, the last in the one above."""
        element = len(self.kinds)
        self.kinds.append(kind)
        self.extras.append(extra)
        self.above.append(above)
        self.pages.append(-1)
        kids = self.kids
        kids.append(None)
        held = kids[above]
        if type(held) is list:
            held.append(-1 - element)
        else:
            kids[above] = -1 - element if held is None else [held, -1 - element]
        return element

    def add_cells(self, row: int, extras: Sequence[str]) -> list[int]:
        """New cells of data, all that an empty row holds."""
        first, count = len(self.kinds), len(extras)
        self.kinds += ["TD"] * count
        self.extras += extras
        self.above += [row] * count
        self.pages += [-1] * count
        self.kids += [None] * count
        self.kids[row] = [-1 - cell for cell in range(first, first + count)]
        return list(range(first, first + count))

    def hold(self, element: int, kid: Any) -> None:
        held = self.kids[element]
        if held is None:
            self.kids[element] = kid
        elif type(held) is list:
            held.append(kid)
        else:
            self.kids[element] = [held, kid]

    def hold_mark(self, element: int, page: int, mark: int) -> None:
        if self.kids[element] is None:
            self.pages[element], self.kids[element] = page, mark
            return
        if self.pages[element] < 0:
            self.pages[element] = page
        self.hold(element, mark if self.pages[element] == page else (page, mark))

    def hold_link(self, element: int, page: int, link: int) -> None:
        if self.pages[element] < 0:
            self.pages[element] = page
        self.hold(element, (page, link, True))

    def drop_if_empty(self, element: int) -> None:
        """Takes the element out again where nothing is in it, but for a table's cell."""
        if self.kids[element] is None and self.kinds[element] not in CELLS:
            above = self.above[element]
            kids = [kid for kid in self.held_by(above) if kid != -1 - element]
            self.kids[above] = kids or None

    def held_by(self, element: int) -> list[Any]:
        held = self.kids[element]
        return held if type(held) is list else [] if held is None else [held]

    def name(self, element: int, name: str) -> None:
        self.names.append((name, element))
        self.extras[element] += f"/ID({name})"

    def in_order(self) -> list[int]:
        """Every element in the order in which it is read."""
        kids, order = self.kids, []

        def count(element: int) -> None:
            order.append(element)
            held = kids[element]
            if type(held) is list:
                for kid in held:
                    if type(kid) is int and kid < 0:
                        within = kids[-1 - kid]
                        if within is None or (type(within) is int and within >= 0):
                            order.append(-1 - kid)
                        else:
                            count(-1 - kid)
            elif type(held) is int and held < 0:
                count(-1 - held)

        count(0)
        return order

    def written(self, order: Sequence[int], keys: Sequence[Any], root: int, pages: Sequence[int]) -> Iterator[str]:
        """The root, each element in order, and the tree that leads from marks to elements; numbered on from the root. `keys`:
        of each number of that tree, the elements of a page's marks, or the one of a link."""
        kinds, extras, above, on, kids = self.kinds, self.extras, self.above, self.pages, self.kids
        numbers = array("l", bytes(array("l").itemsize * len(kinds)))
        for number, element in enumerate(order, root + 1):
            numbers[element] = number
        names = sorted(self.names, key=lambda each: each[0])
        ids = " ".join(f"({name}){numbers[element]} 0 R" for name, element in names)
        named = f"/IDTree<</Names[{ids}]>>" if ids else ""
        parents = root + len(order) + 1
        yield f"<</Type/StructTreeRoot/K {root + 1} 0 R/ParentTree {parents} 0 R/ParentTreeNextKey {len(keys)}{named}>>"
        numbers.append(root)  # what stands above the first
        begins = [*(f"/Pg {page} 0 R" for page in pages), ""]  # the last is that of an element with nothing on any page
        for element in order:
            held = kids[element]
            if type(held) is int and held >= 0:  # a mark, as most hold
                said = f"/K {held}"
            elif held is None:
                said = ""
            elif type(held) is list and len(held) > 1:
                said = f"/K[{' '.join([_held(kid, numbers, pages) for kid in held])}]"
            else:
                said = f"/K {_held(held[0] if type(held) is list else held, numbers, pages)}"
            yield f"<</S/{kinds[element]}/P {numbers[above[element]]} 0 R{begins[on[element]]}{said}{extras[element]}>>"
        yield f"<</Nums[{' '.join([f'{n} {_owner(key, numbers)}' for n, key in enumerate(keys)])}]>>"


def _held(kid: Any, numbers: Sequence[int], pages: Sequence[int]) -> str:
    if type(kid) is int:
        return str(kid) if kid >= 0 else f"{numbers[-1 - kid]} 0 R"
    if len(kid) == 3:
        return f"<</Type/OBJR/Obj {kid[1]} 0 R/Pg {pages[kid[0]]} 0 R>>"
    return f"<</Type/MCR/Pg {pages[kid[0]]} 0 R/MCID {kid[1]}>>"


def _owner(key: Any, numbers: Sequence[int]) -> str:
    if type(key) is int:
        return f"{numbers[key]} 0 R"
    return f"[{' '.join([f'{numbers[element]} 0 R' for element in key])}]"
