"""A table as one form: a field for each cell, so that every fault stands at its cell and nothing typed is lost."""

from collections.abc import Iterator, Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass
from typing import Any
from uuid import UUID, uuid5

from django import forms
from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.forms import BoundField

from clinic.forms.base import SubmissionForm
from clinic.record import Refused
from clinic.rules.words import begun
from clinic.tables import ALL, YES, Table, TableColumn, TableLine, Values, chosen, keyed

FOR_ALL, GIVEN, SEEN = "all", "given", "seen"
NONE_OF_THESE = "“%(value)s” is none of these. Write one of: {}."
NO = ("", "no", "n", "0", "false")


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell as it is drawn. `boxes`: of a cell of several codes; `words`: of a cell that the register filled in."""

    column: TableColumn
    name: str
    fields: tuple[BoundField, ...] = ()
    words: str = ""
    value: str = ""

    @property
    def field(self) -> BoundField:
        return self.fields[0]

    @property
    def is_given(self) -> bool:
        return not self.fields


@dataclass(frozen=True, slots=True)
class Drawn:
    """A line as a template draws it: what it is called, the key of its cells' names, and what travels with it unseen."""

    called: str
    key: str
    given: str
    number: int
    cells: list[Cell]
    folded_by: str = ""
    topic: str = ""

    @property
    def beside(self) -> list[Cell]:
        """What the heads above the line do not say."""
        return [cell for cell in self.cells if cell.column.name != self.folded_by]

    @property
    def place(self) -> str:
        """What its fold is called."""
        return next((cell.words for cell in self.cells if cell.column.name == self.folded_by), "")

    @property
    def is_wrong(self) -> bool:
        return any(field.errors for cell in self.cells for field in cell.fields)

    @property
    def own(self) -> list[Cell]:
        """What each line says for itself."""
        return [cell for cell in self.cells if not cell.is_given and not cell.column.shared]

    @property
    def shared(self) -> list[Cell]:
        """What may stand above the table instead."""
        return [cell for cell in self.cells if not cell.is_given and cell.column.shared]

    @property
    def says_anything(self) -> bool:
        """Whether a cell of its own is filled in or refused, so that the line is not folded away."""
        return any(field.errors or field.value() for cell in self.own for field in cell.fields)

    @property
    def is_apart(self) -> bool:
        """Whether one of these is said here all the same, or refused."""
        return any(cell.field.errors or cell.field.value() for cell in self.shared)


@dataclass(frozen=True, slots=True)
class Fold:
    """Lines that stand under one head. `is_next`: whether its first open line is the next thing to fill in."""

    title: str
    rows: list[Drawn]
    is_next: bool = False
    parts: "tuple[Fold, ...]" = ()

    @property
    def open(self) -> list[Drawn]:
        """What nobody began yet."""
        return [row for row in self.rows if not row.says_anything]

    @property
    def is_open(self) -> bool:
        return self.is_next or any(row.is_wrong for row in self.rows)


def folded(rows: Sequence[Drawn]) -> list[Fold]:
    """By what heads them, and in that by topic, each as its first line comes; open is what comes next, and what is wrong."""
    found: dict[str, dict[str, list[Drawn]]] = {}
    for row in rows:
        found.setdefault(row.place, {}).setdefault(row.topic, []).append(row)
    folds, left = [], True
    for place, topics in found.items():
        parts = []
        for topic, under in topics.items():
            is_next = left and not all(row.says_anything for row in under)
            left = left and not is_next
            parts.append(Fold(topic, under, is_next))
        folds.append(
            Fold(place, [row for part in parts for row in part.rows], any(part.is_next for part in parts), tuple(parts))
        )
    return folds


@dataclass(frozen=True, slots=True)
class Typed:
    """One line that says something, as read: values by column."""

    line: TableLine
    values: Values
    id: UUID


