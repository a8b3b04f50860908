"""Stock of a binder: the lines at which more is ordered, what was scrapped, and the messages of units with their remedies."""

from collections import defaultdict
from collections.abc import Iterable
from typing import Any

from clinic.models import JobEnded, OutOfService, StockLine, StockMoved, ToolRemoved, UnitMessage, UpkeepEntry
from clinic.rules.stock import StockSays, named_in
from clinic.rules.words import begun
from training.documents.binder import content as b
from training.reads.binder.asked import BinderAsked


def stock(asked: BinderAsked) -> b.Extra:
    """Each thing that is kept on the last day, with its line, its last count and what came and went in the period."""
    newest = {row.name: row for row in upto(asked, StockLine)}
    moves = defaultdict(list)
    for row in upto(asked, StockMoved):
        moves[row.name].append(row)
    rows = [
        stock_line(asked, row, moves[row.name])
        for row in sorted(newest.values(), key=lambda row: (row.shelf, row.name))
        if row.full
    ]
    says = "More is ordered at the line or below it. Spare tools are counted by what is mounted, and each filter change uses one."
    heads = ["What", "Kept as", "Ordered at", "Up to", "Last counted", "Came in", "Used", "Fact"]
    return b.Extra("Stock", says, heads, rows, "stock", [40, 26, 16, 14, 32, 16, 14, 16])


def upto(asked: BinderAsked, model: Any) -> Iterable[Any]:
    return model.objects.live().filter(site=asked.site, happened_on__lte=asked.last).order_by("recorded_at", "pk")


def stock_line(asked: BinderAsked, line: StockLine, moves: list[StockMoved]) -> list[str]:
    count = next((row for row in reversed(moves) if row.what == StockSays.COUNTED), None)
    period = [row for row in moves if row.happened_on >= asked.first]
    came, used = (sum(row.number for row in period if row.what == what) for what in (StockSays.CAME, StockSays.USED))
    return [
        line.name, line.get_shelf_display(), str(line.line), str(line.full),
        f"{count.number} on {asked.done_words(count)}" if count else "never by hand",
        str(came), str(used), str(line.pk),
    ]  # fmt: skip


def scrapped(asked: BinderAsked) -> b.Extra:
    """Tools that were taken out in the period for good: by why, then by day."""
    rows = (
        ToolRemoved.objects.live()
        .filter(site=asked.site, happened_on__range=(asked.first, asked.last))
        .exclude(why=ToolRemoved.Why.JOB)
        .select_related("mounting__tool", "mounting__equipment", "done_by")
        .order_by("why", "happened_on", "pk")
    )
    found = [scrapped_line(asked, row) for row in rows]
    heads = ["Day", "Tool", "Kind", "Unit", "Why", "Life used", "By", "Fact"]
    return b.Extra("Tools scrapped", "", heads, found, "scrapped", [20, 20, 30, 26, 24, 20, 28, 16])


def scrapped_line(asked: BinderAsked, row: ToolRemoved) -> list[str]:
    tool = row.mounting.tool
    life = f"{row.life_used} {tool.life_unit}" if row.life_used is not None else "not noted"
    return [
        asked.done_on(row), tool.code, tool.get_kind_display(), row.mounting.equipment.label,
        row.get_why_display().lower(), life, str(row.done_by), str(row.pk),
    ]  # fmt: skip


def messages(asked: BinderAsked) -> b.Extra:
    """The remedy of each message as it stands on the last day, and how often records of the period name it."""
    newest = {(row.equipment_id, row.code.casefold()): row for row in upto(asked, UnitMessage)}
    said = words_said(asked)
    rows = [
        [
            row.code, row.shown, row.equipment.label if row.equipment else "every unit", begun(row.remedy),
            asked.done_on(row), str(named_in(row.code, said[row.equipment_id] if row.equipment_id else every(said))),
            str(row.pk),
        ]
        for row in sorted(newest.values(), key=lambda row: (row.code.casefold(), str(row.equipment_id or "")))
    ]  # fmt: skip
    says = (
        "What the site does about a message; its maker’s instructions win. “Named” counts stops, ends of jobs and upkeep of the "
        "period whose words name it: nobody writes down each time that one is shown."
    )
    heads = ["Message", "Shown as", "Unit", "What is done", "Since", "Named", "Fact"]
    return b.Extra("Messages of units", says, heads, rows, "messages", [18, 30, 22, 60, 20, 14, 16])


def words_said(asked: BinderAsked) -> dict[Any, list[str]]:
    """By unit: the words of stops, of ends of jobs and of upkeep in the period. Three queries."""
    found: dict[Any, list[str]] = defaultdict(list)
    read: tuple[tuple[Any, str, str], ...] = (
        (OutOfService, "equipment", "reason"),
        (JobEnded, "job__equipment", "note"),
        (UpkeepEntry, "equipment", "note"),
    )
    for model, unit, words in read:
        rows = model.objects.live().filter(site=asked.site, happened_on__range=(asked.first, asked.last))
        for key, text in rows.exclude(**{words: ""}).values_list(unit, words):
            found[key].append(text)
    return found


def every(said: dict[Any, list[str]]) -> list[str]:
    return [text for texts in said.values() for text in texts]
