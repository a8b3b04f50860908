"""The text of a procedure as plain data, and its JSON form. Versions are stored, compared and sealed in that form."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from enum import StrEnum
from typing import Any

from clinic.rules.readings import ReadingSpec
from training.rules.facts import FromPaper, Method, MethodQuota, Policy


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
    return plain(asdict(content))  # type: ignore[no-any-return]


def plain(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {key: plain(item) for key, item in value.items()}
    if isinstance(value, tuple | list):
        return [plain(item) for item in value]
    return str(value) if isinstance(value, StrEnum) else value


def content_from_json(data: Mapping[str, Any]) -> Content:
    lists = ("sources", "acts")
    steps = tuple(Step(**step | {name: tuple(step.get(name, ())) for name in lists}) for step in data["steps"])
    return Content(
        purpose=data["purpose"],
        hazards=tuple(data["hazards"]),
        protective_equipment=tuple(data["protective_equipment"]),
        note=data["note"],
        steps=steps,
        evidence=data["evidence"],
        questions=tuple(question_from(question) for question in data["questions"]),
        sources=tuple(Source(**source) for source in data["sources"]),
        who=data.get("who", ""),
        again=data.get("again", ""),
        contents=tuple(data.get("contents", ())),
        records=tuple(data.get("records", ())),
    )


def question_from(data: Mapping[str, Any]) -> Question:
    return Question(
        key=data["key"],
        weight=QuestionWeight(data["weight"]),
        ask=data["ask"],
        options=tuple(data["options"]),
        right_index=data["right_index"],
        why=data["why"],
        sources=tuple(data["sources"]),
    )


SETS = ("methods", "renewal_methods")
TUPLES = ("prerequisites", "upkeep_covered")


def policy_to_json(policy: Policy) -> dict[str, Any]:
    """Methods are sorted by name, so that equal policies have equal JSON."""
    data = {name: getattr(policy, name) for name in Policy.__dataclass_fields__}
    quotas = [{"methods": sorted(quota.methods), "count": quota.count} for quota in policy.by_method]
    sets = {name: sorted(data[name]) for name in SETS}
    return plain({**data, **sets, "by_method": quotas})  # type: ignore[no-any-return]


def policy_from_json(data: Mapping[str, Any]) -> Policy:
    quotas = tuple(MethodQuota(methods_of(quota["methods"]), quota["count"]) for quota in data["by_method"])
    sets = {name: methods_of(data[name]) for name in SETS}
    tuples = {name: tuple(data[name]) for name in TUPLES}
    paper = FromPaper(data.get("from_paper", FromPaper.BOTH))
    return Policy(**{**data, **sets, **tuples, "by_method": quotas, "from_paper": paper})


def methods_of(words: list[str]) -> frozenset[Method]:
    return frozenset(Method(word) for word in words)
