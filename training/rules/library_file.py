"""Reading one YAML file of the library field by field, keeping the line of each, and every fault met on the way.

A getter that finds a fault notes it and gives back something empty of the right type, so that reading goes on and all
faults come out at once.

A kept library of models gives back nothing where one field is wrong, so that a name defined nowhere, a ring or a role that
nobody fills would only be told when every field is right, and those that stop at the first fault tell less. It would spare
the getters (some ninety of the lines here), ask a model beside each dataclass and a sentence and line for each kind of fault,
and cost 150 ms at the start; so all of it is ours.
"""

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TypeVar

from yaml import MarkedYAMLError, YAMLError

from clinic.rules.yaml_text import FieldFault, Fields, Items, read_yaml

T = TypeVar("T")
SITE_FACT = re.compile(r"\{([^{}]*)\}")
EQUIPMENT_KINDS = (
    "milling unit", "coolant tank", "coolant filter", "suction unit", "torque driver", "reference driver", "steriliser",
    "dental unit", "dental-unit water line", "eyewash", "sharps tub", "shared tablet", "site",
)  # fmt: skip
KINDS: Mapping[type, str] = {
    str: "text",
    int: "a whole number",
    float: "a number",
    bool: "true or false",
    list: "a list",
}


@dataclass(frozen=True, slots=True, order=True)
class LibraryFault:
    """`line` counts from 1; 0 means the file as a whole."""

    file: str
    line: int
    says: str

    def __str__(self) -> str:
        return f"{self.file}, line {self.line}: {self.says}"


@dataclass(frozen=True, slots=True)
class Mention:
    """A name of something that has to be defined somewhere: a site fact, a procedure, an upkeep task …"""

    what: str
    name: str
    file: str
    line: int


@dataclass
class Reader:
    """What was met while reading: faults, names that were defined and names that were used."""

    folder: Path
    faults: list[LibraryFault] = field(default_factory=list)
    mentions: list[Mention] = field(default_factory=list)
    known: dict[str, set[str]] = field(default_factory=lambda: defaultdict(set))

    def open(self, name: str) -> "Block":
        """The file as a block; an empty one, with a fault noted, where it cannot be read."""
        data: Any = Fields()
        try:
            data = read_yaml((self.folder / name).read_text(encoding="utf-8"))
        except FileNotFoundError:
            self.fault(name, 0, "the file is missing: add it.")
        except MarkedYAMLError as error:
            mark = error.problem_mark or error.context_mark
            says = error.problem if isinstance(error, FieldFault) else f"this is no YAML: {error.problem}."
            self.fault(name, mark.line + 1 if mark else 0, str(says))
        except (YAMLError, UnicodeDecodeError) as error:
            self.fault(name, 0, f"this is no YAML: {error}.")
        if isinstance(data, Fields) and (data or any(fault.file == name for fault in self.faults)):
            return Block(self, name, 1, data, unreadable=not data)
        self.fault(name, 1, "the file holds no fields: write “name: value” lines.")
        return Block(self, name, 1, Fields(), unreadable=True)

    def fault(self, file: str, line: int, says: str) -> None:
        self.faults.append(LibraryFault(file, line, says))

    def define(self, what: str, name: str, block: "Block", at: str) -> None:
        """Note a definition; a second one of the same name is a fault."""
        if name and name in self.known[what]:
            block.fault(f"there are two {what.partition(' in ')[0]}s named {name}: change one.", at)
        self.known[what].add(name)

    def mention(self, what: str, name: str, block: "Block", at: str) -> None:
        if name:
            self.mentions.append(Mention(what, name, block.file, block.line_of(at)))

    def unknown(self) -> Iterator[LibraryFault]:
        """Names used but defined nowhere."""
        for each in self.mentions:
            if each.name not in self.known[each.what]:
                what = each.what.partition(" in ")[0]
                shown = "{" + each.name + "}" if what == "site fact" else each.name
                yield LibraryFault(
                    each.file, each.line, f"{what} {shown} is not defined: define it, or correct the name."
                )


