"""The set of tools that a site wants in a unit for a material, and what of it is not there. Common practice, no source.

A set is changed one tool at a time, with the door shut between (its own procedure): so one swap is named, and then the next.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from clinic.rules.tools import Tool


@dataclass(frozen=True, slots=True)
class PositionWants:
    """What a position is to hold. Without a size any size serves."""

    position: str
    kind: Tool
    size: str = ""

    @property
    def says(self) -> str:
        return f"{self.kind}, {self.size}" if self.size else str(self.kind)


@dataclass(frozen=True, slots=True)
class Sits:
    """A tool of the site. `position`: where it sits in this unit, empty where it does not; `worn`: past its life."""

    name: str
    kind: Tool
    size: str = ""
    positions: tuple[str, ...] = ()
    position: str = ""
    worn: bool = False


@dataclass(frozen=True, slots=True)
class Position:
    """A position with what is wanted there, what sits there, and which tools in their holders would serve."""

    wanted: PositionWants
    sits: Sits | None
    spares: tuple[str, ...] = ()

    @property
    def is_right(self) -> bool:
        return self.sits is not None and not self.sits.worn and serves(self.sits, self.wanted)

    @property
    def says(self) -> str:
        if self.is_right and self.sits:
            return f"{self.sits.name} sits there and stays."
        there = f"{self.sits.name} sits there" if self.sits else "nothing sits there"
        if self.sits and serves(self.sits, self.wanted):
            there += ", past its life"
        return f"{there[0].upper()}{there[1:]}; it is to hold {self.wanted.says}."


def serves(tool: Sits, wanted: PositionWants) -> bool:
    """Same kind and size; and the position is one that the tool may sit in, where it says which."""
    here = not tool.positions or wanted.position in tool.positions
    return here and tool.kind is wanted.kind and (not wanted.size or tool.size == wanted.size)


def places(wanted: Iterable[PositionWants], tools: Sequence[Sits]) -> list[Position]:
    """Every position of the set, in order."""
    there = {tool.position: tool for tool in tools if tool.position}
    free = [tool for tool in tools if not tool.position and not tool.worn]
    return [
        Position(one, there.get(one.position), tuple(tool.name for tool in free if serves(tool, one)))
        for one in sorted(wanted, key=lambda one: (len(one.position), one.position))
    ]


def first_wrong(found: Iterable[Position]) -> Position | None:
    """The one swap that comes next; None where the set is complete."""
    return next((place for place in found if not place.is_right), None)


def also_for(position: str, sets: Mapping[str, Sequence[PositionWants]], mine: PositionWants) -> list[str]:
    """For what else this position is to hold the same: such a tool serves both, and stays."""
    return [name for name, rows in sets.items() if any(row == mine for row in rows if row.position == position)]
