"""Everything an inspector would object to about a site's equipment: every stretch of every finding, by what it is about.

Each gather takes the keys that it is asked for (None: all), and an instant by which the facts were known (None: by now). So a
write refreshes what it touched and no more, and the same function rebuilds a site or answers as known then.
"""

from collections.abc import Callable, Collection, Iterable
from datetime import date, datetime
from uuid import UUID

from clinic.models import Site
from clinic.reads.closer import KIND as LINE
from clinic.reads.entries import bare_or_covered, covers_of
from clinic.reads.follow_ups import Place, follow_ups
from clinic.reads.jobs import jobs_done
from clinic.reads.spores import done, spore_rows
from clinic.reads.tools import swaps_done, worn
from clinic.reads.upkeep import UNITS, UnitTask, everything, newest_before, unit_tasks
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

Keys = Collection[str] | None
DRIVER = "torque driver"
Told = tuple[str, Finding]
"""The key of what a finding is about, and one stretch of it."""
FROM_THE_START = {LINE, DRIVER}
"""Units of which older days decide newer ones: how closely a line is sampled, and every use of a driver past its check."""
Gather = Callable[[Site, Keys, datetime | None], Iterable[Told]]


def of_upkeep(site: Site, keys: Keys = None, known_by: datetime | None = None) -> list[Told]:
    """Upkeep overdue and drivers used past their check, by unit and task."""
    units = None if keys is None else {key.partition(":")[0] for key in keys}
    here = [unit for unit in everything(site) if units is None or str(unit.pk) in units]
    tasks = unit_tasks(site, here, known_by) if here else []
    return [told for one in tasks if keys is None or key_of(one) in keys for told in of_task(one)]


def of_upkeep_since(site: Site, keys: Collection[str], since: date) -> tuple[list[Told], dict[str, date]]:
    """The same where something of that day or later was added: only what decides the days after the newest time before it
    that the task was done. And from which day on that is everything, by key: what was found of earlier days stands, as the
    task was done again on that day."""
    units = {key.partition(":")[0] for key in keys}
    here = [unit for unit in UNITS.all(site=[site.pk]) if str(unit.pk) in units]
    plain = [unit for unit in here if unit.kind not in FROM_THE_START]
    done = newest_before(plain, since)
    whole = [unit for unit in here if unit not in plain]
    tasks = unit_tasks(site, plain, since=since, done=done) if plain else []
    tasks += unit_tasks(site, whole) if whole else []
    asked = [one for one in tasks if key_of(one) in keys]
    whole_from = {key_of(one): done.get((one.unit.pk, one.task.pk), date.min) for one in asked}
    return [told for one in asked for told in of_task(one) if whole_from[told[0]] <= told[1].first], whole_from


def key_of(one: UnitTask) -> str:
    return f"{one.unit.pk}:{one.task.pk}"


def of_task(one: UnitTask) -> list[Told]:
    task = plain_task(one)
    checked = [DriverChecked(task, one.uses)] if one.unit.kind == DRIVER else []
    return [(key_of(one), each) for each in [*overdue_upkeep([task]), *drivers_past_check(checked)]]


def plain_task(one: UnitTask) -> TaskOnUnit:
    return TaskOnUnit(one.task.code, one.unit.label, one.task.title, str(one.unit.pk), one.spans)


def of_work(site: Site, keys: Keys = None, known_by: datetime | None = None) -> list[Told]:
    """Work that nobody usable did or stood by, by the fact that says so."""
    done_here = [
        *entries_done(site, keys, known_by),
        *swaps_done(site, keys, known_by),
        *jobs_done(site, keys, known_by),
    ]
    return [(one.evidence[0], one) for one in entries_without_cover(done_here)]


def entries_done(site: Site, keys: Keys = None, known_by: datetime | None = None) -> list[EntryDone]:
    """Those whose doer might not work alone; the rule decides whether somebody stood by."""
    rows = bare_or_covered(site, keys, known_by)
    covers = covers_of(site.organisation, rows, known_by)
    return [
        EntryDone(str(row.pk), row.happened_on, f"{row.task.title}, {row.equipment.label}", cover)
        for row, cover in zip(rows, covers, strict=True)
    ]


def of_follow_ups(site: Site, keys: Keys = None, known_by: datetime | None = None) -> list[Told]:
    """Readings out of limits without follow-up in time, by unit and task."""
    rows = follow_ups(site, known_by, None if keys is None else [place_from(key) for key in keys])
    place = {str(row.pk): f"{row.entry.equipment_id}:{row.entry.task_id}" for row in rows}
    plain = [
        FollowUpOpen(
            str(row.pk),
            str(row.entry_id),
            f"{row.entry.task.title}, {row.entry.equipment.label}",
            row.due_on,
            row.closed_on,
        )
        for row in rows
    ]
    told = [(place[one.evidence[1]], one) for one in late_follow_ups(plain)]
    return [(key, one) for key, one in told if keys is None or key in keys]


def place_from(key: str) -> Place:
    unit, _, task = key.partition(":")
    return UUID(unit), int(task)


def of_tools(site: Site, keys: Keys = None, known_by: datetime | None = None) -> list[Told]:
    """Mounted tools past their life, by tool."""
    return [(tool, one) for tool, plain in worn(site, keys, known_by) for one in tools_past_life([plain])]


def of_spores(site: Site, keys: Keys = None, known_by: datetime | None = None) -> list[Told]:
    """Spore tests that prove nothing, by steriliser."""
    tests = done(spore_rows(site, keys, known_by))
    unit = {test.id: test.unit_id for test in tests}
    return [(unit[one.evidence[0]], one) for one in [*spore_tests_unproved(tests), *spore_tests_unread(tests)]]


EQUIPMENT: dict[str, Gather] = {
    "upkeep": of_upkeep,
    "work": of_work,
    "follow-up": of_follow_ups,
    "tool": of_tools,
    "spores": of_spores,
}
