"""Milling tools, stops, what was milled, block lots and chemicals of a binder."""

from collections import defaultdict
from datetime import date

from clinic.models import (
    BlockLot,
    ChemicalGone,
    ChemicalListed,
    OutOfService,
    ReturnToService,
    ToolMounted,
    ToolRemoved,
    Use,
)
from clinic.reads.tools import tools_now
from clinic.rules.words import month_words
from training.documents.binder import content as b
from training.reads.binder.asked import BinderAsked


def tools(asked: BinderAsked) -> b.Extra:
    """Every tool that sat in a unit on a day of the period: set in, by whom and with which driver, and taken out."""
    out = {row.mounting_id: row for row in ToolRemoved.objects.live().filter(site=asked.site)}
    mounted = ToolMounted.objects.live().filter(site=asked.site, happened_on__lte=asked.last)
    used = {one.tool.pk: one.used for one in tools_now(asked.site, asked.as_of)}
    rows = [
        tool_line(asked, row, out.get(row.pk), used.get(row.tool_id, 0))
        for row in mounted.select_related("tool", "equipment", "driver", "done_by").in_order()
        if row.pk not in out or out[row.pk].happened_on >= asked.first
    ]
    heads = ["Tool", "Kind", "Place", "Mounted", "By", "Driver", "Removed", "Life used", "Fact"]
    shares = [17, 24, 11, 20, 24, 17, 25, 16, 16]
    return b.Extra("Milling tools", "", heads, sorted(rows, key=lambda row: row[0]), "tools", shares, grouped=True)


def tool_line(asked: BinderAsked, row: ToolMounted, out: ToolRemoved | None, used: int) -> list[str]:
    driver = "by hand" if row.driver is None else f"{row.driver}{', clicked' if row.clicked else ''}"
    removed = f"{asked.done_words(out)}, {out.get_why_display().lower()}" if out else "still in place"
    full = f" of {row.tool.life}" if row.tool.life is not None else ""
    life = f"{used}{full} {row.tool.life_unit}"
    return [
        row.equipment.label, row.tool.code, row.tool.get_kind_display(), row.position, asked.done_on(row),
        str(row.done_by), driver, removed, life, str(row.pk),
    ]  # fmt: skip


def stops(asked: BinderAsked) -> b.Extra:
    """Each time a unit was taken out of service, and the check after which it came back."""
    backs = list(ReturnToService.objects.live().filter(site=asked.site).select_related("recorded_by").in_order())
    rows = OutOfService.objects.live().filter(site=asked.site, happened_on__lte=asked.last).select_related("equipment")
    found = []
    for row in rows.order_by("equipment__label", "recorded_at"):
        back = next((b for b in backs if b.equipment_id == row.equipment_id and b.recorded_at > row.recorded_at), None)
        if back is None or back.happened_on >= asked.first:
            found.append(stop_line(asked, row, back))
    heads = ["Stopped", "Why", "Back on", "After this check", "Returned by", "Fact"]
    return b.Extra("Out of service, and back", "", heads, found, "stops", [20, 42, 20, 42, 30, 16], grouped=True)


def stop_line(asked: BinderAsked, row: OutOfService, back: ReturnToService | None) -> list[str]:
    returned = ["still out", "", ""]
    if back is not None:
        returned = [asked.done_on(back), back.check_done, str(back.recorded_by or "the register")]
    return [row.equipment.label, asked.done_on(row), row.reason, *returned, str(row.pk)]


def milled(asked: BinderAsked) -> b.Extra:
    """Parts by unit and month: what the counters of upkeep and of tools count."""
    sums: dict[tuple[str, date], dict[str, int]] = defaultdict(lambda: defaultdict(int))
    uses = Use.objects.live().filter(site=asked.site, equipment__kind="milling unit")
    in_period = uses.filter(happened_on__range=(asked.first, asked.last))
    for unit, day, material, wet, units in in_period.values_list(
        "equipment__label", "happened_on", "material", "wet", "units"
    ):
        way = {True: " wet", False: " dry", None: ""}[wet]
        sums[unit, day.replace(day=1)][f"{material or 'not noted'}{way}"] += units
    rows = [
        [
            unit,
            f"{month_words(month)}",
            str(sum(parts.values())),
            ", ".join(f"{what} {n}" for what, n in sorted(parts.items())),
        ]
        for (unit, month), parts in sorted(sums.items())
    ]
    return b.Extra("What was milled", "", ["Month", "Parts", "Of which"], rows, "milled", [40, 20, 110], grouped=True)


def lots(asked: BinderAsked) -> b.Extra:
    """Blocks that came in by the last day, newest first, with the factor printed for the lot."""
    rows = [
        [
            row.received_on.isoformat(),
            row.lot,
            row.get_material_display(),
            str(row.factor or "none on its packet"),
        ]
        for row in BlockLot.objects.filter(site=asked.site, received_on__lte=asked.last)
    ]
    heads = ["Received", "Lot", "Material", "Enlargement factor of the lot"]
    return b.Extra("Block lots", "", heads, rows, "lots", [30, 50, 50, 50])


def chemicals(asked: BinderAsked) -> b.Extra:
    """What stood here on a day of the period, with the hazard classes and the revision of its data sheet."""
    gone = {row.listed_id: row for row in ChemicalGone.objects.live().filter(site=asked.site)}
    listed = ChemicalListed.objects.live().filter(site=asked.site, happened_on__lte=asked.last)
    rows = [
        [
            row.product, ", ".join(row.hazard_classes) or "none", row.sheet_revision.isoformat(), row.place,
            asked.done_on(row), asked.done_on(gone[row.pk]) if row.pk in gone else "still here", str(row.pk),
        ]
        for row in listed.order_by("product", "happened_on", "pk")
        if row.pk not in gone or gone[row.pk].happened_on > asked.first
    ]  # fmt: skip
    heads = ["Product", "Hazard classes", "Sheet of", "Place", "Since", "Gone on", "Fact"]
    return b.Extra("List of chemicals", "", heads, rows, "chemicals", [29, 38, 20, 29, 19, 19, 16])