@dataclass
class Block:
    """A mapping of a file. Every field read is known; `close` tells the others."""

    reader: Reader
    file: str
    line: int
    data: Fields
    unreadable: bool = False
    read: set[str] = field(default_factory=set)
    faulty: bool = False

    def fault(self, says: str, name: str | None = None) -> None:
        self.fault_at(self.line_of(name) if name else self.line, says)

    def fault_at(self, line: int, says: str) -> None:
        self.faulty = True
        self.reader.fault(self.file, line, says)

    def line_of(self, name: str) -> int:
        return self.data.lines.get(name, self.line)

    def close(self) -> None:
        for name in self.data:
            if name not in self.read:
                self.fault(f"field {name} is unknown: correct its name, or take it out.", name)

    def value(self, name: str, kind: type[T], empty: T) -> T:
        """A field that must be there."""
        self.read.add(name)
        if name in self.data:
            return self.typed(name, kind, empty)
        if not self.unreadable:
            self.fault(f"field {name} is missing: add it.")
        return empty

    def maybe(self, name: str, kind: type[T], default: T) -> T:
        self.read.add(name)
        return self.typed(name, kind, default) if name in self.data else default

    def optional(self, name: str, kind: type[T], empty: T, default: T | None = None) -> T | None:
        """A field that may be left out, and may be null, which asks nothing."""
        self.read.add(name)
        if name in self.data:
            return None if self.data[name] is None else self.typed(name, kind, empty)
        return default

    def typed(self, name: str, kind: type[T], empty: T) -> T:
        value = self.data[name]
        if not is_a(value, kind):
            self.fault(f"{name} must be {KINDS[kind]}, and is {value!r}.", name)
            return empty
        if isinstance(value, str):
            self.mention_site_facts(value, self.line_of(name))
            if not value.strip():
                self.fault(f"{name} is empty: write it, or leave the field out.", name)
        return value  # type: ignore[no-any-return]

    def text(self, name: str) -> str:
        return str(self.value(name, str, "")).strip()

    def maybe_text(self, name: str) -> str:
        return str(self.maybe(name, str, "")).strip()

    def texts(self, name: str, *, needed: bool = False) -> tuple[str, ...]:
        """A list of texts."""
        items = list(self.items(name, needed))
        for index, item in items:
            if not isinstance(item, str) or not item.strip():
                self.fault_at(index, f"{name} must hold texts, and holds {item!r}.")
            else:
                self.mention_site_facts(item, index)
        return tuple(str(item) for _, item in items)

    def blocks(self, name: str, *, needed: bool = False) -> list["Block"]:
        """A list of mappings."""
        found = []
        for line, item in self.items(name, needed):
            if isinstance(item, Fields):
                found.append(Block(self.reader, self.file, line, item))
            else:
                self.fault_at(line, f"{name} must hold fields, and holds {item!r}.")
        return found

    def block(self, name: str) -> "Block":
        """A mapping; an unreadable one where there is none."""
        self.read.add(name)
        value = self.data.get(name)
        if isinstance(value, Fields):
            return Block(self.reader, self.file, self.line_of(name), value)
        if name in self.data:
            self.fault(f"{name} must hold fields, and is {value!r}.", name)
        elif not self.unreadable:
            self.fault(f"field {name} is missing: add it.")
        return Block(self.reader, self.file, self.line, Fields(), unreadable=True)

    def items(self, name: str, needed: bool) -> Iterator[tuple[int, Any]]:
        """The items of a list, each with its line."""
        values = self.value(name, list, []) if needed else self.maybe(name, list, [])
        if isinstance(values, Items):
            yield from zip(values.lines, values, strict=True)

    def choice(self, name: str, words: Iterable[str]) -> str:
        """One of some words; the first of them where it is another."""
        allowed = list(words)
        word = self.text(name)
        if word and word not in allowed:
            self.fault(f"{name} is {word}: write one of {', '.join(allowed)}.", name)
        return word if word in allowed else allowed[0]

    def names(self, name: str, what: str, *, needed: bool = False) -> tuple[str, ...]:
        """A list of names of something that must be defined."""
        found = self.texts(name, needed=needed)
        for line, each in self.items(name, needed=False):
            self.reader.mentions.append(Mention(what, str(each), self.file, line))
        return found

    def named(self, name: str, what: str) -> str:
        """The name of something that must be defined."""
        found = self.text(name)
        self.reader.mention(what, found, self, name)
        return found

    def mention_site_facts(self, text: str, line: int) -> None:
        for name in SITE_FACT.findall(text):
            self.reader.mentions.append(Mention("site fact", name, self.file, line))


def is_a(value: Any, kind: type) -> bool:
    """Whether a value is of the kind; true and false are no numbers, and a whole number is a number."""
    if kind in (int, float) and isinstance(value, bool):
        return False
    return isinstance(value, (int, float) if kind is float else kind)
