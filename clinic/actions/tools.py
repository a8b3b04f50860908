"""Milling tools are entered, swapped in the safe order, and told which material they may mill."""

from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID, uuid4, uuid5

from django.db import transaction

from clinic import clock
from clinic.actions.upkeep import log_use, unit_refusals
from clinic.models import Equipment, MakersPair, MillingTool, Person, Site, ToolMounted, ToolRemoved
from clinic.reads.drivers import DriverNow, drivers_now
from clinic.reads.tools import ToolNow, makers_table, mounted_in, plain_driver, plain_tool, tools_now
from clinic.record import Refusal, note_change, record, refuse_if
from clinic.rules import swap as rules
from clinic.rules.tools import Material, Way


@dataclass(frozen=True, slots=True)
class SwapAsked:
    """A swap as the form says it."""

    unit: Equipment
    position: str
    tool: MillingTool
    driver: Equipment | None
    clicked: bool | None
    safe: tuple[bool, bool, bool]
    counted: tuple[int, int]
    material: Material
    way: Way
    why: str = ""
    life_used: int | None = None
    stood_by: Person | None = None


@dataclass(frozen=True, slots=True)
class Swapped:
    mounted: ToolMounted
    warnings: list[str]


@transaction.atomic
def enter_tool(tool: MillingTool, *, by: Person) -> MillingTool:
    tool.save(force_insert=True)
    facts = {"code": tool.code, "kind": tool.kind, "seat": tool.seat, "life": str(tool.life or "")}
    note_change(tool, {}, facts, site=tool.site, by=by, said=f"Milling tool {tool.code} entered")
    return tool


def allow_pair(unit: Equipment, day: date, *, by: Person, id: UUID | None = None, **said: Any) -> MakersPair:
    """A line of the maker's table, or of the site's own, from a day."""
    refuse_if(*unit_refusals(unit, unit.site, day))
    return record(MakersPair(id=id or uuid4(), site=unit.site, happened_on=day, equipment=unit, **said), by=by)


@transaction.atomic
def swap_tool(asked: SwapAsked, *, site: Site, by: Person, id: UUID) -> Swapped:
    """The old tool out, the new one in, one tightening counted for the driver. Refused with everything in the way."""
    known = ToolMounted.objects.filter(pk=id).first()
    if known is not None:
        return Swapped(known, [])
    today = clock.today(site.time_zone)
    tools, drivers, table = tools_now(site, today), drivers_now(site, today), makers_table(asked.unit, today)
    swap = plain_swap(asked, tools, drivers)
    wrong = rules.in_the_way(swap, [plain_driver(one) for one in drivers], table)
    old = next(
        (one for one in mounted_in(asked.unit, tools) if one.mounting and one.mounting.position == asked.position), None
    )
    refuse_if(
        *unit_refusals(asked.unit, site, today),
        *(Refusal(one.found, one.needed, one.field) for one in wrong),
        Refusal(f"{old.tool} sits in position {asked.position}.", "Say why it is taken out.", "why")
        if old and not asked.why
        else None,
    )
    if old and old.mounting:
        take_out(old.mounting, asked, by, id)
    return Swapped(set_in(asked, site, by, id, today), rules.warnings(swap, table))


def plain_swap(asked: SwapAsked, tools: list[ToolNow], drivers: list[DriverNow]) -> rules.Swap:
    new = plain_tool(next(one for one in tools if one.tool.pk == asked.tool.pk))
    driver = next((plain_driver(one) for one in drivers if asked.driver and one.unit.pk == asked.driver.pk), None)
    return rules.Swap(
        *asked.safe, asked.position, new, driver, asked.clicked, *asked.counted, (asked.material, asked.way)
    )


def take_out(mounting: ToolMounted, asked: SwapAsked, by: Person, id: UUID) -> ToolRemoved:
    row = ToolRemoved(
        id=uuid5(id, "out"), site=mounting.site, happened_on=clock.today(mounting.site.time_zone), mounting=mounting, why=asked.why,
        life_used=asked.life_used, done_by=by,
    )  # fmt: skip
    return record(row, by=by)


def set_in(asked: SwapAsked, site: Site, by: Person, id: UUID, today: date) -> ToolMounted:
    row = ToolMounted(
        id=id, site=site, happened_on=today, equipment=asked.unit, tool=asked.tool, position=asked.position, driver=asked.driver,
        clicked=asked.clicked, material=asked.material.value, wet=asked.way is Way.WET, done_by=by, stood_by=asked.stood_by,
    )  # fmt: skip
    row = record(row, by=by)
    if asked.driver:
        log_use(asked.driver, 1, site=site, by=by, day=today, id=uuid5(id, "tightened"))
    return row
