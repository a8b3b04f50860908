"""The sets of tools that a site wants in a unit, with what sits there now."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from clinic.models import Equipment, SetLine, Site
from clinic.reads.tools import ToolNow, tools_now
from clinic.rules.tool_sets import Position, PositionWants, Sits, also_for, first_wrong, places
from clinic.rules.tools import Tool

Key = tuple[str, str]  # material, way


@dataclass(frozen=True, slots=True)
class PlaceSaid:
    """A position of the set. `also`: the other materials for which it is to hold the same."""

    place: Position
    also: Sequence[str]


@dataclass(frozen=True, slots=True)
class SetNow:
    """The set for one material, and the swap that comes next (None: it is complete)."""

    places: Sequence[PlaceSaid]
    first: Position | None

    @property
    def wrong(self) -> int:
        return sum(not one.place.is_right for one in self.places)


def sets_of(unit: Equipment, today: date) -> dict[Key, list[PositionWants]]:
    """By material and way; the newest line of each position counts."""
    rows = SetLine.objects.live().filter(equipment=unit, happened_on__lte=today).in_order()
    newest = {(row.material, row.way, row.position): row for row in rows}
    found: dict[Key, list[PositionWants]] = {}
    for (material, way, position), row in newest.items():
        if row.tool:
            found.setdefault((material, way), []).append(PositionWants(position, Tool(row.tool), row.size))
    return found


def set_now(site: Site, unit: Equipment, key: Key, today: date) -> SetNow:
    """What sits where for this material, and what it needs that is not there."""
    sets = sets_of(unit, today)
    found = places(sets.get(key, []), [plain(one, unit) for one in tools_now(site, today) if is_here(one, unit)])
    others = {" ".join(each): rows for each, rows in sets.items() if each != key}
    shown = [PlaceSaid(one, also_for(one.wanted.position, others, one.wanted)) for one in found]
    return SetNow(shown, first_wrong(found))


def is_here(one: ToolNow, unit: Equipment) -> bool:
    """In this unit, or in its holder; never one that was taken out for good, or sits in another unit."""
    return one.mounting.equipment_id == unit.pk if one.mounting else not one.gone


def plain(one: ToolNow, unit: Equipment) -> Sits:
    positions = tuple(part.strip() for part in one.tool.positions.split(",") if part.strip())
    position = one.mounting.position if one.mounting else ""
    return Sits(one.tool.code, Tool(one.tool.kind), one.tool.size, positions, position, one.share_left == 0)
