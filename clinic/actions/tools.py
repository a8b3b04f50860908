"""Milling tools are entered, swapped in the safe order, and told which material they may mill."""

from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID, uuid4, uuid5

from django.db import transaction
from django.db.models import Q

from clinic import clock
from clinic.actions.upkeep import log_use, unit_refusals
from clinic.changes import make_once
from clinic.models import Equipment, MakersPair, MillingTool, Person, Site, ToolMounted, ToolRemoved
from clinic.reads.drivers import DriverNow, drivers_now
from clinic.reads.tools import ToolNow, makers_table, mounted_in, plain_driver, plain_tool, tools_now
from clinic.record import Refusal, record, refuse_if
from clinic.rules import swap as rules
from clinic.rules.tools import Material, MillingWay
from clinic.rules.words import short_day


@dataclass(frozen=True, slots=True)
class SwapAsked:
    """A swap as the form says it. Without a tool, one is only taken out; without a day, it is done today."""

    unit: Equipment
    position: str
    tool: MillingTool | None
    driver: Equipment | None
    clicked: bool | None
    safe: tuple[bool, bool, bool]
    counted: tuple[int, int]
    pair: tuple[Material, MillingWay] | None
    why: str = ""
    life_used: int | None = None
    stood_by: Person | None = None
    day: date | None = None


@dataclass(frozen=True, slots=True)
class Swapped:
    """What was set in and what came out; either may be missing."""

    mounted: ToolMounted | None
    removed: ToolRemoved | None
    warnings: list[str]


def enter_tool(tool: MillingTool, *, by: Person) -> MillingTool:
    """A tool by the code on it. The same sent again is one; another with its code is refused."""
    there = MillingTool.objects.filter(site=tool.site, code=tool.code).first()
    taken = Refusal("A tool with this code is entered.", "Add a number of your own.", "code")
    return make_once(tool, there, taken, site=tool.site, by=by, said=f"Milling tool {tool.code} entered")


def allow_pair(unit: Equipment, day: date, *, by: Person, id: UUID | None = None, **said: Any) -> MakersPair:
    """A line of the maker's table, or of the site's own, from a day."""
    refuse_if(*unit_refusals(unit, unit.site, day), sent=id)
    return record(MakersPair(id=id or uuid4(), site=unit.site, happened_on=day, equipment=unit, **said), by=by)


def check_choice(asked: SwapAsked, *, site: Site) -> list[str]:
    """Before the door is opened: refused with all that is wrong with tool, position, material and driver. What only warns is returned."""
    day = asked.day or clock.today(site.time_zone)
    tools, drivers, table = tools_now(site, day), drivers_now(site, day), makers_table(asked.unit, day)
    swap = plain_swap(asked, tools, drivers)
    refuse_if(*map(refusal, rules.badly_chosen(swap, [plain_driver(one) for one in drivers], table)))
    return rules.warnings(swap, table)


@transaction.atomic
def swap_tool(asked: SwapAsked, *, site: Site, by: Person, id: UUID) -> Swapped:
    """The old tool out, the new one in, one tightening counted for the driver. Refused with everything in the way."""
    known = recorded_before(id)
    if known is not None:
        return known
    day = asked.day or clock.today(site.time_zone)
    tools, drivers, table = tools_now(site, day), drivers_now(site, day), makers_table(asked.unit, day)
    swap, old = plain_swap(asked, tools, drivers), sitting_at(asked, tools)
    wrong = rules.in_the_way(swap, [plain_driver(one) for one in drivers], table)
    about_the_day = [*unit_refusals(asked.unit, site, day), moved_since(asked, day)]
    refuse_if(*about_the_day, *map(refusal, wrong), *old_refusals(asked, old))
    out = take_out(old.mounting, asked, by, id, day) if old and old.mounting else None
    new = next((one for one in tools if asked.tool and one.tool.pk == asked.tool.pk), None)
    return Swapped(set_in(asked, new, site, by, id, day) if new else None, out, rules.warnings(swap, table))


