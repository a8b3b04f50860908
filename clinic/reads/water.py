"""Water results: dental-unit lines against the limit of treatment water, and mill tanks against their own bands, kept apart."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import pairwise
from typing import Any

from clinic.models import Equipment, FollowUp, Site, UpkeepEntry
from clinic.reads.coolant_bands import bands_of
from clinic.reads.follow_ups import open_follow_ups
from clinic.reads.site_answers import answers_among, answers_of, numbers_in
from clinic.rules.readings import as_number
from clinic.rules.water import (
    Count,
    GeometricMean,
    count_read,
    geometric_mean,
    judge_line,
    judge_tank,
    line_limit,
    treated,
)
from clinic.rules.wording import plain_day

LINE_TASKS, TANK_TASKS = ("U12", "U13"), ("U06",)
DETECTION = 1.0  # CFU/mL: what the smallest plate count stands for; a zero counts as half of it (S-90)

Sample = tuple[UpkeepEntry, Count]
Judge = Callable[[UpkeepEntry, Count], tuple[str, bool]]


@dataclass(frozen=True, slots=True)
class ResultSaid:
    """One count with what it means. `good`: pass, or the good band. `since_bad`: what a treatment did, after a bad one."""

    day: date
    task: str
    says: str
    good: bool
    since_bad: str = ""


@dataclass(frozen=True, slots=True)
class SampledUnit:
    """One line or one tank, its results newest first, and the geometric mean for looking back.

    `task`: the code by which the next sample is logged. `follow_ups`: what is out of limits and open."""

    unit: Equipment
    limit: str
    results: Sequence[ResultSaid]
    mean: GeometricMean | None
    task: str = ""
    follow_ups: Sequence[FollowUp] = ()

    @property
    def good(self) -> bool | None:
        return self.results[0].good if self.results else None


def lines(site: Site, today: date) -> list[SampledUnit]:
    """Each dental-unit water line by itself: a pooled mean can hide a bad one (W-07)."""
    answers = answers_of(site)

    def judge_of(unit: Equipment) -> tuple[str, Judge]:
        maker = as_number(numbers_in(answers_among(answers, unit)).get("water limit"))
        limit = int(maker) if maker is not None else None
        says = f"at most {line_limit(limit)} CFU/mL" + (
            ", the maker’s own limit" if line_limit(limit) < line_limit() else ""
        )
        return says, lambda row, count: (judge_line(count, limit).says, judge_line(count, limit).passed)

    return sampled(site, "dental-unit water line", LINE_TASKS, judge_of, today)


def tanks(site: Site, today: date) -> list[SampledUnit]:
    """Each mill tank by the bands for machine coolant that were known when it was sampled; never by the 500 of dental
    water (W-09, W-11)."""
    bands = bands_of(site)

    def judge(row: UpkeepEntry, count: Count) -> tuple[str, bool]:
        edges = bands.on(row.happened_on, row.recorded_at)
        found = judge_tank(count, edges)
        return (
            found.says if edges == bands.on(today) else f"{found.says} Judged by {edges.edition}."
        ), found.band == "good"

    def judge_of(unit: Equipment) -> tuple[str, Judge]:
        edges = bands.on(today)
        return f"good below {edges.reasonable_from:,}, poor from {edges.poor_from:,} CFU/mL ({edges.edition})", judge

    return sampled(site, "coolant tank", TANK_TASKS, judge_of, today)


def sampled(
    site: Site, kind: str, tasks: Sequence[str], judge_of: Callable[[Equipment], tuple[str, Judge]], today: date
) -> list[SampledUnit]:
    units = Equipment.objects.filter(site=site, kind=kind).in_service_on(today)
    rows = UpkeepEntry.objects.live().filter(site=site, task__code__in=tasks, happened_on__lte=today)
    found: dict[Any, list[Sample]] = {unit.pk: [] for unit in units}
    for row in rows.in_order().select_related("task"):
        count = count_read(row.readings.get("cfu"))
        if count is not None and row.equipment_id in found:
            found[row.equipment_id].append((row, count))
    waiting = open_follow_ups(site)
    return [one_sampled(unit, found[unit.pk], judge_of(unit), tasks[0], waiting) for unit in units]


def one_sampled(
    unit: Equipment, rows: Sequence[Sample], judged: tuple[str, Judge], task: str, waiting: Sequence[FollowUp]
) -> SampledUnit:
    limit, judge = judged
    results = [ResultSaid(row.happened_on, row.task.title, *judge(row, count)) for row, count in rows]
    after = [""] + [
        treated(before[1], now[1], DETECTION) if not bad.good else ""
        for (before, now), bad in zip(pairwise(rows), results, strict=False)
    ]
    told = [replace(result, since_bad=words) for result, words in zip(results, after, strict=False)]
    mean = geometric_mean([float(count.cfu) for _, count in rows], DETECTION)
    mine = [
        one
        for one in waiting
        if one.entry.equipment_id == unit.pk and one.entry.task.code in (*LINE_TASKS, *TANK_TASKS)
    ]
    return SampledUnit(unit, limit, told[::-1], mean, task, mine)


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
