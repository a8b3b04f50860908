"""Tables with which a practice is set up: many units, drivers, answers or grants on one page, or from a file filled in before.

One description of a table's columns serves the page, the CSV file and the workbook. A line is read by the form, whichever way
it came, and goes through the action that a single one would go through: each is its own sealed fact or change. All lines are
recorded in one transaction or none is, every fault is told at its cell, and a line that says what the register knows already
records nothing more.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager, nullcontext
from copy import deepcopy
from dataclasses import dataclass, replace
from datetime import date
from hashlib import md5
from types import MappingProxyType
from typing import Any, ClassVar
from uuid import UUID

from django import forms

from clinic.models import Person, Site
from clinic.rules.words import begun, in_text, short_day

MOST_LINES = 250  # of a table on a page; a longer file is split
ALL = "all"
YES = "yes"
Values = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class TablePlace:
    """Where, when and by whom a table is filled in."""

    site: Site
    today: date
    by: Person


@dataclass(frozen=True, slots=True, eq=False)
class TableColumn:
    """A column on the page and in files. `field` reads and draws a cell; `required`: what is said where it is empty in a line
    that says something; `shared`: may be written once above the table, for every line that leaves it empty; `several`: of the
    `codes`, one box each, or “all”; `example`: of the sample file; `first`: what stands above the table to begin with."""

    name: str
    field: forms.Field
    required: str = ""
    shared: bool = False
    several: bool = False
    codes: tuple[tuple[str, str], ...] = ()
    example: str = ""
    first: str = ""

    @property
    def label(self) -> str:
        return str(self.field.label or begun(self.name.replace("_", " ")))

    @property
    def is_day(self) -> bool:
        return isinstance(self.field, forms.DateField)

    @property
    def is_tick(self) -> bool:
        return isinstance(self.field, forms.BooleanField)

    @property
    def is_choice(self) -> bool:
        return isinstance(self.field, forms.ChoiceField)


def column(name: str, of: type[forms.BaseForm], *, optional: bool = False, label: str = "", **more: Any) -> TableColumn:
    """A column that reads and is called as the field of that name in a form for a single row."""
    field = deepcopy(of.base_fields[name])  # type: ignore[attr-defined]
    field.label = label or field.label or begun(name.replace("_", " "))
    words = str(field.error_messages["required"])
    asked = f"Fill in {in_text(field.label)}." if words == forms.Field.default_error_messages["required"] else words
    return TableColumn(name, field, asked if field.required and not optional else "", **more)


def words_column(name: str, label: str, required: str = "", most: int = 200, **more: Any) -> TableColumn:
    """A column of plain words that no form of a single row has."""
    return TableColumn(name, forms.CharField(label=label, max_length=most), required, **more)


@dataclass(frozen=True, slots=True)
class TableLine:
    """One line as typed: text by column. `given`: the columns that the register filled in; `number`: of its line in a file;
    `key`: of its cells' names, the same while it is about the same, so that a tablet never puts kept words into another."""

    values: Mapping[str, str]
    given: frozenset[str] = frozenset()
    number: int = 0
    key: str = ""

    def __getitem__(self, name: str) -> str:
        return self.values.get(name, "")


NO_LINE = TableLine(MappingProxyType({}))


