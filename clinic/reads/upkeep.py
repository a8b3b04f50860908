"""Upkeep tasks on units with their timelines: every row of a site is read once, whatever the number of units."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from functools import lru_cache
from typing import Any
from uuid import UUID

from django.db.models import Max, Q, QuerySet

from clinic import clock
from clinic.models import Closure, Equipment, FollowUp, OpeningReading, Site, TaskSetting, UpkeepEntry, UpkeepTask, Use
from clinic.models.people import name_columns
from clinic.prepared import Instances, Made, Prepared
from clinic.reads.closer import closer_of
from clinic.reads.stops import stops_of
from clinic.rules import upkeep_facts as facts
from clinic.rules.closer import Closer, with_closer
from clinic.rules.opening import Opening, opened_life, that_count
from clinic.rules.silenced import Compared, silenced
from clinic.rules.upkeep import renewing, upkeep_timeline
from clinic.rules.upkeep_shares import units_since
from clinic.rules.what_counts import DRY_WORK, use_counts
from clinic.rules.words import printed_name

ALWAYS = date(1, 1, 1)
Pair = tuple[Any, Any]  # unit, task
Tasks = Mapping[str, Sequence[UpkeepTask]]  # by kind of unit
NEAR = timedelta(days=400)  # most tasks were done once within so many days; whatever was not is asked for by itself


@dataclass(frozen=True, slots=True)
class LastEntry:
    """The newest time it was done."""

    day: date
    by: str


@dataclass(frozen=True, slots=True)
class UnitTask:
    """One task on one unit: how often, every day of its life as spans, and the use that counts for it."""

    unit: Equipment
    task: UpkeepTask
    dated: tuple[facts.DatedRule, ...]
    life: facts.EquipmentLife
    entries: tuple[facts.Entry, ...]
    uses: tuple[facts.Use, ...]
    pauses: tuple[facts.Pause, ...]
    spans: tuple[facts.UpkeepSpan, ...]
    last: LastEntry | None
    opening: Opening | None = None  # as it was typed

    def rule_on(self, day: date) -> facts.TaskRule:
        """The rule in force on the day: the newest from that day or before."""
        return [rule for first, rule in self.dated if first <= day][-1]

    def units_on(self, day: date) -> int:
        return units_since(self.life, renewing(self.entries, self.dated), self.uses, day)


@dataclass(frozen=True, slots=True)
class Done:
    """Every time that a task was done on a unit, in order."""

    entries: tuple[facts.Entry, ...]
    last: LastEntry | None


Used = tuple[bool | None, facts.Use]  # wet, dry or not said
NEVER = Done((), None)


@dataclass(slots=True)
class SiteRows:
    """A site's rows, plain, by what they belong to."""

    openings: dict[Pair, Opening] = field(default_factory=dict)
    settings: dict[int, list[facts.DatedRule]] = field(default_factory=lambda: defaultdict(list))
    entries: Mapping[Pair, "Done"] = field(default_factory=dict)
    uses: Mapping[UUID, Sequence["Used"]] = field(default_factory=dict)
    stops: dict[UUID, list[facts.Pause]] = field(default_factory=dict)
    closures: list[facts.Pause] = field(default_factory=list)
    closer: dict[Any, tuple[Closer, ...]] = field(default_factory=dict)


def unit_tasks(
    site: Site,
    units: Sequence[Equipment],
    known_by: datetime | None = None,
    *,
    closed: facts.Pause | None = None,
    since: date | None = None,
    done: Mapping[Pair, date] | None = None,
) -> list[UnitTask]:
    """Every task of these units of the site, by unit and code; as known at an instant where one is given, or as if the
    site were closed as well. With `since` only what can matter from that day on is read, however old the register is: what
    the timelines say of earlier days is then not the truth; `done`: what `newest_before` said of that day, where it was asked."""
    tasks = tasks_of(units)
    mills = [pk for pk, kind in KINDS.rows(site=[site.pk]) if kind == "milling unit"]
    rows = SiteRows(stops=stops_of(site, known_by), closer=closer_of(site, units, known_by))
    read_settings(rows, site, known_by)
    read_openings(rows, site, known_by)
    asked = Asked.of(units, tasks, known_by)
    reach = reach_of(asked, units, tasks, rows, since, done) if since else None
    rows.entries = entries_asked(asked, reach)
    using = {*asked.units, *mills, *(unit.part_of_id for unit in units)} - {None}
    rows.uses = uses_asked(site, known_by, reach, using)
    read_closures(rows, site, known_by)
    rows.closures += [closed] if closed else []
    return [one_task(site, unit, task, rows, mills, since is not None) for unit in units for task in tasks[unit.kind]]