class TableForm(SubmissionForm):
    """`lines`: what stands in the cells. With `read` they were typed, and are read as a single form would read them."""

    def __init__(
        self, table: Table, lines: Sequence[TableLine], shared: Mapping[str, str], *, read: bool, beside: Any = None,
        **more: Any,
    ) -> None:  # fmt: skip
        self.table, self.lines = table, keyed(lines)
        data = {**cells_of(self.lines, table), **shared_cells(shared, table), **(beside or {})}
        super().__init__(data=data if read else None, initial=None if read else data, **more)
        for each in filter(lambda one: one.shared, table.columns):
            self.fields[f"{FOR_ALL}-{each.name}"] = field_for(each, each.label)
        for line in self.lines:
            for each in table.columns:
                self.add_cell(line, each)
        if table.warns:
            self.fields[SEEN] = forms.BooleanField(label=table.warns, required=False)

    def add_cell(self, line: TableLine, of: TableColumn) -> None:
        if of.name in line.given:
            return
        if of.several:
            for code, words in boxes_of(of):
                label = f"{words}, {self.called(line)}"
                box = self.fields[f"{name_of(line, of)}-{code}"] = forms.BooleanField(label=label, required=False)
                box.short = words  # type: ignore[attr-defined]
            return
        self.fields[name_of(line, of)] = field_for(of, f"{of.label}, {self.called(line)}", line[of.name])

    def called(self, line: TableLine) -> str:
        """A line in words: by its number in the file, by what it is about, or by its place on the page."""
        place = next(index for index, each in enumerate(self.lines, 1) if each.key == line.key)
        return f"line {line.number}" if line.number else self.table.about(line) or f"line {place}"

    # ---------- drawing ----------
    @property
    def shared(self) -> list[BoundField]:
        return [self[f"{FOR_ALL}-{each.name}"] for each in self.table.columns if each.shared]

    @property
    def rows(self) -> Iterator[Drawn]:
        for line in self.lines:
            cells = [self.cell(line, each) for each in self.table.columns]
            by, topic = self.table.folded_by, self.table.topic(line) if self.table.folded_by else ""
            yield Drawn(self.called(line), line.key, " ".join(sorted(line.given)), line.number, cells, by, topic)

    @property
    def folds(self) -> list[Fold]:
        return folded(list(self.rows))

    def cell(self, line: TableLine, of: TableColumn) -> Cell:
        if of.name in line.given:
            return Cell(of, name_of(line, of), words=shown_as(of, line[of.name]), value=line[of.name])
        names = [f"{name_of(line, of)}-{code}" for code, _ in boxes_of(of)] if of.several else [name_of(line, of)]
        return Cell(of, name_of(line, of), tuple(self[each] for each in names))

    # ---------- reading ----------
    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        for line in filter(self.is_meant, self.lines):
            for each in self.table.columns:
                for says in self.lacks(line, each, values):
                    self.refuse_at(line, each.name, says)
        return values

    def is_meant(self, line: TableLine) -> bool:
        """Whether somebody wrote something in the line, be it something that cannot be read."""
        return any(line[each.name] for each in self.table.columns if each.name not in line.given)

    def lacks(self, line: TableLine, of: TableColumn, values: dict[str, Any]) -> Iterator[str]:
        unknown = [each for each in chosen(line[of.name], of.codes) if each not in dict(of.codes)] if of.several else []
        if unknown:
            yield f"{', '.join(unknown)} is none of these. Write their codes, or “{ALL}”."
        elif of.name in line.given:
            yield from against_given(of, line[of.name])
        elif of.required and name_of(line, of) not in self.errors and self.value(line, of, values) in (None, "", []):
            yield of.required

    def value(self, line: TableLine, of: TableColumn, values: dict[str, Any]) -> Any:
        """What the cell says; where it is empty, what stands above the table for every line."""
        if of.several:
            return list(dict.fromkeys(chosen(line[of.name], of.codes)))
        if of.name in line.given:
            return field_for(of, of.label).clean(line[of.name])
        own = values.get(name_of(line, of))
        return values.get(f"{FOR_ALL}-{of.name}") if of.shared and own in (None, "") else own

    def typed(self) -> Iterator[Typed]:
        """Every line that says something and could be read."""
        submission: UUID | None = self.cleaned_data.get("submission")
        if submission is None:
            return
        wrong = {name.partition("-")[0] for name in self.errors}
        for line in filter(self.is_meant, self.lines):
            if f"r{line.key}" not in wrong:
                values = {each.name: self.value(line, each, self.cleaned_data) for each in self.table.columns}
                yield Typed(line, values, uuid5(submission, line.key))

    # ---------- refusing ----------
    def refuse(self, line: TableLine, refused: Refused) -> None:
        """Every reason of an action, at the cell that it names."""
        for each in dict.fromkeys(refused.refusals):
            at = self.table.refusals_at.get(each.field, each.field)
            self.refuse_at(line, at, f"{each.says} {each.supply}".strip())

    def refuse_at(self, line: TableLine, at: str, says: str) -> None:
        """At the cell; where the register filled that in, or it names none, at the first that is open."""
        cells = [cell for each in self.table.columns if not (cell := self.cell(line, each)).is_given]
        there = [each for each in cells if each.column.name == at] or cells
        name = there[0].field.name if there else None
        if says not in self.errors.get(name or NON_FIELD_ERRORS, ()):
            self.add_error(name, ValidationError(says, code="refused"))

    def ask_about(self, warnings: Sequence[str]) -> None:
        """What has to be seen before it is recorded is said, until the box beside it is ticked."""
        if warnings and not self.cleaned_data.get(SEEN):
            self.add_error(
                SEEN, f"Nothing is saved yet. {' '.join(warnings)} Tick this where it is right, and save again."
            )

    def not_proved_yet(self) -> None:
        """A trial asks nobody for a signature."""

    @property
    def by_cell(self) -> list[tuple[str, str, str]]:
        """Each fault at a field: where, in words; the field to go to; what is wrong, with its remedy."""
        places = {
            field.name: f"{begun(row.called)}, {cell.column.label.lower()}"
            for row in self.rows for cell in row.cells for field in cell.fields
        }  # fmt: skip
        return [
            (places.get(name) or str(self.fields[name].label), self[name].id_for_label, words)
            for name, found in self.errors.items() if name in self.fields and not self[name].is_hidden
            for words in map(str, found)
        ]  # fmt: skip


