"""Water results: dental-unit lines against the limit of treatment water, and mill tanks against their own bands, kept apart."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from clinic.models import Equipment, Site, UpkeepEntry
from clinic.reads.site_answers import answers_for, numbers_in
from clinic.rules.readings import as_number
from clinic.rules.water import Count, GeometricMean, geometric_mean, judge_line, judge_tank
from clinic.rules.wording import plain_day

LINE_TASKS, TANK_TASKS = ("U12", "U13"), ("U06",)
DETECTION = 1.0  # CFU/mL: what the smallest plate count stands for; a zero counts as half of it (S-90)


@dataclass(frozen=True, slots=True)
class ResultSaid:
    """One count with what it means. `good`: pass, or the good band."""

    day: date
    task: str
    says: str
    good: bool


@dataclass(frozen=True, slots=True)
class SampledUnit:
    """One line or one tank, its results newest first, and the geometric mean for looking back."""

    unit: Equipment
    limit: str
    results: Sequence[ResultSaid]
    mean: GeometricMean | None

    @property
    def good(self) -> bool | None:
        return self.results[0].good if self.results else None


def lines(site: Site, today: date) -> list[SampledUnit]:
    """Each dental-unit water line by itself: a pooled mean can hide a bad one (W-07)."""

    def judge_of(unit: Equipment) -> tuple[str, Callable[[int], tuple[str, bool]]]:
        maker = as_number(numbers_in(answers_for(site, unit)).get("water limit"))
        limit = int(maker) if maker is not None else None
        return f"at most {judge_line(Count(0), limit).limit} CFU/mL", lambda cfu: (
            judge_line(Count(cfu), limit).says,
            judge_line(Count(cfu), limit).passed,
        )

    return sampled(site, "dental-unit water line", LINE_TASKS, judge_of, today)


def tanks(site: Site, today: date) -> list[SampledUnit]:
    """Each mill tank by the bands for machine coolant; never by the 500 of dental water (W-09)."""

    def judge_of(unit: Equipment) -> tuple[str, Callable[[int], tuple[str, bool]]]:
        edges = judge_tank(Count(0)).edges
        return (
            f"good below {edges.reasonable_from:,}, poor from {edges.poor_from:,} CFU/mL ({edges.edition})",
            lambda cfu: (judge_tank(Count(cfu)).says, judge_tank(Count(cfu)).band == "good"),
        )

    return sampled(site, "coolant tank", TANK_TASKS, judge_of, today)


def sampled(
    site: Site, kind: str, tasks: Sequence[str], judge_of: Callable[[Equipment], Any], today: date
) -> list[SampledUnit]:
    units = Equipment.objects.filter(site=site, kind=kind).in_service_on(today)
    rows = (
        UpkeepEntry.objects.live()
        .filter(site=site, task__code__in=tasks, happened_on__lte=today)
        .in_order()
        .select_related("task")
    )
    found: dict[Any, list[tuple[UpkeepEntry, int]]] = {unit.pk: [] for unit in units}
    for row in rows:
        cfu = as_number(row.readings.get("cfu"))
        if cfu is not None and cfu >= 0 and row.equipment_id in found:
            found[row.equipment_id].append((row, int(cfu)))
    return [one_sampled(unit, found[unit.pk], *judge_of(unit)) for unit in units]


def one_sampled(
    unit: Equipment, rows: Sequence[tuple[UpkeepEntry, int]], limit: str, judge: Callable[[int], tuple[str, bool]]
) -> SampledUnit:
    results = [ResultSaid(row.happened_on, row.task.title, *judge(cfu)) for row, cfu in reversed(rows)]
    return SampledUnit(unit, limit, results, geometric_mean([float(cfu) for _, cfu in rows], DETECTION))


def water_sentence(units: Sequence[SampledUnit]) -> str:
    """How many lines passed last, and which did not."""
    bad = [one for one in units if one.good is False]
    if not units:
        return "No dental-unit water line is entered here."
    if bad:
        return (
            f"{bad[0].unit} failed on {plain_day(bad[0].results[0].day)}."
            if len(bad) == 1
            else f"{len(bad)} lines failed their last sample."
        )
    sampled_units = [one for one in units if one.good]
    return f"{len(sampled_units)} of {len(units)} lines passed their last sample."
