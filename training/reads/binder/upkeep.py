"""Upkeep of a binder: every entry, which days were late, and what was read by kind of equipment."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from clinic.models import UpkeepEntry
from clinic.reads.entries import EntrySaid, entries_of, said
from clinic.reads.upkeep import UnitTask
from clinic.rules.cover import EntryStanding
from clinic.rules.roles import TaskRole
from clinic.rules.spans import days_in
from clinic.rules.upkeep_facts import UpkeepState
from clinic.rules.wording import overdue_since
from clinic.rules.words import counted, day_words
from training.documents.binder import content as b
from training.documents.binder.counted import BARE
from training.documents.charts import ShownDays, Track
from training.reads.binder.asked import BinderAsked
from training.rules import place
from training.rules.place import Answer, Answers

DAY = timedelta(days=1)
MOST_TRACKS = 8
SPORES = "see Spore tests"
BRIEF = 24  # letters of a site fact that still reads well inside the label of a reading


@dataclass(frozen=True, slots=True)
class UpkeepOfPeriod:
    rows: list[b.UpkeepRow]
    late: list[Track]
    late_says: str
    years: list[b.UnitYear]


def upkeep(asked: BinderAsked) -> UpkeepOfPeriod:
    tasks = asked.tasks
    entries = said(asked.site.organisation, entries_in(asked))
    asked.facts |= {str(each.entry.pk) for each in entries}
    spans, answers = {(one.unit.pk, one.task.pk): one for one in tasks}, asked.answers
    late = [late_days(one, asked) for one in tasks]
    worst = sorted((n for n, days in enumerate(late) if days), key=lambda n: -late[n])
    return UpkeepOfPeriod(
        rows=[row(asked, each, spans.get((each.entry.equipment_id, each.entry.task_id)), answers) for each in entries],
        late=[track(tasks[n], asked.first, asked.last) for n in worst[:MOST_TRACKS]],
        late_says=late_sentence(len(worst), sum(late)),
        years=years(tasks, asked),
    )


def entries_in(asked: BinderAsked) -> list[UpkeepEntry]:
    rows = entries_of(asked.site).filter(happened_on__range=(asked.first, asked.last))
    return asked.entries(rows.order_by("happened_on", "recorded_at", "pk"))


def late_days(one: UnitTask, asked: BinderAsked) -> int:
    return days_in(one.spans, asked.first, asked.last + DAY, lambda state: state is UpkeepState.OVERDUE)


def late_sentence(tasks: int, days: int) -> str:
    if not tasks:
        return "No upkeep task was overdue on any day of the period."
    shown = "" if tasks <= MOST_TRACKS else f" The {MOST_TRACKS} with most late days are drawn."
    return f"What hangs below a line was late: {counted(tasks, 'task')}, {counted(days, 'day')} in all.{shown}"


def track(one: UnitTask, first: date, last: date) -> Track:
    inside = [span for span in one.spans if span.first <= last and (span.after is None or span.after > first)]
    stretches = [
        ShownDays(
            first=max(span.first, first).isoformat(),
            last=min(span.after - DAY if span.after else last, last).isoformat(),
            state=span.state.value,
            late=span.state is UpkeepState.OVERDUE,
        )
        for span in inside
    ]
    return Track(f"{one.task.title}, {one.unit}", stretches, [entry.day.isoformat() for entry in one.entries])


def row(asked: BinderAsked, each: EntrySaid, task: UnitTask | None, answers: Mapping[str, Answers]) -> b.UpkeepRow:
    entry = each.entry
    return b.UpkeepRow(
        day=entry.happened_on.isoformat(),
        equipment=str(entry.equipment),
        task=f"{entry.task.code} {entry.task.title}",
        done_by=str(entry.done_by),
        allowed=allowed(each),
        readings=read_and_noted(entry, answers[entry.equipment.kind]),
        in_time=in_time(task, entry.happened_on),
        stood_by=str(entry.stood_by) if each.cover.standing is EntryStanding.STOOD_BY else "",
        fact=str(entry.pk),
        written=asked.written(entry),
    )


def read_and_noted(entry: UpkeepEntry, answers: Answers) -> str:
    """A spore test is told once: in the part of its own, with all that was read and noted."""
    if entry.task.stands_for == TaskRole.SPORE_TEST:
        return SPORES
    return "; ".join(filter(None, (readings(entry, answers), entry.note)))


def readings(entry: UpkeepEntry, answers: Answers) -> str:
    """What was read, in the order of the task. A short site fact stands in its label; of a long one, its name does."""
    brief = {name: one for name, one in answers.items() if len(one.value) <= BRIEF}
    read = entry.all_readings
    taken = [spec for spec in entry.task.readings if str(read.get(spec["key"], "")) != ""]
    return "; ".join(
        f"{in_label(spec['label'], brief)}: {read[spec['key']]} {spec.get('unit') or ''}".strip() for spec in taken
    )


def in_label(label: str, brief: Answers) -> str:
    names = [name for name in place.names_in(label) if name not in brief]
    return place.said(label, {**brief, **{name: Answer(name) for name in names}})


def allowed(each: EntrySaid) -> str:
    if each.cover.standing is EntryStanding.HELD:
        return f"held {each.entry.task.covered_by}" if each.entry.task.covered_by else "asks for none"
    if each.cover.standing is EntryStanding.STOOD_BY:
        return f"did not hold {each.entry.task.covered_by}"
    return f"did not hold {each.entry.task.covered_by}; {BARE}"


def in_time(task: UnitTask | None, day: date) -> str:
    since = overdue_since(task.spans, day - DAY) if task else None
    return f"late, overdue since {day_words(since)}" if since else "yes"


def years(tasks: Sequence[UnitTask], asked: BinderAsked) -> list[b.UnitYear]:
    """Each unit with a track a task, and how many of its task days were in time."""
    by_unit: dict[Any, list[UnitTask]] = defaultdict(list)
    for one in tasks:
        by_unit[one.unit].append(one)
    return [
        unit_year(unit, mine, asked) for unit, mine in by_unit.items() if any(total_days(one, asked) for one in mine)
    ]


def unit_year(unit: Any, tasks: Sequence[UnitTask], asked: BinderAsked) -> b.UnitYear:
    total, late = sum(total_days(one, asked) for one in tasks), sum(late_days(one, asked) for one in tasks)
    return b.UnitYear(
        equipment=unit.label,
        kind=unit.get_kind_display(),
        serial=unit.serial,
        first=asked.first.isoformat(),
        last=asked.last.isoformat(),
        tracks=[track(one, asked.first, asked.last) for one in tasks],
        says=f"{total - late:,} of {counted(total, 'task day')} not overdue."
        if late
        else "Never overdue in the period.",
    )


def total_days(one: UnitTask, asked: BinderAsked) -> int:
    return days_in(one.spans, asked.first, asked.last + DAY, lambda state: True)