def tasks_of(units: Iterable[Equipment]) -> Tasks:
    """By kind of unit."""
    found: dict[str, list[UpkeepTask]] = defaultdict(list)
    for task in TASKS.all(kinds=sorted({unit.kind for unit in units})):
        found[task.equipment_kind].append(task)
    return found


def everything(site: Site) -> list[Equipment]:
    return UNITS_AND_WHOLES.all(site=[site.pk])


def one_task(
    site: Site, unit: Equipment, task: UpkeepTask, rows: SiteRows, mills: Iterable[UUID], near: bool
) -> UnitTask:
    dated: tuple[facts.DatedRule, ...] = ((ALWAYS, default_rule(task)), *rows.settings[task.pk])
    if task.closer_days:
        dated = with_closer(dated, rows.closer.get(unit.pk, ()), task.closer_days)
    start = max(unit.in_service_from, site.register_start)
    first_rule = [rule for day, rule in dated if day <= start][-1]
    opening = rows.openings.get((unit.pk, task.pk))
    life = opened_life(start, unit.in_service_to, opening, first_rule)
    done = rows.entries.get((unit.pk, task.pk), NEVER)
    uses = uses_for(unit, rows, mills, life)
    pauses = (*rows.stops.get(unit.pk, ()), *rows.closures)
    by_use = any(counted_by_use(rule) for _, rule in dated)
    said = Said.of(dated, life, done.entries, uses if by_use else (), pauses)
    spans = timeline_near(said) if near else timeline(said)
    return UnitTask(unit, task, dated, life, done.entries, uses, pauses, spans, done.last, opening)


@dataclass(frozen=True, slots=True)
class Said:
    """What a timeline follows from, and what of it decides: the rules, the pauses, and of the facts in their order the days, whether
    they passed and the units. Two with the same have the same timeline."""

    dated: tuple[facts.DatedRule, ...]
    life: facts.EquipmentLife
    done: tuple[tuple[str, date, bool], ...]
    used: tuple[tuple[str, date, int], ...]
    pauses: tuple[facts.Pause, ...]
    entries: Sequence[facts.Entry] = field(compare=False)
    uses: Sequence[facts.Use] = field(compare=False)

    @classmethod
    def of(
        cls,
        dated: tuple[facts.DatedRule, ...],
        life: facts.EquipmentLife,
        entries: Sequence[facts.Entry],
        uses: Sequence[facts.Use],
        pauses: tuple[facts.Pause, ...],
    ) -> "Said":
        done = tuple((entry.id, entry.day, entry.passed) for entry in entries)
        used = tuple((use.id, use.day, use.units) for use in uses)
        return cls(dated, life, done, used, pauses, entries, uses)


def timeline(said: Said) -> tuple[facts.UpkeepSpan, ...]:
    return upkeep_timeline(said.dated, said.life, said.entries, said.uses, said.pauses)


timeline_near = lru_cache(maxsize=512)(timeline)
"""For pages, which ask for the same days of the same tasks until something is recorded. Whoever reads whole histories asks for each
once."""


def uses_for(
    unit: Equipment, rows: SiteRows, mills: Iterable[UUID], life: facts.EquipmentLife
) -> tuple[facts.Use, ...]:
    """Use of the unit and of the unit it is part of. A suction unit that is part of none serves every mill of the site."""
    served = [unit.pk] + ([unit.part_of_id] if unit.part_of_id else [])
    if unit.kind in DRY_WORK and not unit.part_of_id:
        served += mills
    found = [pair for pk in served for pair in rows.uses.get(pk, ())]
    counting = {wet for wet in (True, False, None) if use_counts(unit.kind, wet)}
    return tuple(that_count((use for wet, use in found if wet in counting), life))


def default_rule(task: UpkeepTask) -> facts.TaskRule:
    return facts.TaskRule(
        task.code, task.every_days, task.every_units, task.warn_days, task.plan_units, task.only_a_pass
    )


@dataclass(frozen=True, slots=True)
class Asked:
    """Whose entries are read: these units, the tasks of their kinds, and which of the entries have a reading out of limits in a
    task that only a pass renews, with their days."""

    units: Sequence[Any]
    tasks: Sequence[Any]
    failed: Mapping[Any, date]
    known_by: datetime | None

    @classmethod
    def of(cls, units: Sequence[Equipment], tasks: Tasks, known_by: datetime | None) -> "Asked":
        every = [task for unit in {unit.kind for unit in units} for task in tasks[unit]]
        keys, passes = [unit.pk for unit in units], [task.pk for task in every if task.only_a_pass]
        failed = dict(FAILED.rows(known_by, units=keys, tasks=passes))
        return cls(keys, [task.pk for task in every], failed, known_by)