def name_of(line: TableLine, of: TableColumn) -> str:
    return f"r{line.key}-{of.name}"


def boxes_of(of: TableColumn) -> list[tuple[str, str]]:
    """The boxes of a cell of several codes, the one for all of them first."""
    return [(ALL, "All"), *of.codes] if of.codes else []


def against_given(of: TableColumn, words: str) -> Iterator[str]:
    """What the register filled in is its own, and still read: a page that was sent may say anything."""
    try:
        field_for(of, of.label).clean(words)
    except ValidationError as wrong:
        yield from wrong.messages


def field_for(of: TableColumn, label: str, words: str = "") -> forms.Field:
    """A field of its own for one cell. A choice that is none stays to be seen, and is refused."""
    field = deepcopy(of.field)
    field.required, field.label, field.help_text = False, label, ""
    if isinstance(field, forms.ChoiceField):
        field.widget = forms.Select()  # a line has no room for dots
        listed = [said for code, said in of.field.choices if code]  # type: ignore[attr-defined]
        field.choices = [("", "Choose"), *((code, said) for code, said in of.field.choices if code)]  # type: ignore[attr-defined]
        field.error_messages["invalid_choice"] = NONE_OF_THESE.format(", ".join(map(str, listed)))
        if words and words not in dict(field.choices):
            field.widget.choices = [*field.choices, (words, words)]
    elif isinstance(field.widget, forms.Textarea):
        field.widget.attrs["rows"] = 2
    if isinstance(field, forms.CharField):
        field.error_messages.setdefault("max_length", "Shorten it to %(limit_value)s letters.")
    return field


def shown_as(of: TableColumn, words: str) -> str:
    if of.is_choice and words:
        return str(dict(of.field.choices).get(words, words))  # type: ignore[attr-defined]
    return words


def cells_of(lines: Sequence[TableLine], table: Table) -> dict[str, Any]:
    """What stands in each field of the form."""
    found: dict[str, Any] = {}
    for line in lines:
        for each in table.columns:
            name, words = name_of(line, each), line[each.name]
            if each.several:
                codes, all_of = set(chosen(words, each.codes)), {code for code, _ in each.codes}
                found |= {f"{name}-{code}": "on" for code in codes}
                found |= {f"{name}-{ALL}": "on"} if all_of and codes >= all_of else {}
            elif each.is_tick:
                found |= {} if words.lower() in NO else {name: "on"}
            else:
                found[name] = choice_named(each, words) if each.is_choice else words
    return found


def choice_named(of: TableColumn, words: str) -> str:
    """The value of a choice that a file names by its value or its words."""
    for code, said in of.field.choices:  # type: ignore[attr-defined]
        if code and words.lower() in (str(code).lower(), str(said).lower()):
            return str(code)
    return words


def shared_cells(shared: Mapping[str, str], table: Table) -> dict[str, str]:
    return {f"{FOR_ALL}-{each.name}": shared.get(each.name, "") for each in table.columns if each.shared}


def lines_sent(data: Mapping[str, str], table: Table) -> list[TableLine]:
    """The lines of a page that was sent, each cell as text. Each line has a field that names what the register filled in."""
    found = []
    for name in data:
        key, _, rest = name[1:].partition("-")
        if name.startswith("r") and rest == GIVEN and key.isalnum():
            given = frozenset(data[name].split()) & {each.name for each in table.columns}
            values = {each.name: sent_cell(data, f"r{key}-{each.name}", each) for each in table.columns}
            found.append(TableLine(values, given, number_in(data.get(f"r{key}-number", "")), key))
    return found


def number_in(words: str) -> int:
    return int(words) if words.isascii() and words.isdecimal() and len(words) < 6 else 0


def sent_cell(data: Mapping[str, str], name: str, of: TableColumn) -> str:
    if of.several:
        if f"{name}-{ALL}" in data:
            return ALL
        return ", ".join(code for code, _ in of.codes if f"{name}-{code}" in data)
    if of.is_tick:
        return "" if data.get(name, "").lower() in NO else YES
    return data.get(name, "").strip()


def shared_sent(data: Mapping[str, str], table: Table) -> dict[str, str]:
    return {each.name: data.get(f"{FOR_ALL}-{each.name}", "") for each in table.columns if each.shared}