class Table:
    """What a table asks and records. One object serves one request: it looks up once what its lines name."""

    title: ClassVar[str]
    lead: ClassVar[str]
    refusals_at: ClassVar[Mapping[str, str]] = MappingProxyType({})  # field of an action's refusal → column
    blank: ClassVar[int] = 0  # empty lines at the foot
    nothing: ClassVar[str] = ""  # what is so where it asks nothing, and the one next thing to do then
    next_words: ClassVar[str] = ""
    next_page: ClassVar[str] = ""
    in_blocks: ClassVar[bool] = False  # whether a line is wider than a page
    folded_by: ClassVar[str] = ""  # the column whose words head a fold of lines, of a table that is longer than a page
    warns: ClassVar[str] = ""  # the box by which somebody records what they were warned of
    proof: Any = None  # who signs, proved again, where a line is signed

    def __init__(self, here: TablePlace) -> None:
        self.here = here
        self.columns = self.asks()

    def asks(self) -> tuple[TableColumn, ...]:
        """The columns, in order."""
        raise NotImplementedError

    def lines(self, typed: Sequence[TableLine]) -> list[TableLine]:
        """The lines of the page: what the register asks, with what was typed in it, and the rest of what was typed."""
        raise NotImplementedError

    def about(self, line: TableLine) -> str:
        """What a line is called: by what the register filled in."""
        return ", ".join(line[each.name] for each in self.columns if each.name in line.given and line[each.name])

    def topic(self, line: TableLine) -> str:
        """What the line stands under within its fold."""
        raise NotImplementedError

    def begin(self, lines: Sequence[Values]) -> None:
        """Told of all lines that can be read, before the first of them is recorded."""

    def is_known(self, values: Values) -> bool:
        """Whether the register says the very same already."""
        raise NotImplementedError

    def record(self, values: Values, id: UUID) -> None:
        """Record one line by its action. Raises Refused with every reason."""
        raise NotImplementedError

    def done(self, recorded: int) -> str:
        """What was recorded, in a sentence."""
        raise NotImplementedError

    def asks_more(self) -> bool:
        """Whether the table still asks something of its own."""
        return any(line.given for line in self.lines([]))

    def at_once(self) -> AbstractContextManager[None]:
        """Around the recording of all lines."""
        return nullcontext()

    def warnings(self, lines: Sequence[Values]) -> list[str]:
        """What is so once all lines are recorded, and has to be seen before they are."""
        return []

    def sample(self) -> list[TableLine]:
        """Lines that load as they are: those of the register with an example in each empty cell."""
        examples = {each.name: each.example for each in self.columns}
        return [
            TableLine({name: line[name] or example for name, example in examples.items()}) for line in self.lines([])
        ]


def laid_over(
    known: Sequence[TableLine], typed: Sequence[TableLine], key: Callable[[TableLine], object]
) -> list[TableLine]:
    """What was typed stands in the known line of the same key; a line of another key comes after."""
    left: dict[object, list[TableLine]] = {}
    for line in typed:
        left.setdefault(key(line), []).append(line)
    found = [with_typed(line, left[key(line)].pop(0)) if left.get(key(line)) else line for line in known]
    return [*found, *(line for lines in left.values() for line in lines if says_anything(line))]


def with_typed(known: TableLine, typed: TableLine) -> TableLine:
    """What the register filled in stays; every other cell says what was typed."""
    values = {**known.values, **{name: words for name, words in typed.values.items() if name not in known.given}}
    return TableLine(values, known.given, typed.number or known.number)


def keyed(lines: Sequence[TableLine]) -> list[TableLine]:
    """Each with a key of its own: made of what the register filled in, or of its place among those that it did not."""
    found: dict[str, TableLine] = {}
    for index, line in enumerate(lines):
        said = "|".join(f"{name}={line[name]}" for name in sorted(line.given))
        key = line.key or (md5(said.encode(), usedforsecurity=False).hexdigest()[:12] if said else f"n{index}")
        key = key if key not in found else f"{key}x{index}"
        found[key] = replace(line, key=key)
    return list(found.values())


def says_anything(line: TableLine) -> bool:
    return any(words for name, words in line.values.items() if name not in line.given)


def filled_up(lines: Sequence[TableLine], blank: int) -> list[TableLine]:
    return [*lines, *(NO_LINE for _ in range(blank))]


def day_text(day: date | None) -> str:
    return short_day(day) if day else ""


def codes_in(words: str) -> list[str]:
    """P01, P02 P03 → each by itself, in capitals where it is a code."""
    return [each for each in words.replace(",", " ").replace(";", " ").split() if each]


def chosen(words: str, choices: Sequence[tuple[str, str]]) -> Iterator[str]:
    """The codes that a cell names, as they are written in the list; “all” is every one. Others come back as they are."""
    known = {code.lower(): code for code, _ in choices}
    for each in codes_in(words):
        yield from (known.values() if each.lower() == ALL else [known.get(each.lower(), each)])