@dataclass(frozen=True, slots=True)
class Reach:
    """How far back the rows matter that decide the days from `since` on: for each task of a unit to the newest time before
    that it was done, and of use to the earliest of those that count it."""

    since: date
    done: Mapping[Pair, date]
    used: date


def reach_of(
    asked: Asked,
    units: Sequence[Equipment],
    tasks: Tasks,
    rows: SiteRows,
    since: date,
    done: Mapping[Pair, date] | None,
) -> Reach:
    done = newest_done_before(asked, units, tasks, since) if done is None else done
    counting = [(unit, task) for unit in units for task in tasks[unit.kind] if counts_use(task, rows)]
    starts = [done.get((unit.pk, task.pk), unit.in_service_from) for unit, task in counting]
    return Reach(since, done, min(starts, default=since))


def newest_before(units: Sequence[Equipment], since: date, known_by: datetime | None = None) -> dict[Pair, date]:
    """By unit and task, the newest day before that one on which it was done so that its clock started anew."""
    tasks = tasks_of(units)
    return newest_done_before(Asked.of(units, tasks, known_by), units, tasks, since)


def newest_done_before(asked: Asked, units: Sequence[Equipment], tasks: Tasks, since: date) -> dict[Pair, date]:
    """The same. Most were done not long before, so what lies further back is read only of the others."""
    found = newest_of(asked, asked.units, asked.tasks, since, since - NEAR)
    rare = {(unit.pk, task.pk) for unit in units for task in tasks[unit.kind]} - found.keys()
    if rare:
        older = newest_of(asked, {unit for unit, _ in rare}, {task for _, task in rare}, since - NEAR, None)
        found |= {pair: day for pair, day in older.items() if pair in rare}
    return found


def newest_of(
    asked: Asked, units: Collection[Any], tasks: Collection[Any], since: date, first: date | None
) -> dict[Pair, date]:
    rows = NEWEST.rows(
        asked.known_by,
        units=units,
        tasks=tasks,
        since=[since],
        first=[first] if first else None,
        failed=[*asked.failed] or None,
    )
    return {(unit, task): day for unit, task, day in rows}


def counts_use(task: UpkeepTask, rows: SiteRows) -> bool:
    """By its own rule or by a setting of the site."""
    return any(counted_by_use(rule) for _, rule in ((ALWAYS, default_rule(task)), *rows.settings[task.pk]))


def counted_by_use(rule: facts.TaskRule) -> bool:
    """Whether use makes it due or overdue."""
    return rule.every_units is not None or rule.plan_units is not None


def read_closures(rows: SiteRows, site: Site, known_by: datetime | None) -> None:
    for pk, first, after, recorded in CLOSURES.rows(known_by, site=[site.pk]):
        rows.closures.append(
            facts.Pause(id=str(pk), day=first, after=after, why=facts.PauseReason.CLOSED, recorded_at=recorded)
        )


def read_openings(rows: SiteRows, site: Site, known_by: datetime | None) -> None:
    for unit, task, last_done, number in OPENINGS.rows(known_by, site=[site.pk]):
        rows.openings[unit, task] = Opening(last_done, number)


def read_settings(rows: SiteRows, site: Site, known_by: datetime | None) -> None:
    for task, day, *own in SETTINGS.rows(known_by, site=[site.pk]):
        rows.settings[task].append((day, facts.TaskRule(*own)))


def entries_asked(asked: Asked, reach: Reach | None) -> Mapping[Pair, Done]:
    if reach is None:
        return by_pair(ENTRIES.rows(asked.known_by, units=asked.units), [*asked.failed])
    days = {reach.since, *reach.done.values()}
    return ENTRIES_NEAR.of(
        asked.known_by,
        units=asked.units,
        tasks=asked.tasks,
        first=[min({*days, *asked.failed.values()})],
        since=[reach.since],
        days=sorted(days),
        failed=[*asked.failed] or None,
    )


def by_pair(rows: Iterable[tuple[Any, ...]], failed: Collection[Any] | None, **_: Any) -> Mapping[Pair, Done]:
    """By unit and task. `failed`: the entries that had a reading out of limits."""
    out, entries, newest = {*(failed or ())}, defaultdict(list), {}
    for pk, day, at, recorded, unit, task, *name in rows:
        entries[unit, task].append(facts.Entry(id=str(pk), day=day, at=at, recorded_at=recorded, passed=pk not in out))
        newest[unit, task] = day, name
    return {pair: Done((*entries[pair],), LastEntry(day, printed_name(*name))) for pair, (day, name) in newest.items()}


