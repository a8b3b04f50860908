"""Sampled more often while a line is new, failed or changed, until two passes in a row.

Task U12 (the interval and the two passes are common practice, from memory). Dates are days of samples, changes and of
coming into service; spans are half-open.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date

from clinic.rules.spans import Span
from clinic.rules.upkeep_facts import DatedRule, TaskRule

PASSES = 2
"""Passes in a row that bring the ordinary interval back."""


@dataclass(frozen=True, slots=True)
class ReadSample:
    """A sample that was read, in the order of the samples."""

    day: date
    passed: bool


Closer = Span[str]
"""A stretch of days; its state is why: new, failed or changed."""


def closer_spans(new_on: date | None, changed_on: Iterable[date], samples: Sequence[ReadSample]) -> tuple[Closer, ...]:
    """When the closer interval holds. `samples` in their order.

    A change counts after the samples of its day: what was sampled before it says nothing of the line as it is now (D).
    """
    events: list[tuple[date, int, str]] = [(new_on, 0, "new")] if new_on else []
    events += [(sample.day, 1, "passed" if sample.passed else "failed") for sample in samples]
    events += [(day, 2, "changed") for day in changed_on]
    found: list[Closer] = []
    passes = PASSES
    for day, _, what in sorted(events, key=lambda event: event[:2]):
        running = passes < PASSES
        passes = passes + 1 if what == "passed" else 0
        if what != "passed" and not running:
            found.append(Span(day, None, what, ""))
        elif running and passes == PASSES:
            found.append(replace(found.pop(), after=day))
    return tuple(span for span in found if span.after is None or span.after > span.first)


def with_closer(dated: Sequence[DatedRule], spans: Sequence[Closer], days: int) -> tuple[DatedRule, ...]:
    """The rules with the closer interval in these stretches, never a longer one. `dated` in the order of their days."""
    edges = {day for day, _ in dated} | {day for span in spans for day in (span.first, span.after) if day}
    return tuple((day, _rule_on(dated, spans, days, day)) for day in sorted(edges))


def _rule_on(dated: Sequence[DatedRule], spans: Sequence[Closer], days: int, day: date) -> TaskRule:
    rule = next((rule for first, rule in reversed(dated) if first <= day), dated[0][1])
    if not any(span.holds_on(day) for span in spans):
        return rule
    return replace(rule, every_days=min(days, rule.every_days or days))
