"""What is on the shelf: counted, come in, used; and what is to be ordered. Own rule (D): order where the number is at its line
or below it."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum


class StockSays(StrEnum):
    """What an entry says of the number on the shelf."""

    COUNTED = "counted"
    CAME = "came in"
    USED = "used"


class Shelf(StrEnum):
    """What is kept there. Spare tools are counted by the register, and each filter change uses a filter."""

    TOOL = "milling tool"
    FILTER = "coolant filter"
    ADDITIVE = "additive"
    BLOCK = "blocks and discs"
    OTHER = "something else"


@dataclass(frozen=True, slots=True)
class Moved:
    """One entry, in the order in which they are given."""

    what: StockSays
    number: int
    day: date
    at: datetime  # when it was recorded


def left(moves: Iterable[Moved], used_on: Sequence[tuple[date, datetime]] = ()) -> int:
    """The number on the shelf, never below 0: a count says it, the others add and take away. `used_on`: day and instant of
    each use that the register knows by itself; those recorded after the last count take one each."""
    number, since = 0, None
    for move in moves:
        if move.what is StockSays.COUNTED:
            number, since = move.number, move
        else:
            number = max(0, number + (move.number if move.what is StockSays.CAME else -move.number))
    if since is None:
        return number
    return max(0, number - sum(day >= since.day and at > since.at for day, at in used_on))


@dataclass(frozen=True, slots=True)
class OnShelf:
    """A thing with its number and its line. `order`: how many bring it up to what the site wants there."""

    name: str
    shelf: Shelf
    number: int
    line: int
    full: int

    @property
    def is_low(self) -> bool:
        return self.number <= self.line

    @property
    def order(self) -> int:
        return max(0, self.full - self.number) if self.is_low else 0


def named_in(code: str, texts: Iterable[str]) -> int:
    """How many of the texts name the message, as a word by itself and in any case: W-1 is not named by W-12."""
    word = re.compile(rf"(?<![\w-]){re.escape(code.strip())}(?![\w-])", re.IGNORECASE)
    return sum(bool(word.search(text)) for text in texts) if code.strip() else 0