def uses_asked(
    site: Site, known_by: datetime | None, reach: Reach | None, units: Collection[Any]
) -> Mapping[UUID, Sequence[Used]]:
    """Use of these units at the site. Whole histories are long, and asked for once."""
    if reach is None:
        return by_unit(USES.rows(known_by, site=[site.pk], since=None, units=units))
    return USES.of(known_by, site=[site.pk], since=[reach.used], units=units)


def by_unit(rows: Iterable[tuple[Any, ...]], **_: Any) -> Mapping[UUID, Sequence[Used]]:
    """Use by the unit used, in order: a unit may count that of others."""
    found: dict[UUID, list[Used]] = defaultdict(list)
    for pk, day, recorded, unit, number, wet in rows:
        found[unit].append((wet, facts.Use(id=str(pk), day=day, recorded_at=recorded, units=number)))
    return dict(found)


def failures(units: Any, tasks: Any, known_by: datetime | None = None) -> QuerySet[FollowUp, Any]:
    """The entries of these units with a reading out of limits in these tasks, and their days."""
    found = FollowUp.objects.live(known_by).filter(entry__equipment__in=units, entry__task__in=tasks)
    return found.values_list("entry", "entry__happened_on")  # type: ignore[no-any-return]


def entries_of(units: Any, known_by: datetime | None = None) -> QuerySet[UpkeepEntry, Any]:
    found = UpkeepEntry.objects.live(known_by).filter(equipment__in=units).in_order()
    return found.values_list(  # type: ignore[no-any-return]
        "pk", "happened_on", "happened_at", "recorded_at", "equipment", "task", *name_columns("done_by")
    )


def newest_done(
    units: Any, tasks: Any, since: Any, first: Any, failed: Any, known_by: datetime | None = None
) -> QuerySet[UpkeepEntry, Any]:
    found = UpkeepEntry.objects.live(known_by).filter(equipment__in=units, task__in=tasks).order_by()
    found = found.filter(happened_on__lt=since[0], **({"happened_on__gte": first[0]} if first else {}))
    found = found.exclude(pk__in=failed) if failed else found
    return found.values_list("equipment", "task").annotate(newest=Max("happened_on"))  # type: ignore[no-any-return]


def entries_near(
    units: Any, tasks: Any, first: Any, since: Any, days: Any, failed: Any, known_by: datetime | None = None
) -> QuerySet[UpkeepEntry, Any]:
    """`first`: the earliest of them all, which is what the database looks for by its index."""
    near = Q(happened_on__gte=since[0]) | Q(happened_on__in=days)
    near |= Q(pk__in=failed) if failed else Q()
    return entries_of(units, known_by).filter(near, task__in=tasks, happened_on__gte=first[0])


def uses_since(site: Any, since: Any, units: Any, known_by: datetime | None = None) -> QuerySet[Use, Any]:
    found = Use.objects.live(known_by).filter(site__in=site, equipment__in=units).in_order()
    for day in since or ():
        found = found.filter(happened_on__gte=day)
    return found.values_list("pk", "happened_on", "recorded_at", "equipment", "units", "wet")  # type: ignore[no-any-return]


def of_site(model: Any, *columns: str) -> Prepared:
    return Prepared(
        lambda site, known_by=None: model.objects.live(known_by).filter(site__in=site).in_order().values_list(*columns)
    )


UNITS_AND_WHOLES = Instances(Equipment, lambda site: Equipment.objects.filter(site__in=site).select_related("part_of"))
UNITS = Instances(Equipment, lambda site: Equipment.objects.filter(site__in=site))
TASKS = Instances(UpkeepTask, lambda kinds: UpkeepTask.objects.filter(equipment_kind__in=kinds))
KINDS = Prepared(lambda site: Equipment.objects.filter(site__in=site).values_list("pk", "kind"))
FAILED, ENTRIES = Prepared(failures), Prepared(entries_of)
NEWEST, ENTRIES_NEAR, USES = Prepared(newest_done), Made(entries_near, by_pair), Made(uses_since, by_unit)
CLOSURES = of_site(Closure, "pk", "first", "after", "recorded_at")
OPENINGS = of_site(OpeningReading, "equipment_id", "task_id", "last_done", "units")
SETTINGS = of_site(
    TaskSetting, "task_id", "happened_on", "task__code", "every_days", "every_units", "warn_days", "plan_units",
    "task__only_a_pass",
)  # fmt: skip


def silenced_by(site: Site, first: date, after: date, today: date) -> list[str]:
    """What these closed days would silence, in sentences."""
    units = everything(site)
    closed = facts.Pause(id="closed", day=first, after=after, why=facts.PauseReason.CLOSED, recorded_at=clock.now())
    both = zip(unit_tasks(site, units), unit_tasks(site, units, closed=closed), strict=True)
    return silenced([Compared(f"{one.task.title}, {one.unit}", one.spans, then.spans) for one, then in both], today)
