"""What a unit was used for, how fast, and when its counters may reach their marks: a range, never a single day."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import QuerySet

from clinic.models import Equipment, Site, Use
from clinic.reads.upkeep import UnitTask, unit_tasks
from clinic.rules.upkeep_facts import Use as PlainUse
from clinic.rules.usage import DaysUntil, Rate, days_until, rate
from clinic.rules.words import day_words

LOOK_BACK = timedelta(days=90)
FAR = 3650  # days; a forecast beyond it would promise too much (own choice)


@dataclass(frozen=True, slots=True)
class Counter:
    """One task's counter today, and the stretch of days in which it may reach its plan and its due mark."""

    one: UnitTask
    units: int
    mark: int
    plan: str
    due: str
    rate: str


def counters(site: Site, unit: Equipment, today: date) -> list[Counter]:
    """For every task of the unit that use drives."""
    return counters_among(unit_tasks(site, [unit], since=today - LOOK_BACK), today)


def counters_among(tasks: Iterable[UnitTask], today: date) -> list[Counter]:
    """The same for tasks that were read already."""
    found = [(one, one.rule_on(today)) for one in tasks]
    return [
        counter_of(one, today, rule.every_units, rule.plan_units) for one, rule in found if rule.every_units is not None
    ]


def counter_of(one: UnitTask, today: date, mark: int, plan: int | None) -> Counter:
    units, (events, days) = one.units_on(today), recent(one.uses, one.life.first, today)
    said = "" if plan is None else forecast_words(days_until(plan - units, events, days), today)
    return Counter(
        one,
        units,
        mark,
        said,
        forecast_words(days_until(mark - units, events, days), today),
        rate_words(rate(events, days), one.task.unit_word),
    )


def recent(uses: Sequence[PlainUse], first: date, today: date) -> tuple[int, int]:
    """Units and days of the last 90 days, or of the days since the clock started where those are fewer; today included."""
    since = max(first, today - LOOK_BACK + timedelta(days=1))
    return sum(use.units for use in uses if since <= use.day <= today), max(0, (today - since).days + 1)


def forecast_words(found: DaysUntil, today: date) -> str:
    """Between 28 November 2026 and 5 December 2026 (90 % range). Beyond ten years no day is named."""
    if found.earliest == 0 and found.latest == 0:
        return found.says
    if found.earliest > FAR:
        return "Not within ten years, as it is used now."
    if found.latest is None:
        return found.says
    first = day_words(today + timedelta(days=found.earliest))
    if found.latest > FAR:
        return f"Not before {first}, and perhaps not within ten years (90 % range)."
    return f"Between {first} and {day_words(today + timedelta(days=found.latest))} (90 % range)."


def rate_words(found: Rate | None, word: str) -> str:
    """Parts a week with the 95 % limits of the count."""
    if found is None:
        return "No days to count yet."
    low, high = 7 * found.limits.lower, 7 * found.limits.upper
    return f"{7 * found.value:.1f} {word} a week (95 % limits {low:.1f} to {high:.1f}), from the last 90 days."


def uses_of(site: Site, unit: Equipment) -> QuerySet[Use]:
    """Newest first."""
    rows = Use.objects.live().filter(site=site, equipment=unit).select_related("recorded_by")
    return rows.order_by("-happened_on", "-recorded_at", "pk")
