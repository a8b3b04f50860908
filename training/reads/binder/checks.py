"""Water, spore tests and torque drivers of a binder: each line with what was read, and the fact that it stands in."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any

from clinic.models import Equipment, FollowUp, UpkeepEntry
from clinic.reads.drivers import (
    DriverNow,
    InDoubt,
    TightenedTool,
    VerificationSaid,
    in_doubt,
)
from clinic.reads.entries import entries_of
from clinic.reads.spores import beside, spore_test
from clinic.reads.water import SAMPLES, SampledUnit, lines, tanks
from clinic.rules.roles import TaskRole
from clinic.rules.spores import judged
from clinic.rules.words import counted, day_words
from training.documents.binder import content as b
from training.reads.binder.asked import BinderAsked


def water_entries(asked: BinderAsked) -> set[Any]:
    """The keys of every water sample of the period."""
    rows = entries_of(asked.site).filter(task__stands_for__in=SAMPLES, happened_on__range=(asked.first, asked.last))
    return set(rows.values_list("pk", flat=True))


def follows(asked: BinderAsked) -> Mapping[Any, FollowUp]:
    return {row.entry_id: row for row in asked.follow_ups}


def water(asked: BinderAsked, entries: set[Any]) -> list[b.Extra]:
    """The lines of dental units, each against its own limit; then, apart, the tanks of the mills against theirs."""
    done, found = follows(asked), []
    waiting = [row for row in asked.follow_ups if row.closed_on is None]
    of_lines, of_tanks = lines(asked.site, asked.as_of, waiting), tanks(asked.site, asked.as_of, waiting)
    says = "Each line by itself, at most 500 CFU/mL or its maker’s lower limit."
    found.append(samples("Water of the dental units", says, of_lines, asked, entries, done))
    bands = "; ".join(dict.fromkeys(unit.limit for unit in of_tanks))
    coolant = f"No patient water, and never judged by its limit. The bands of machine coolant: {bands}."
    found.append(samples("Coolant of the mill", coolant, of_tanks, asked, entries, done, limited=False))
    return [table for table in found if table.rows]


def samples(
    title: str, says: str, units: Sequence[SampledUnit], asked: BinderAsked, entries: set[Any],
    done: Mapping[Any, FollowUp], *, limited: bool = True,
) -> b.Extra:  # fmt: skip
    """One table, a group of lines a unit, oldest first. `limited`: with the limit of the unit on each line."""
    rows = []
    for unit in units:
        for one in reversed(unit.results):
            entry = one.entry
            if entry is not None and entry.pk in entries:
                limit = [one.limit] if limited else []
                result = [f"{entry.all_readings['cfu']} CFU/mL", *limit, "good" if one.good else "not good"]
                acted = what_was_done(asked, entry, done.get(entry.pk))
                read = f"Read {day_words(one.read_on)}." if one.read_on else ""
                acted = " ".join(filter(None, (read, one.beside, acted)))
                rows.append(
                    [unit.unit.label, one.day.isoformat(), one.task.partition(",")[0], *result, acted, str(entry.pk)]
                )
    heads = ["Day", "Sample", "Read", *(["Limit"] if limited else []), "Result", "What was done", "Fact"]
    shares = [20, 30, 20, *([46] if limited else []), 14, 24 if limited else 70, 16]
    return b.Extra(title, says, heads, rows, "water", shares, grouped=True)


def what_was_done(asked: BinderAsked, entry: UpkeepEntry, follow: FollowUp | None) -> str:
    """What was noted, how the follow-up of a reading out of limits ended, and the day it was written where that was later."""
    noted = " ".join(filter(None, (entry.note, asked.written_words(entry))))
    if follow is None:
        return noted
    ended = f"good again {day_words(follow.closed_on)}" if follow.closed_on else "not good again yet"
    return " ".join(filter(None, (noted, f"Followed up, due {day_words(follow.due_on)}: {ended}.")))


def spore_rows(asked: BinderAsked) -> Sequence[UpkeepEntry]:
    days = (asked.first, asked.last)
    rows = entries_of(asked.site).filter(task__stands_for=TaskRole.SPORE_TEST, happened_on__range=days)
    return asked.entries(rows.order_by("happened_on", "recorded_at"))


INCUBATION = "Hours and temperature of the incubation stand where somebody noted them."


def spores(asked: BinderAsked, rows: Iterable[UpkeepEntry]) -> b.Extra:
    """Each test beside its control. A test without growth counts only with a control that grew."""
    done = follows(asked)
    heads = ["Day", "Test lot", "Control lot", "Test", "Control", "Result", "What was done", "Fact"]
    made = [spore_line(asked, row, done.get(row.pk)) for row in rows]
    shares = [20, 21, 21, 19, 18, 14, 41, 16]
    return b.Extra(
        "Spore tests", INCUBATION, heads, sorted(made, key=lambda row: row[0]), "spores", shares, grouped=True
    )


def spore_line(asked: BinderAsked, row: UpkeepEntry, follow: FollowUp | None) -> list[str]:
    test = spore_test(row, today=asked.as_of)
    read = row.readings | (row.all_readings if test.read_on else {})
    lot = str(read.get("lot") or "not noted")
    control = lot if read.get("same_lot") == "yes" else "another lot"
    seen = [str(read.get("test", "not read yet")), str(read.get("control", "none"))]
    ended = f"Read {day_words(test.read_on)}." if test.read_on else ""
    result = judged(test).value
    acted = " ".join(filter(None, (ended, beside(row, test), what_was_done(asked, row, follow))))
    return [
        row.equipment.label, row.happened_on.isoformat(), lot, control, *seen, result, acted, str(row.pk),
    ]  # fmt: skip


def driver_table(asked: BinderAsked) -> b.Extra:
    """Every verification of the period with each reading; what each driver is, and whether it may be used, above."""
    rows = [
        verification(asked, one, said)
        for one in asked.drivers
        for said in reversed(asked.verifications(one.unit))
        if asked.first <= said.row.happened_on <= asked.last
    ]
    heads = ["Verified", "By", "Against", "Readings and deviation", "Room", "Result", "Fact"]
    says = " ".join(driver_says(one) for one in asked.drivers)
    return b.Extra("Torque drivers", says, heads, rows, "drivers", [20, 22, 34, 40, 16, 24, 16], grouped=True)


def driver_says(one: DriverNow) -> str:
    """Driver A: class E, fits hex 1.3, set to 20 N·cm; good through 3 May 2027."""
    what = one.details
    papers = (
        f": class {what.driver_class}, fits {what.seat}, set to {what.set_torque} {what.torque_unit}" if what else ""
    )
    through = f"good through {day_words(one.good_through)}" if one.good_through else "not verified yet"
    return f"{one.unit}{papers}; {one.refused or f'{through}.'}"


def verification(asked: BinderAsked, one: DriverNow, said: VerificationSaid) -> list[str]:
    """The readings of the reference at each set torque, each with its deviation in percent."""
    row, unit = said.row, one.details.torque_unit if one.details else ""
    points = [
        f"at {value} {unit}: {', '.join(f'{r} ({float(off):+.2f} %)' for r, off, _ in read)}"
        for value, read in said.points
    ]
    room = f"{row.room_lowest} to {row.room_highest} °C"
    return [
        one.unit.label, row.happened_on.isoformat(), str(row.done_by), against(said), "; ".join(points), room,
        " ".join(filter(None, (how_it_ended(said), asked.written_words(row)))), str(row.pk),
    ]  # fmt: skip


def against(said: VerificationSaid) -> str:
    """The reference, and its own paper as it was known that day."""
    return f"{said.row.reference}, {said.reference.paper_words if said.reference else 'without a paper'}"


def doubted(asked: BinderAsked) -> b.Extra:
    """What each driver that failed in the period had tightened since it last passed."""
    units = (
        Equipment.objects.filter(site=asked.site, kind="torque driver").select_related("site").order_by("label", "pk")
    )
    rows = [
        line
        for unit in units
        for found in in_doubt(unit, asked.verifications(unit), asked.first, asked.last)
        for line in [doubted_line(asked, found, tool) for tool in found.tools] or [nothing_doubted(found)]
    ]
    says = (
        "Every tool that a driver tightened from its last pass to a check that it failed, with the jobs started while the tool "
        "sat there, and whoever was watched that day at the unit as they tightened it."
    )
    heads = ["Failed", "Last pass", "Tightened", "Tool and place", "By", "Out", "Parts and jobs", "Watched", "Fact"]
    return b.Extra(
        "In doubt after a driver failed",
        says,
        heads,
        rows,
        "doubted",
        [18, 18, 18, 30, 20, 18, 26, 24, 16],
        grouped=True,
    )


def doubts(table: b.Extra) -> list[str]:
    """The same in a sentence for each failed check."""
    checks: dict[tuple[str, str, str], set[str]] = {}
    for driver, failed, since, tightened, *_, fact in table.rows:
        checks.setdefault((driver, failed, since), set()).update([fact] if tightened else [])
    return [doubt(*check, len(tools)) for check, tools in checks.items()]


def doubt(driver: str, failed: str, since: str, tools: int) -> str:
    passed = "never passed before" if since == "never" else f"last passed on {day_words(date.fromisoformat(since))}"
    done = (
        f"{counted(tools, 'tool')} that it tightened since"
        if tools
        else "no tool is recorded as tightened with it since"
    )
    begins = f"{driver} failed on {day_words(date.fromisoformat(failed))} and {passed}"
    return f"{begins}: {done}{', each in doubt' if tools else ''}."


def nothing_doubted(found: InDoubt) -> list[str]:
    """A check that failed with nothing before it is said too; its fact is the check itself."""
    row, since = found.failed.row, found.since.isoformat() if found.since else "never"
    said = "no tool is recorded as tightened with it since then"
    return [row.equipment.label, row.happened_on.isoformat(), since, "", said, "", "", "", "", str(row.pk)]


def doubted_line(asked: BinderAsked, found: InDoubt, one: TightenedTool) -> list[str]:
    row = one.mounted
    jobs = f"; jobs {one.cases}" if one.jobs else "; no job recorded"
    asked.facts |= {str(each.pk) for each in one.jobs} | {str(each.fact) for each in one.watched}
    return [
        found.failed.row.equipment.label, found.failed.row.happened_on.isoformat(), found.since.isoformat() if found.since else "never",
        row.happened_on.isoformat(), f"{row.tool} in {row.equipment}, position {row.position}", str(row.done_by),
        one.through.isoformat() if one.through else "still there", f"{counted(one.parts, 'part')}{jobs}",
        "; ".join(each.says for each in one.watched) or "nobody", str(row.pk),
    ]  # fmt: skip


def how_it_ended(said: VerificationSaid) -> str:
    """Passed, or how many readings were outside the limit, and whatever else stood against it."""
    if said.passed:
        return f"passed: every one within ±{said.limit} %"
    inside = [good for _, read in said.points for _, _, good in read]
    out = (
        f"{inside.count(False)} of {counted(len(inside), 'reading')} outside ±{said.limit} %" if False in inside else ""
    )
    others = [reason for reason in said.reasons if ": a reading of " not in reason]
    return f"not passed: {' '.join(filter(None, (out, *others)))}"
