"""Where a person or a piece of equipment stands in the words that are drawn: for the index, which names every such page."""

import re
from collections import defaultdict
from collections.abc import Iterable

from training.documents.memo import Memo

from .content import BinderContent

WORD = re.compile(r"\w+")
Found = tuple[tuple[str, str], ...]
"""Kind in the index, and the name."""


class Names:
    """Finds names in words at a cost that does not grow with how many there are, even where all begin with one word: by the
    first word of each, and by how long those are that begin with it."""

    def __init__(self, names: Iterable[tuple[str, str]]) -> None:
        self.kinds: dict[str, str] = {}
        shapes: dict[str, set[tuple[int, int]]] = defaultdict(set)
        for kind, name in sorted(names):
            if first := WORD.search(name):
                self.kinds.setdefault(name, kind)
                shapes[first.group()].add((len(name), first.start()))
        self.shapes = {word: sorted(those, reverse=True) for word, those in shapes.items()}
        self.found = Memo(self.found_in)  # the same cells come up in thousands of rows

    def found_in(self, words: str) -> Found:
        """Each name that stands whole in the words; the longest of those that begin at one place."""
        found: dict[tuple[str, str], None] = {}
        reached = 0
        for word in WORD.finditer(words):
            if word.start() < reached:
                continue
            for length, before in self.shapes.get(word.group(), ()):
                begins = word.start() - before
                ends = begins + length
                name = words[begins:ends] if begins >= 0 else ""
                if name in self.kinds and not words[ends : ends + 1].isalnum():
                    found[self.kinds[name], name] = None
                    reached = ends
                    break
        return tuple(found)


NOBODY = Names(())


def names_in(content: BinderContent) -> Names:
    """Everybody of the roster and of the records, and every piece of equipment that has entries."""
    people = {member.name for member in content.roster} | {person.name for person in content.people}
    units = {year.equipment for year in content.years} | {row.equipment for row in content.upkeep}
    units |= {row[0] for extra in content.extras if extra.grouped for row in extra.rows}
    return Names([*(("People", name) for name in people), *(("Equipment", name) for name in units)])
