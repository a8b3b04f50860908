"""The text of a procedure as plain data, and its JSON form. Versions are stored, compared and sealed in that form."""

import json
from collections.abc import Mapping
from dataclasses import dataclass, fields
from enum import StrEnum
from functools import lru_cache
from typing import Any, TypeVar

from msgspec import convert, to_builtins

from clinic.rules.readings import ReadingSpec
from training.rules.facts import Policy

T = TypeVar("T")


class QuestionWeight(StrEnum):
    SAFETY = "safety"
    KNOWLEDGE = "knowledge"


@dataclass(frozen=True, slots=True)
class Source:
    """A published source, or the honest lack of one. `mark` says how sure: V read, R recomputed, M from memory, C common
    practice, D our own design."""

    row: str
    mark: str
    says: str = ""


@dataclass(frozen=True, slots=True)
class Step:
    """One thing that can be seen or heard. A step keeps its key across versions. `acts`: what it does, in its order,
    where its place among the others matters (`training.rules.step_order`)."""

    key: str
    do: str
    critical: bool = False
    when: str = ""
    caution: str = ""
    sources: tuple[str, ...] = ()
    acts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Question:
    """`right_index` counts the options as written, from 0."""

    key: str
    weight: QuestionWeight
    ask: str
    options: tuple[str, ...]
    right_index: int
    why: str = ""
    sources: tuple[str, ...] = ()

    @property
    def is_safety(self) -> bool:
        return self.weight is QuestionWeight.SAFETY

    @property
    def right(self) -> str:
        return self.options[self.right_index]


@dataclass(frozen=True, slots=True)
class Content:
    """`who`, `again` (when it is repeated), `contents` and `records` (beside the common record) are a taught topic's own."""

    purpose: str
    hazards: tuple[str, ...] = ()
    protective_equipment: tuple[str, ...] = ()
    note: str = ""
    steps: tuple[Step, ...] = ()
    evidence: str = ""
    questions: tuple[Question, ...] = ()
    sources: tuple[Source, ...] = ()
    who: str = ""
    again: str = ""
    contents: tuple[str, ...] = ()
    records: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ProcedureText:
    code: str
    title: str
    area: str
    kind: str  # practice or topic
    equipment_kind: str
    content: Content
    policy: Policy
    role_sets: tuple[str, ...] = ()
    stands_for: str = ""
    returns: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class UpkeepTaskText:
    """Due every so many days or units of use, whichever comes first; due already from `plan_units`.

    `only_a_pass`: neither a failed check nor a pause moves the due day. `closer_days`: the interval
    while new, failed or changed, until two passes in a row."""

    code: str
    title: str
    equipment_kind: str
    every_days: int | None
    every_units: int | None
    warn_days: int
    plan_units: int | None
    unit_word: str
    covered_by: str
    readings: tuple[ReadingSpec, ...]
    source: str
    note: str = ""
    sources: tuple[str, ...] = ()
    only_a_pass: bool = False
    closer_days: int | None = None
    stands_for: str = ""


@dataclass(frozen=True, slots=True)
class SiteFactText:
    """`of`: site, or the kind of equipment it is asked for. `write`: what the answer holds. `question`: of the walk round.
    `example`: an invented answer that reads well inside its sentences. `maker`: whether the maker says it, where that is not
    told by what it is asked of: a unit’s is the maker’s, a site’s is its own."""

    name: str
    of: str
    write: str
    question: int
    sources: tuple[str, ...] = ()
    example: str = ""
    maker: bool | None = None

    @property
    def is_makers(self) -> bool:
        return self.of != "site" if self.maker is None else self.maker


@dataclass(frozen=True, slots=True)
class WalkQuestion:
    number: int
    ask: str


@dataclass(frozen=True, slots=True)
class Hands:
    """What every checklist shows, what is "stop: unsafe" in every procedure, and what every taught session records."""

    title: str
    rules: tuple[str, ...]
    stop_unsafe: tuple[str, ...]
    common_record: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RoleSet:
    """`on_top_of`: the sets that whoever has this one has as well."""

    name: str
    says: str
    on_top_of: tuple[str, ...]
    procedures: tuple[str, ...]


def content_to_json(content: Content) -> dict[str, Any]:
    """Lists, text, numbers and booleans only; the inverse of `content_from_json`."""
    return plain(content)  # type: ignore[no-any-return]


def content_from_json(data: Mapping[str, Any]) -> Content:
    """Raises ValueError, with the place, for what is missing or of another type."""
    return from_plain(data, Content)


def policy_to_json(policy: Policy) -> dict[str, Any]:
    """Methods are sorted by name, so that equal policies have equal JSON."""
    return plain(policy)  # type: ignore[no-any-return]


def policy_from_json(data: Mapping[str, Any]) -> Policy:
    return from_plain(data, Policy)


@lru_cache(maxsize=4096)
def policy_from_text(text: str) -> Policy:
    """The same from its text, read once: a version is asked with every write, and never changes."""
    return policy_from_json(json.loads(text))


def plain(value: Any) -> Any:
    return to_builtins(value, order="deterministic")


def from_plain(data: Mapping[str, Any], kind: type[T]) -> T:
    """A field that is not known is refused: what it asks would be left out in silence."""
    if unknown := sorted(data.keys() - {field.name for field in fields(kind)}):  # type: ignore[arg-type]
        raise ValueError(f"{kind.__name__} has no field {', '.join(unknown)}.")
    return convert(data, kind)
