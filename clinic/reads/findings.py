"""Everything an inspector would object to about a site's equipment, as plain findings."""

from collections.abc import Sequence
from datetime import date

from clinic.models import Site
from clinic.reads.entries import covers_of, perhaps_bare
from clinic.reads.follow_ups import follow_ups
from clinic.reads.spores import done, spore_rows
from clinic.reads.tools import swaps_done, worn
from clinic.reads.upkeep import UnitTask, everything, unit_tasks
from clinic.rules.findings import (
    EntryDone,
    Finding,
    FollowUpOpen,
    TaskOnUnit,
    entries_without_cover,
    late_follow_ups,
    overdue_upkeep,
)
from clinic.rules.findings_checks import (
    DriverChecked,
    drivers_past_check,
    spore_tests_unproved,
    spore_tests_unread,
    tools_past_life,
)


def equipment_findings(site: Site, today: date, tasks: Sequence[UnitTask] | None = None) -> list[Finding]:
    """All kinds, in no order. The number of queries does not depend on how much there is. `tasks`: the site's, where they
    were read already."""
    tasks = unit_tasks(site, everything(site)) if tasks is None else tasks
    tests = [test for test in done(spore_rows(site), today) if test.day <= today]
    return [
        *overdue_upkeep([plain_task(one) for one in tasks], today),
        *entries_without_cover([*entries_done(site, today), *swaps_done(site, today)]),
        *late_follow_ups(follow_ups_plain(site, today), today),
        *drivers_past_check(drivers(tasks), today),
        *tools_past_life(worn(site, today)),
        *spore_tests_unproved(tests),
        *spore_tests_unread(tests, today),
    ]


def plain_task(one: UnitTask) -> TaskOnUnit:
    return TaskOnUnit(one.task.code, one.unit.label, one.task.title, str(one.unit.pk), one.spans)


def drivers(tasks: Sequence[UnitTask]) -> list[DriverChecked]:
    return [DriverChecked(plain_task(one), one.uses) for one in tasks if one.unit.kind == "torque driver"]


def entries_done(site: Site, today: date) -> list[EntryDone]:
    """Those whose doer might not work alone; the rule decides whether somebody stood by."""
    rows = perhaps_bare(site, today)
    covers = covers_of(site.organisation, rows)
    return [
        EntryDone(str(row.pk), row.happened_on, f"{row.task.title}, {row.equipment.label}", cover)
        for row, cover in zip(rows, covers, strict=True)
    ]


def follow_ups_plain(site: Site, today: date) -> list[FollowUpOpen]:
    return [
        FollowUpOpen(
            str(row.pk),
            str(row.entry_id),
            f"{row.entry.task.title}, {row.entry.equipment.label}",
            row.due_on,
            row.closed_on,
        )
        for row in follow_ups(site)
        if row.happened_on <= today
    ]
