"""Milling tools as they sit today: which position, which life, and what the makers' table lets them mill."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from clinic.models import Equipment, MakersPair, MillingTool, Site, ToolMounted, ToolRemoved, Use
from clinic.reads.drivers import DriverNow
from clinic.reads.entries import covers_then
from clinic.rules import swap
from clinic.rules.findings import EntryDone
from clinic.rules.findings_checks import ToolMounted as PlainMounted
from clinic.rules.tools import LifeCounter, Material, Pair, Tool, Way

SWAP = "P03"  # the procedure that covers a swap


@dataclass(frozen=True, slots=True)
class ToolNow:
    """A tool with where it sits (None: in its holder) and how much of its life is left, 1 to 0."""

    tool: MillingTool
    mounting: ToolMounted | None
    used: int
    share_left: Decimal | None
    gone: str = ""  # why it is not used again

    @property
    def place(self) -> str:
        return f"{self.mounting.equipment}, position {self.mounting.position}" if self.mounting else ""


def tools_now(site: Site, today: date) -> list[ToolNow]:
    """Every tool of the site, those mounted first. Four queries."""
    removed = {row.mounting_id: row for row in ToolRemoved.objects.live().filter(site=site).in_order()}
    mountings = list(
        ToolMounted.objects.live().filter(site=site).select_related("equipment", "tool", "driver").in_order()
    )
    uses: dict[Any, list[tuple[date, int]]] = {}
    for unit, day, units in (
        Use.objects.live().filter(site=site, happened_on__lte=today).values_list("equipment", "happened_on", "units")
    ):
        uses.setdefault(unit, []).append((day, units))
    found = [
        tool_now(tool, [m for m in mountings if m.tool_id == tool.pk], removed, uses)
        for tool in MillingTool.objects.filter(site=site)
    ]
    return sorted(found, key=lambda one: (one.mounting is None, one.place, one.tool.code))


def tool_now(
    tool: MillingTool,
    mountings: Sequence[ToolMounted],
    removed: dict[Any, ToolRemoved],
    uses: dict[Any, list[tuple[date, int]]],
) -> ToolNow:
    """A part milled uses one part of the life of every tool mounted then. Minutes and percent are read at each removal."""
    counts = tool.life_unit == MillingTool.Life.PARTS
    used = parts_milled(mountings, removed, uses) if counts else last_read(mountings, removed)
    last = removed.get(mountings[-1].pk) if mountings else None
    gone = last.get_why_display().lower() if last and last.why != ToolRemoved.Why.JOB else ""
    sits = next((m for m in reversed(mountings) if m.pk not in removed), None)
    full = Decimal(tool.life) if tool.life is not None else None
    return ToolNow(tool, sits, used, LifeCounter(tool.life_unit, full, Decimal(used)).share_left, gone)


def parts_milled(
    mountings: Sequence[ToolMounted], removed: dict[Any, ToolRemoved], uses: dict[Any, list[tuple[date, int]]]
) -> int:
    """What was milled in its unit while the tool sat there, on top of what was used before its first mounting."""
    sat = [(m, removed[m.pk].happened_on if m.pk in removed else date.max) for m in mountings]
    milled = (units for m, last in sat for day, units in uses.get(m.equipment_id, ()) if m.happened_on <= day <= last)
    return sum(milled, mountings[0].life_used if mountings else 0)


def last_read(mountings: Sequence[ToolMounted], removed: dict[Any, ToolRemoved]) -> int:
    """The newest reading of its counter, never one below an earlier: at a removal, or carried to a mounting."""
    read = [m.life_used for m in mountings] + [removed[m.pk].life_used or 0 for m in mountings if m.pk in removed]
    return max(read, default=0)


def mounted_in(unit: Equipment, tools: Sequence[ToolNow]) -> list[ToolNow]:
    return [one for one in tools if one.mounting is not None and one.mounting.equipment_id == unit.pk]


def makers_table(unit: Equipment, today: date) -> dict[Pair, bool]:
    """The newest line for each pair in force on the day."""
    rows = MakersPair.objects.live().filter(equipment=unit, happened_on__lte=today).in_order()
    return {(Tool(row.tool), Material(row.material), Way(row.way)): row.allowed for row in rows}


def plain_tool(one: ToolNow) -> swap.NewTool:
    positions = tuple(part.strip() for part in one.tool.positions.split(",") if part.strip())
    return swap.NewTool(one.tool.code, Tool(one.tool.kind), one.tool.seat, positions, one.place, one.gone)


def plain_driver(one: DriverNow) -> swap.Driver:
    return swap.Driver(one.unit.label, one.seat, one.refused)


def swaps_done(site: Site, today: date) -> list[EntryDone]:
    """Every tool that was set in, with whether whoever did it might, for the findings."""
    found = ToolMounted.objects.live().filter(site=site, happened_on__lte=today)
    rows = list(found.select_related("tool", "equipment", "done_by", "stood_by").in_order())
    covers = covers_then(site.organisation, [(row, SWAP) for row in rows])
    return [
        EntryDone(str(row.pk), row.happened_on, f"Tool swap, {row.equipment.label}", cover)
        for row, cover in zip(rows, covers, strict=True)
    ]


def worn(site: Site, today: date) -> list[PlainMounted]:
    """Mounted tools with a life that is counted, for the findings."""
    return [
        PlainMounted(
            str(one.mounting.pk),
            one.tool.code,
            one.mounting.equipment.label,
            one.used,
            one.tool.life,
            one.mounting.happened_on,
        )
        for one in tools_now(site, today)
        if one.mounting is not None and one.tool.life is not None
    ]