def moved_since(asked: SwapAsked, day: date) -> Refusal | None:
    """A swap is recorded for a past day only while nothing later is known of the position and of the tool."""
    here = Q(equipment=asked.unit, position=asked.position) | (Q(tool=asked.tool) if asked.tool else Q())
    known = ToolMounted.objects.live().filter(here)
    later = [*known.values_list("happened_on", flat=True)]
    later += ToolRemoved.objects.live().filter(mounting__in=known).values_list("happened_on", flat=True)
    last = max(later, default=day)
    says = f"A swap of {short_day(last)} is recorded already, of this position or this tool."
    return Refusal(says, "Choose that day or a later one.", "day") if last > day else None


def recorded_before(id: UUID) -> Swapped | None:
    """What the same submission recorded when it arrived first."""
    mounted, removed = ToolMounted.objects.filter(pk=id).first(), ToolRemoved.objects.filter(pk=out_id(id)).first()
    return Swapped(mounted, removed, []) if mounted or removed else None


def out_id(id: UUID) -> UUID:
    return uuid5(id, "out")


def refusal(one: rules.InTheWay) -> Refusal:
    return Refusal(one.found, one.needed, one.field)


def sitting_at(asked: SwapAsked, tools: list[ToolNow]) -> ToolNow | None:
    here = mounted_in(asked.unit, tools)
    return next((one for one in here if one.mounting and one.mounting.position == asked.position), None)


def old_refusals(asked: SwapAsked, old: ToolNow | None) -> list[Refusal]:
    """What is said about the tool that comes out must be there, and fit what is known of it."""
    place = f"position {asked.position}"
    checks = [
        (old is not None and not asked.why, f"{old and old.tool} sits in {place}.", "Say why it is taken out.", "why"),
        (old is None and asked.tool is None, f"No tool is recorded in {place}, and none goes in.", "Check the position, or choose the new tool.", "position"),
        (old is not None and reads_less(asked, old), f"The counter of {old and old.tool} stood at {old and old.used} already.", "It never runs back: read it again.", "life_used"),
    ]  # fmt: skip
    return [Refusal(says, supply, name) for wrong, says, supply, name in checks if wrong]


def reads_less(asked: SwapAsked, old: ToolNow) -> bool:
    read = old.tool.life_unit != MillingTool.Life.PARTS
    return read and asked.life_used is not None and asked.life_used < old.used


def plain_swap(asked: SwapAsked, tools: list[ToolNow], drivers: list[DriverNow]) -> rules.Swap:
    new = next((plain_tool(one) for one in tools if asked.tool and one.tool.pk == asked.tool.pk), None)
    driver = next((plain_driver(one) for one in drivers if asked.driver and one.unit.pk == asked.driver.pk), None)
    return rules.Swap(*asked.safe, asked.position, new, driver, asked.clicked, *asked.counted, asked.pair)


def take_out(mounting: ToolMounted, asked: SwapAsked, by: Person, id: UUID, day: date) -> ToolRemoved:
    row = ToolRemoved(
        id=out_id(id), site=mounting.site, happened_on=day, mounting=mounting, why=asked.why,
        life_used=asked.life_used, done_by=by, counted_out=asked.counted[0], counted_in=asked.counted[1],
    )  # fmt: skip
    return record(row, by=by)


def set_in(asked: SwapAsked, new: ToolNow, site: Site, by: Person, id: UUID, day: date) -> ToolMounted:
    material, way = asked.pair or ("", None)
    row = ToolMounted(
        id=id, site=site, happened_on=day, equipment=asked.unit, tool=new.tool, position=asked.position, driver=asked.driver,
        clicked=asked.clicked, material=str(material), wet=None if way is None else way is MillingWay.WET, life_used=new.used, done_by=by, stood_by=asked.stood_by,
        counted_out=asked.counted[0], counted_in=asked.counted[1],
    )  # fmt: skip
    row = record(row, by=by)
    if asked.driver:
        log_use(asked.driver, 1, site=site, by=by, day=day, id=uuid5(id, "tightened"))
    return row
