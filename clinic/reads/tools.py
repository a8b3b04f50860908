"""Milling tools as they sit today: which position, which life, and what the makers' table lets them mill."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from clinic.models import Equipment, MakersPair, MillingTool, Site, ToolMounted, ToolRemoved, Use
from clinic.port import code_of
from clinic.prepared import Instances, Keys, Prepared
from clinic.reads.drivers import DriverNow
from clinic.reads.entries import covers_then, keys_among, named, work_of
from clinic.reads.minutes import minutes_by_mounting
from clinic.reads.upkeep import UNITS
from clinic.rules import swap
from clinic.rules.findings import EntryDone
from clinic.rules.findings_checks import ToolMounted as PlainMounted
from clinic.rules.roles import ProcedureRole
from clinic.rules.tools import Decision, LifeCounter, Material, MillingWay, Pair, Tool, judge_pair


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


def tools_in(unit: Equipment, today: date) -> list[ToolNow]:
    """The tools that sit in this unit. Seven queries."""
    sitting = {tool for (tool,) in SITTING.rows(unit=[unit.pk])}
    return mounted_in(unit, tools_now(unit.site, today, sitting)) if sitting else []


def tools_now(site: Site, today: date, among: Collection[UUID] | None = None) -> list[ToolNow]:
    """Every tool of the site, or these, those mounted first. Six queries."""
    tools = TOOLS.all(site=[site.pk], tools=among)
    mountings, removed = MOUNTED.all(site=[site.pk], tools=among), REMOVED.all(site=[site.pk], tools=among)
    units, by_key = {row.pk: row for row in UNITS.all(site=[site.pk])}, {tool.pk: tool for tool in tools}
    for row in mountings:
        row.equipment, row.tool = units[row.equipment_id], by_key[row.tool_id]
        row.driver = units[row.driver_id] if row.driver_id else None
    since = min((row.happened_on for row in mountings), default=today)
    uses: dict[Any, list[tuple[date, int]]] = {}
    for unit, day, milled in USES.rows(
        units=sorted({row.equipment_id for row in mountings}), since=[since], until=[today]
    ):
        uses.setdefault(unit, []).append((day, milled))
    minutes, gone = minutes_of(site, tools), {row.mounting_id: row for row in removed}
    found = [tool_now(tool, [m for m in mountings if m.tool_id == tool.pk], gone, uses, minutes) for tool in tools]
    return sorted(found, key=lambda one: (one.mounting is None, one.place, one.tool.code))


def minutes_of(
    site: Site, tools: Iterable[MillingTool], known_by: datetime | None = None
) -> dict[str, list[tuple[date, int]]]:
    """What jobs took, by mounting, where the life of one of these tools is counted so."""
    counted = any(tool.life_unit == MillingTool.Life.MINUTES for tool in tools)
    return minutes_by_mounting(site, known_by) if counted else {}


def narrowed(rows: Any, column: str, tools: Keys) -> Any:
    return rows if tools is None else rows.filter(**{f"{column}__in": tools})


SITTING = Prepared(
    lambda unit: (
        ToolMounted.objects.live()
        .filter(equipment__in=unit)
        .exclude(pk__in=ToolRemoved.objects.live().values("mounting"))
        .values_list("tool")
    )
)
TOOLS = Instances(MillingTool, lambda site, tools: narrowed(MillingTool.objects.filter(site__in=site), "pk", tools))
MOUNTED = Instances(
    ToolMounted,
    lambda site, tools, known_by=None: narrowed(
        ToolMounted.objects.live(known_by).filter(site__in=site).in_order(), "tool", tools
    ),
)
REMOVED = Instances(
    ToolRemoved,
    lambda site, tools, known_by=None: narrowed(
        ToolRemoved.objects.live(known_by).filter(site__in=site).in_order(), "mounting__tool", tools
    ),
)
USES = Prepared(
    lambda units, since, until, known_by=None: (
        Use.objects.live(known_by)
        .filter(equipment__in=units, happened_on__gte=since[0], happened_on__lte=until[0])
        .order_by("happened_on")
        .values_list("equipment", "happened_on", "units")
    )
)


def tool_now(
    tool: MillingTool,
    mountings: Sequence[ToolMounted],
    removed: dict[Any, ToolRemoved],
    uses: dict[Any, list[tuple[date, int]]],
    minutes: Mapping[str, Sequence[tuple[date, int]]],
) -> ToolNow:
    """A part milled uses one part of the life of every tool mounted then. Minutes and percent are read at each removal;
    between these the minutes of jobs run on, where the unit counts them."""
    counts = tool.life_unit == MillingTool.Life.PARTS
    used = parts_milled(mountings, removed, uses) if counts else last_read(mountings, removed)
    if mountings and tool.life_unit == MillingTool.Life.MINUTES:
        sits_last = mountings[-1]
        used = max(used, sits_last.life_used + sum(took for _, took in minutes.get(str(sits_last.pk), ())))
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
    rows = MAKERS.rows(unit=[unit.pk], until=[today])
    return {(Tool(tool), Material(material), MillingWay(way)): allowed for tool, material, way, allowed in rows}


MAKERS = Prepared(
    lambda unit, until: (
        MakersPair.objects.live()
        .filter(equipment__in=unit, happened_on__lte=until[0])
        .in_order()
        .values_list("tool", "material", "way", "allowed")
    )
)


def mountable(unit: Equipment, tools: Sequence[ToolNow], wanted: Mapping[str, Any], today: date) -> list[MillingTool]:
    """Tools that may be set into the unit: neither taken out for good nor sitting anywhere; where the swap is for a position,
    or for a material and a way, those that are for it."""
    makers, position = makers_table(unit, today), str(wanted.get("position") or "")
    material, way = str(wanted.get("material") or ""), str(wanted.get("way") or "")
    pair = (Material(material), MillingWay(way)) if material in {*Material} and way in {*MillingWay} else None
    found = []
    for one in tools:
        plain = plain_tool(one)
        fits = not position or not plain.positions or position in plain.positions
        blocked = pair is not None and judge_pair((plain.kind, *pair), makers).decision is Decision.BLOCK
        if fits and not blocked and not plain.gone and not plain.mounted_in:
            found.append(one.tool)
    return found


def plain_tool(one: ToolNow) -> swap.NewTool:
    positions = tuple(part.strip() for part in one.tool.positions.split(",") if part.strip())
    return swap.NewTool(one.tool.code, Tool(one.tool.kind), one.tool.seat, positions, one.place, one.gone)


def plain_driver(one: DriverNow) -> swap.Driver:
    return swap.Driver(one.unit.label, one.seat, one.refused)


WORK = work_of(ToolMounted)


def swaps_done(site: Site, among: Collection[str] | None = None, known_by: datetime | None = None) -> list[EntryDone]:
    """Every tool that was set in (`among` these, as known by an instant), with whether whoever did it might, for the
    findings."""
    rows = named(WORK.all(known_by, site=[site.pk], among=keys_among(among)))
    swap_code = code_of(site.organisation, ProcedureRole.TOOL_SWAP) if rows else ""
    covers = covers_then(site.organisation, [(row, swap_code) for row in rows], known_by)
    return [
        EntryDone(str(row.pk), row.happened_on, f"Tool swap, {row.equipment.label}", cover)
        for row, cover in zip(rows, covers, strict=True)
    ]


def worn(
    site: Site, among: Collection[str] | None = None, known_by: datetime | None = None
) -> list[tuple[str, PlainMounted]]:
    """Every time a tool with a counted life sat in a unit, by the key of the tool, with what of its life was used after each
    day. `among`: these tools only; `known_by`: as known by the instant."""
    asked = None if among is None else [UUID(key) for key in among]
    tools = {tool.pk: tool for tool in TOOLS.all(site=[site.pk], tools=asked) if tool.life is not None}
    here: dict[str, Collection[Any]] = {"site": [site.pk], "tools": list(tools)}
    units = {row.pk: row for row in UNITS.all(site=[site.pk])}
    sittings = MOUNTED.all(known_by, **here)
    for row in sittings:
        row.equipment = units[row.equipment_id]
    removed = {row.mounting_id: row for row in REMOVED.all(known_by, **here)}
    used, minutes = uses_by_day(site, sittings, known_by), minutes_of(site, tools.values(), known_by)
    return [
        (str(key), plain_sitting(tool, mine[:number], removed, used, minutes))
        for key, tool in tools.items()
        for mine in [[row for row in sittings if row.tool_id == key]]
        for number in range(1, len(mine) + 1)
    ]


def uses_by_day(
    site: Site, sittings: Sequence[ToolMounted], known_by: datetime | None
) -> dict[Any, list[tuple[date, int]]]:
    """What each unit with such a tool milled, in order, from the first day on which one sat there."""
    units = sorted({row.equipment_id for row in sittings})
    since = min((row.happened_on for row in sittings), default=date.max)
    found: dict[Any, list[tuple[date, int]]] = {}
    for unit, day, milled in USES.rows(known_by, units=units, since=[since], until=[date.max]):
        found.setdefault(unit, []).append((day, milled))
    return found


def plain_sitting(
    tool: MillingTool,
    mountings: Sequence[ToolMounted],
    removed: dict[Any, ToolRemoved],
    uses: dict[Any, list[tuple[date, int]]],
    minutes: Mapping[str, Sequence[tuple[date, int]]],
) -> PlainMounted:
    """The last of these mountings. The day on which a tool is taken out is its last day there in counting, and its first
    day away in the findings."""
    last = mountings[-1]
    gone = removed[last.pk].happened_on if last.pk in removed else None
    start = used_before(tool, mountings, removed, uses)
    taken = {
        MillingTool.Life.PARTS: uses.get(last.equipment_id, ()),
        MillingTool.Life.MINUTES: minutes.get(str(last.pk), ()),
    }
    steps = taken.get(MillingTool.Life(tool.life_unit), ())
    here = [(day, units) for day, units in steps if last.happened_on <= day and (gone is None or day <= gone)]
    used = [(last.happened_on, start), *running(here, start)]
    return PlainMounted(str(last.pk), tool.code, last.equipment.label, tool.life or 0, used, gone)


def used_before(
    tool: MillingTool,
    mountings: Sequence[ToolMounted],
    removed: dict[Any, ToolRemoved],
    uses: dict[Any, list[tuple[date, int]]],
) -> int:
    """What of its life was used when it was set in for the last of these times."""
    *earlier, last = mountings
    if tool.life_unit != MillingTool.Life.PARTS:
        return last_read(mountings, {key: row for key, row in removed.items() if key != last.pk})
    return parts_milled(earlier, removed, uses) if earlier else last.life_used


def running(steps: Iterable[tuple[date, int]], start: int) -> list[tuple[date, int]]:
    found = []
    for day, units in steps:
        start += units
        found.append((day, start))
    return found
