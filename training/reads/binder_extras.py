"""Water, spore tests, torque drivers and milling tools: a table each, in the columns their sections draw."""

from collections.abc import Iterable
from dataclasses import dataclass

from clinic.models import UpkeepEntry
from clinic.reads.drivers import drivers_now, verifications_of
from clinic.reads.entries import entries_of
from clinic.reads.follow_ups import follow_ups
from clinic.reads.spores import TASK, spore_test
from clinic.reads.tools import tools_now
from clinic.reads.water import lines, tanks
from clinic.rules.spores import Result, judged
from training.documents.binder import content as b
from training.reads.binder_asked import Asked


@dataclass(frozen=True, slots=True)
class Extras:
    """The tables, and the counts behind the answers to what is asked about them."""

    tables: list[b.Extra]
    spores: int
    spores_bad: int
    lines: int
    lines_over: int
    sampled: str
    drivers: int
    drivers_good: int


def extras(asked: Asked) -> Extras:
    sampled, tests = lines(asked.site, asked.as_of), list(spore_rows(asked))
    drivers = drivers_now(asked.site, asked.as_of)
    last = max((unit.results[0].day for unit in sampled if unit.results), default=None)
    return Extras(
        tables=[water(asked), spores(tests), driver_table(asked), tools(asked)],
        spores=len(tests),
        spores_bad=sum(judged(spore_test(row)) is not Result.PASS for row in tests),
        lines=sum(bool(unit.results) for unit in sampled),
        lines_over=sum(unit.good is False for unit in sampled),
        sampled=last.isoformat() if last else "",
        drivers=len(drivers),
        drivers_good=sum(not one.refused for one in drivers),
    )


def water(asked: Asked) -> b.Extra:
    """Dental-unit lines, then the tanks of the mills, which are no patient water."""
    done = {(row.entry.equipment_id, row.entry.happened_on): row for row in follow_ups(asked.site)}
    rows = []
    for unit in (*lines(asked.site, asked.as_of), *tanks(asked.site, asked.as_of)):
        for one in reversed(unit.results):
            if asked.first <= one.day <= asked.last:
                follow = done.get((unit.unit.pk, one.day))
                act = follow.what_to_do if follow else ""
                good = "good" if one.good else "not good"
                rows.append([one.day.isoformat(), str(unit.unit), one.says, unit.limit, good, act, ""])
    heads = ["Day", "Place and line", "Reading", "Limit", "Result", "What was done", "Fact"]
    return b.Extra("Water", "", heads, sorted(rows), "water")


def spore_rows(asked: Asked) -> Iterable[UpkeepEntry]:
    days = (asked.first, asked.last)
    return (
        entries_of(asked.site).filter(task__code=TASK, happened_on__range=days).order_by("happened_on", "recorded_at")
    )


def spores(rows: Iterable[UpkeepEntry]) -> b.Extra:
    heads = ["Day", "Steriliser", "Test lot", "Control lot", "Test", "Control", "Result", "What was done"]
    return b.Extra("Spore tests", "", heads, [spore_line(row) for row in rows], "spores")


def spore_line(row: UpkeepEntry) -> list[str]:
    read = row.readings
    test = spore_test(row)
    same = "the same lot" if read.get("same_lot") == "yes" else "another lot"
    lot = str(read.get("lot", "not noted"))
    result = judged(test).value
    return [
        row.happened_on.isoformat(), str(row.equipment), lot, same, str(read.get("test", "")), str(read.get("control", "")), result,
        row.note,
    ]  # fmt: skip


def driver_table(asked: Asked) -> b.Extra:
    rows = []
    for one in drivers_now(asked.site, asked.as_of):
        for said in verifications_of(one.unit):
            if asked.first <= said.row.happened_on <= asked.last:
                off = max(
                    (abs(float(deviation)) for _, points in said.points for _, deviation, _ in points), default=0.0
                )
                torque = ", ".join(value for value, _ in said.points)
                good = one.good_through.isoformat() if one.good_through else ""
                result = "passed" if said.passed else "; ".join(said.reasons) or "not passed"
                day = said.row.happened_on.isoformat()
                rows.append([str(one.unit), torque, day, f"{off:g} % of at most {said.limit} %", good, result])
    heads = ["Driver", "Set torque", "Verified", "Worst deviation", "Good through", "Result"]
    return b.Extra("Torque drivers", "", heads, rows, "drivers")


def tools(asked: Asked) -> b.Extra:
    rows = [
        [
            one.tool.code,
            one.tool.get_kind_display(),
            one.place,
            one.mounting.happened_on.isoformat() if one.mounting else "",
            "",
            f"{one.used} used",
        ]
        for one in tools_now(asked.site, asked.as_of)
        if one.mounting
    ]
    heads = ["Tool", "Kind", "Unit and place", "Mounted", "Removed", "Life used"]
    return b.Extra("Milling tools", "Those mounted on the day.", heads, rows, "tools")
