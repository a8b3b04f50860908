"""All units of a site in one table: what each is, and of each of its tasks when it was last done and what it counts since."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from types import MappingProxyType
from typing import Any
from uuid import UUID

from clinic.actions.people import enter_equipment
from clinic.actions.upkeep import opening_reading
from clinic.forms.equipment import OpeningForm, UnitForm
from clinic.models import Equipment, EquipmentKind, OpeningReading, UpkeepEntry, UpkeepTask
from clinic.record import Refusal, Refused, refuse_if
from clinic.rules.words import counted, short_day
from clinic.tables import (
    Table,
    TableColumn,
    TableLine,
    Values,
    column,
    day_text,
    filled_up,
    says_anything,
    words_column,
)

OF_UNIT = ("kind", "label", "serial", "part_of", "in_service_from")
OF_TASK = ("task", "last_done", "units")


class UnitTable(Table):
    """A line for each unit and task. Of a unit with several tasks only the first line says what the unit is."""

    title = "Units"
    lead = (
        "A line for each unit: its kind, and what people here call it. Check the table, and a line for each of its tasks "
        "stands below it: when it was last done, and how many parts or cycles since. Nobody is overdue on the first morning."
    )
    blank = 10
    refusals_at = MappingProxyType({"equipment": "label", "day": "in_service_from"})

    def asks(self) -> tuple[TableColumn, ...]:
        return (
            TableColumn("kind", UnitForm.base_fields["kind"], example="milling unit"),
            column("label", UnitForm, example="unit 1"),
            column("serial", UnitForm),
            words_column("part_of", "Part of", most=80),
            column("in_service_from", UnitForm, optional=True, shared=True, first=self.start),
            words_column("task", "Task", most=140),
            column("last_done", OpeningForm, optional=True, example=self.start),
            column("units", OpeningForm, optional=True),
        )

    @property
    def start(self) -> str:
        return day_text(self.here.site.register_start)

    @cached_property
    def units(self) -> dict[str, Equipment]:
        rows = Equipment.objects.filter(site=self.here.site).select_related("site", "part_of")
        return {row.label.lower(): row for row in rows}

    @cached_property
    def tasks(self) -> list[UpkeepTask]:
        return list(UpkeepTask.objects.all())

    @cached_property
    def opened(self) -> dict[tuple[Any, Any], OpeningReading]:
        rows = OpeningReading.objects.live().filter(site=self.here.site)
        return {(row.equipment_id, row.task_id): row for row in rows}

    def about(self, line: TableLine) -> str:
        return ", ".join(filter(None, (line["label"], line["task"])))

    # ---------- the lines ----------
    def lines(self, typed: Sequence[TableLine]) -> list[TableLine]:
        """Units in service whose tasks do not know when they were last done, then new ones, each with a line a task."""
        named = [line for line in typed if line["label"]]
        first: dict[str, TableLine] = {}
        kinds: dict[str, str] = {}
        for line in named:
            first.setdefault(line["label"].lower(), line)
            kinds[line["label"].lower()] = kinds.get(line["label"].lower()) or line["kind"]
        by_task = {(line["label"].lower(), task.code): line for line in named if (task := self.task_of(line))}
        known = [line for unit in self.asked_units() for line in self.lines_of(unit.label, unit.kind, None, by_task)]
        new = [
            line for name, unit in first.items() if name not in self.units
            for line in self.lines_of(unit["label"], kinds[name], unit, by_task)
        ]  # fmt: skip
        nameless = [line for line in typed if not line["label"] and says_anything(line)]
        return filled_up([*known, *new, *nameless, *self.left_over(typed)], 4 if named else self.blank)

    def asked_units(self) -> list[Equipment]:
        day = max(self.here.today, self.here.site.register_start)
        rows = [row for row in self.units.values() if row.in_service_to is None or row.in_service_to >= day]
        return sorted(rows, key=lambda row: (row.kind, row.label))

    def lines_of(
        self, label: str, kind: str, new: TableLine | None, by_task: Mapping[tuple[str, str], TableLine]
    ) -> list[TableLine]:
        """One for each task that does not know its last day; the first one of a new unit says what the unit is."""
        unit = self.units.get(label.lower())
        tasks = [task for task in self.tasks if task.equipment_kind == same_kind(kind)]
        asked = [task for task in tasks if not (unit and (unit.pk, task.pk) in self.known_tasks)]
        found: list[TableLine] = []
        for task in asked:
            typed = by_task.get((label.lower(), task.code)) or (new if new and not found and not new["task"] else None)
            own = {name: typed[name] for name in ("last_done", "units")} if typed else {}
            of_unit = {name: new[name] for name in OF_UNIT} if new and not found else {"label": label}
            given = {"task"} if new and not found else {"kind", "serial", "part_of", "in_service_from", "label", "task"}
            number = typed.number if typed else 0
            found.append(TableLine({**of_unit, "task": str(task), **own}, frozenset(given), number))
        return found if found or not new else [self.without_task(new, kind)]

    def without_task(self, new: TableLine, kind: str) -> TableLine:
        """A new unit of a kind that asks no upkeep: there is nothing to say of when it was last done."""
        quiet = same_kind(kind) and not any(new[name] for name in OF_TASK)
        return replace(new, given=frozenset(OF_TASK)) if quiet else new

    def left_over(self, typed: Sequence[TableLine]) -> list[TableLine]:
        """What names a unit that is here and a task that asks nothing, or none that there is: it is refused in its place."""
        return [
            line for line in typed
            if line["label"].lower() in self.units and says_anything(line) and not self.is_asked(line)
        ]  # fmt: skip

    def is_asked(self, line: TableLine) -> bool:
        unit, task = self.units[line["label"].lower()], self.task_of(line)
        return bool(task and task.equipment_kind == unit.kind and (unit.pk, task.pk) not in self.known_tasks)

    @cached_property
    def known_tasks(self) -> set[tuple[Any, Any]]:
        """Those that were done here since, and those with an opening reading."""
        done = UpkeepEntry.objects.live().filter(site=self.here.site)
        return {*self.opened, *done.values_list("equipment_id", "task_id").distinct()}

    def task_of(self, line: TableLine) -> UpkeepTask | None:
        """By its code, its title, or both."""
        return self.task_named(line["task"])

    def task_named(self, words: str) -> UpkeepTask | None:
        said = words.strip().lower()
        return next(
            (each for each in self.tasks if said in (each.code.lower(), each.title.lower(), str(each).lower())), None
        )

    # ---------- recording ----------
    def is_known(self, values: Values) -> bool:
        unit = self.units.get(str(values["label"]).lower())
        if unit is None or not self.says_the_same(unit, values):
            return False
        task = self.task_named(values["task"]) if values["task"] else None
        opened = self.opened.get((unit.pk, task.pk)) if task else None
        if values["last_done"] is None:
            return task is not None or not values["task"]
        return opened is not None and (opened.last_done, opened.units) == (values["last_done"], values["units"] or 0)

    def says_the_same(self, unit: Equipment, values: Values) -> bool:
        part = unit.part_of.label if unit.part_of else ""
        is_first = bool(values["kind"])
        said = (values["kind"], values["serial"], values["part_of"].lower(), self.from_day(values))
        return not is_first or said == (unit.kind, unit.serial, part.lower(), unit.in_service_from)

    def from_day(self, values: Values) -> Any:
        return values["in_service_from"] or self.here.site.register_start

    def record(self, values: Values, id: UUID) -> None:
        unit = self.entered(values) if values["kind"] else self.named(values)
        task = self.task_named(values["task"]) if values["task"] else None
        refuse_if(
            Refusal("There is no such task.", "Write its code or its title, such as U01.", "task")
            if values["task"] and not task
            else None,
            Refusal("It is not said which task was last done.", "Name the task, or leave the day empty.", "task")
            if values["last_done"] and not values["task"]
            else None,
            Refusal("It is not said when it was last done.", "Write the day.", "last_done")
            if values["units"] and not values["last_done"]
            else None,
        )
        if task and values["last_done"]:
            self.open(unit, task, values, id)

    def entered(self, values: Values) -> Equipment:
        part_of = self.units.get(values["part_of"].lower()) if values["part_of"] else None
        refuse_if(
            Refusal(f"No unit here is called {values['part_of']}.", "Write the name of a unit above it.", "part_of")
            if values["part_of"] and not part_of
            else None
        )
        row = Equipment(
            site=self.here.site, kind=values["kind"], label=values["label"], serial=values["serial"], part_of=part_of,
            in_service_from=self.from_day(values),
        )  # fmt: skip
        made = enter_equipment(row, by=self.here.by)
        self.units[made.label.lower()] = made
        return made

    def named(self, values: Values) -> Equipment:
        unit = self.units.get(values["label"].lower())
        if unit is None:
            raise Refused(Refusal(f"No unit here is called {values['label']} yet.", "Choose its kind.", "kind"))
        return unit

    def open(self, unit: Equipment, task: UpkeepTask, values: Values, id: UUID) -> None:
        there = self.opened.get((unit.pk, task.pk))
        refuse_if(
            Refusal(
                f"Its opening reading says {short_day(there.last_done)} already.",
                "Take that back on the page of the unit first, where it is wrong.",
                "last_done",
            )
            if there
            else None
        )
        row = opening_reading(unit, task, values["last_done"], by=self.here.by, units=values["units"] or 0, id=id)
        self.opened[unit.pk, task.pk] = row

    def done(self, recorded: int) -> str:
        return f"{counted(recorded, 'line')} recorded."

    def sample(self) -> list[TableLine]:
        """Three units with tasks of this register: of a milling unit two, so that a second line of a unit is shown."""
        units = (
            ("milling unit", "unit 1", "EXAMPLE-1", ""),
            ("coolant tank", "tank 1", "", "unit 1"),
            ("torque driver", "driver 1", "", ""),
        )
        return [
            TableLine(dict(zip((*OF_UNIT, *OF_TASK), cells, strict=True)))
            for of_unit in units
            for cells in self.sample_of(of_unit, most=2 if of_unit == units[0] else 1)
        ]

    def sample_of(self, of_unit: tuple[str, ...], most: int) -> list[tuple[str, ...]]:
        kind, label, _, _ = of_unit
        tasks = [task for task in self.tasks if task.equipment_kind == kind][:most]
        first = (*of_unit, self.start)
        return [
            (*(("", label, "", "", "") if n else first), task.code, self.start, "4" if task.every_units else "")
            for n, task in enumerate(tasks)
        ] or [(*first, "", "", "")]


def same_kind(words: str) -> str:
    """The kind as it is stored, from its words in a file."""
    said = words.strip().lower()
    return next((code for code, label in EquipmentKind.choices if said in (code, str(label).lower())), "")
