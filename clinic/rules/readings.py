"""Readings judged against their task: good, or out of limits and then what to do and by when."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

FactValue = str | float | int
Value = str | float | int | bool | None


class ReadingKind(StrEnum):
    NUMBER = "number"
    YES_NO = "yes/no"
    CHOICE = "choice"
    N_OF_N = "n of n"
    TEXT = "text"


class Judged(StrEnum):
    GOOD = "good"
    OUT = "out of limits"
    MISSING = "missing"
    UNREADABLE = "unreadable"
    NO_LIMIT = "no limit known"


@dataclass(frozen=True, slots=True)
class ReadingSpec:
    """One reading of a task. Limits are inclusive; `below` is exclusive.

    `later`: it has to grow first, and may be read on a later day than it was sampled. `site_limit` names a site fact whose number may only tighten `high`. For n of n, `total` is n, or `site_total`
    names the site fact that holds it. `good` lists the good choices; for yes/no it is ("yes",) unless given.
    From `worse_from` on `do_when_worse` is to be done instead of `what_to_do`, the same day. `optional`: nobody is asked
    why it is missing.
    """

    key: str
    label: str
    kind: ReadingKind
    unit: str = ""
    low: float | None = None
    high: float | None = None
    below: float | None = None
    site_limit: str | None = None
    choices: tuple[str, ...] = ()
    good: tuple[str, ...] = ()
    total: int | None = None
    site_total: str | None = None
    what_to_do: str = ""
    follow_up_days: int | None = None
    needs_limit: bool = False
    later: bool = False
    worse_from: float | None = None
    do_when_worse: str = ""
    optional: bool = False


@dataclass(frozen=True, slots=True)
class Verdict:
    key: str
    judged: Judged
    sentence: str
    what_to_do: str = ""
    follow_up_due: date | None = None


def readings_verdict(
    specs: Sequence[ReadingSpec], values: Mapping[str, Value], facts: Mapping[str, FactValue], day: date
) -> list[Verdict]:
    """One verdict for each reading that is asked or was taken, in order. An out one carries what to do and the day its
    follow-up is due."""
    asked = [spec for spec in specs if not (spec.optional and is_empty(values.get(spec.key)))]
    return [_verdict(spec, values.get(spec.key), facts, day) for spec in asked]


def is_empty(value: Value) -> bool:
    return value is None or value == ""


def _verdict(spec: ReadingSpec, value: Value, facts: Mapping[str, FactValue], day: date) -> Verdict:
    if is_empty(value):
        return Verdict(spec.key, Judged.MISSING, f"{spec.label}: no reading. Enter it, or say in the note why not.")
    judge = {
        ReadingKind.NUMBER: _number,
        ReadingKind.YES_NO: _yes_no,
        ReadingKind.CHOICE: _choice,
        ReadingKind.N_OF_N: _n_of_n,
        ReadingKind.TEXT: _text,
    }[spec.kind]
    judged, says = judge(spec, value, facts)
    sentence = f"{spec.label}: {says}"
    if judged is not Judged.OUT:
        return Verdict(spec.key, judged, sentence)
    if is_worse(spec, value):
        return Verdict(spec.key, judged, sentence, spec.do_when_worse, day)
    due = None if spec.follow_up_days is None else day + timedelta(days=spec.follow_up_days)
    return Verdict(spec.key, judged, sentence, spec.what_to_do, due)


def is_worse(spec: ReadingSpec, value: Value) -> bool:
    """Whether it is so far out that something else is to be done, at once."""
    number = next((one for one in (as_number(value), at_least(value)) if one is not None), None)
    return spec.worse_from is not None and number is not None and number >= spec.worse_from


def as_number(value: Value) -> float | None:
    """A finite number, or None. Yes and no are not numbers."""
    if isinstance(value, bool) or value is None:
        return None
    try:
        number = float(value)
    except (ValueError, OverflowError):
        return None
    return number if math.isfinite(number) else None


def upper_limit(spec: ReadingSpec, facts: Mapping[str, FactValue]) -> float | None:
    """The lower of the task's limit and the site's own, where there are any."""
    own = as_number(facts.get(spec.site_limit)) if spec.site_limit else None
    return min((limit for limit in (spec.high, own) if limit is not None), default=None)


def at_least(value: Value) -> float | None:
    """The number of a reading beyond what can be counted, such as ≥ 300 or >300; None for any other (S-94)."""
    words = str(value).strip()
    sign = next((sign for sign in ("≥", ">=", ">") if words.startswith(sign)), "")
    return as_number(words.removeprefix(sign).strip()) if sign else None


def less_than(value: Value) -> float | None:
    """The number of a reading below what can be seen, such as <10; None for any other (S-90)."""
    words = str(value).strip()
    return as_number(words.removeprefix("<").strip()) if words.startswith("<") else None


def _number(spec: ReadingSpec, value: Value, facts: Mapping[str, FactValue]) -> tuple[Judged, str]:
    number, high = as_number(value), upper_limit(spec, facts)
    most = at_least(value)
    if most is not None and (high is not None or spec.below is not None):
        return Judged.OUT, f"{str(value).strip()} {spec.unit}".rstrip() + ", too many to count."
    least = less_than(value)
    if least is not None and least > 0 and (high is not None or spec.below is not None):
        edge = min(limit for limit in (high, spec.below) if limit is not None)
        says = f"{str(value).strip()} {spec.unit}".rstrip()
        if least <= edge:
            return Judged.GOOD, f"{says} is within limits."
        return Judged.OUT, f"{says} does not show that it is within {edge:,.10g}."
    if number is None:
        return Judged.UNREADABLE, f"“{value}” is not a number. Enter digits."
    says = f"{number:,.10g} {spec.unit}".rstrip()
    if spec.low is None and high is None and spec.below is None:
        return (Judged.NO_LIMIT if spec.needs_limit else Judged.GOOD), f"{says}."
    wrong = [
        f"under {spec.low:,.10g}" if spec.low is not None and number < spec.low else "",
        f"over {high:,.10g}" if high is not None and number > high else "",
        f"not below {spec.below:,.10g}" if spec.below is not None and number >= spec.below else "",
    ]
    found = " and ".join(filter(None, wrong))
    return (Judged.OUT, f"{says} is {found}.") if found else (Judged.GOOD, f"{says} is within limits.")


def _yes_no(spec: ReadingSpec, value: Value, facts: Mapping[str, FactValue]) -> tuple[Judged, str]:
    word = {True: "yes", False: "no"}.get(value, value) if isinstance(value, bool) else str(value).strip().lower()
    if word not in {"yes", "no"}:
        return Judged.UNREADABLE, f"“{value}” is neither yes nor no. Choose one."
    return (Judged.GOOD if word in (spec.good or ("yes",)) else Judged.OUT), f"{word}."


def _choice(spec: ReadingSpec, value: Value, facts: Mapping[str, FactValue]) -> tuple[Judged, str]:
    if value not in spec.choices:
        return Judged.UNREADABLE, f"“{value}” is not one of {', '.join(spec.choices)}. Choose one."
    return (Judged.GOOD if value in spec.good else Judged.OUT), f"{value}."


def _text(spec: ReadingSpec, value: Value, facts: Mapping[str, FactValue]) -> tuple[Judged, str]:
    return Judged.GOOD, f"{value}."


def _n_of_n(spec: ReadingSpec, value: Value, facts: Mapping[str, FactValue]) -> tuple[Judged, str]:
    count = as_number(value)
    total = as_number(facts.get(spec.site_total)) if spec.site_total else spec.total
    if count is None or count < 0 or count != int(count):
        return Judged.UNREADABLE, f"“{value}” is not a count. Enter a whole number from 0."
    if total is None:
        return Judged.NO_LIMIT, f"{count:.0f}, but how many there are is not written down. Fill in the site fact."
    if count > total:
        return Judged.UNREADABLE, f"{count:.0f} of {total:.0f} cannot be. Enter at most {total:.0f}."
    return (Judged.GOOD if count == total else Judged.OUT), f"{count:.0f} of {total:.0f}."
