"""Milling tools as they sit today: which position, which life, and what the makers' table lets them mill."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from clinic.models import Equipment, MakersPair, MillingTool, Site, ToolMounted, ToolRemoved, Use
from clinic.reads.drivers import DriverNow
from clinic.rules import swap
from clinic.rules.findings_checks import ToolMounted as PlainMounted
from clinic.rules.tools import LifeCounter, Material, Pair, Tool, Way


@dataclass(frozen=True, slots=True)
class ToolNow:
    """A tool with where it sits (None: in its holder) and how much of its life is left, 1 to 0."""

    tool: MillingTool
    mounting: ToolMounted | None
    used: int
    share_left: Decimal | None

    @property
    def place(self) -> str:
        return f"{self.mounting.equipment}, position {self.mounting.position}" if self.mounting else ""


def tools_now(site: Site, today: date) -> list[ToolNow]:
    """Every tool of the site, those mounted first. Four queries."""
    removed = dict(ToolRemoved.objects.live().filter(site=site).values_list("mounting", "happened_on"))
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
    removed: dict[Any, date],
    uses: dict[Any, list[tuple[date, int]]],
) -> ToolNow:
    """A part milled uses one part of the life of every tool mounted then. Minutes and percent are read at each removal."""
    used = mountings[-1].life_used if mountings and tool.life_unit != MillingTool.Life.PARTS else 0
    if tool.life_unit == MillingTool.Life.PARTS:
        used = (mountings[0].life_used if mountings else 0) + sum(
            units
            for m in mountings
            for day, units in uses.get(m.equipment_id, ())
            if m.happened_on <= day <= removed.get(m.pk, date.max)
        )
    sits = next((m for m in reversed(mountings) if m.pk not in removed), None)
    full = Decimal(tool.life) if tool.life is not None else None
    return ToolNow(tool, sits, used, LifeCounter(tool.life_unit, full, Decimal(used)).share_left)


def mounted_in(unit: Equipment, tools: Sequence[ToolNow]) -> list[ToolNow]:
    return [one for one in tools if one.mounting is not None and one.mounting.equipment_id == unit.pk]


def makers_table(unit: Equipment, today: date) -> dict[Pair, bool]:
    """The newest line for each pair in force on the day."""
    rows = MakersPair.objects.live().filter(equipment=unit, happened_on__lte=today).in_order()
    return {(Tool(row.tool), Material(row.material), Way(row.way)): row.allowed for row in rows}


def plain_tool(one: ToolNow) -> swap.NewTool:
    positions = tuple(part.strip() for part in one.tool.positions.split(",") if part.strip())
    return swap.NewTool(one.tool.code, Tool(one.tool.kind), one.tool.seat, positions, one.place)


def plain_driver(one: DriverNow) -> swap.Driver:
    return swap.Driver(one.unit.label, one.seat, one.refused)


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
