"""Water results: dental-unit lines against the limit of treatment water, and mill tanks against their own bands, kept apart."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import pairwise
from typing import Any

from django.db.models import QuerySet

from clinic.models import Equipment, FollowUp, ResultRead, Site, UpkeepEntry, UpkeepTask, WaterLimit
from clinic.prepared import Prepared
from clinic.reads.closer import closer_of
from clinic.reads.coolant_bands import bands_of
from clinic.reads.follow_ups import open_follow_ups
from clinic.reads.water_limits import limits_of
from clinic.rules.closer import Closer
from clinic.rules.cultures import noted_beside
from clinic.rules.due_wording import CountedHead
from clinic.rules.roles import KIND_OF, TaskRole
from clinic.rules.water import (
    Count,
    GeometricMean,
    count_read,
    judge_line,
    judge_tank,
    line_limit,
    mean_of,
    treated,
)
from clinic.rules.words import counted, day_words

SAMPLES = (TaskRole.LINE_SAMPLE, TaskRole.TANK_SAMPLE)
DETECTION = 1.0  # CFU/mL: what the smallest plate count stands for; a zero counts as half of it (S-90)

Sample = tuple[UpkeepEntry, Count]
Waiting = Sequence[FollowUp] | None  # the open follow-ups of the site, where they are read already
Judge = Callable[[UpkeepEntry, Count], tuple[str, bool, str]]  # what it means, whether it is good, its limit


@dataclass(frozen=True, slots=True)
class ResultSaid:
    """One count with what it means. `good`: pass, or the good band. `since_bad`: what a treatment did, after a bad one."""

    day: date
    task: str
    says: str
    good: bool
    since_bad: str = ""
    entry: UpkeepEntry | None = None
    limit: str = ""
    read_on: date | None = None
    beside: str = ""  # the laboratory and the number of its report


@dataclass(frozen=True, slots=True)
class SampledUnit:
    """One line or one tank, its results newest first (the newest, where only these are asked for), and the geometric mean of
    all its samples for looking back.

    `unread`: samples that wait for their reading. `closer`: why it is sampled more often. `task`: the code by which the next sample is logged. `follow_ups`: what is out of limits and open."""

    unit: Equipment
    limit: str
    results: Sequence[ResultSaid]
    task: str = ""
    follow_ups: Sequence[FollowUp] = ()
    unread: Sequence[UpkeepEntry] = ()
    closer: str = ""
    samples: int = 0
    mean: GeometricMean | None = None

    @property
    def good(self) -> bool | None:
        return self.results[0].good if self.results else None


def lines(site: Site, today: date, waiting: Waiting = None, newest: int | None = None) -> list[SampledUnit]:
    """Each dental-unit water line by itself: a pooled mean can hide a bad one (W-07)."""
    limits = limits_of(site)

    def judge_of(unit: Equipment) -> tuple[str, Judge]:
        def judge(row: UpkeepEntry, count: Count) -> tuple[str, bool, str]:
            then = limits.on(unit, row.happened_on, row.recorded_at)
            found = judge_line(count, then.number if then else None)
            return found.says, found.passed, limit_says(then)

        return limit_says(limits.on(unit, today)), judge

    return sampled(site, TaskRole.LINE_SAMPLE, judge_of, today, waiting, newest)


def limit_says(maker: WaterLimit | None) -> str:
    limit = line_limit(maker.number if maker else None)
    own = f", the maker’s own limit ({maker.source})" if maker and limit < line_limit() else ""
    return f"at most {limit} CFU/mL{own}"


def tanks(site: Site, today: date, waiting: Waiting = None, newest: int | None = None) -> list[SampledUnit]:
    """Each mill tank by the bands for machine coolant that were known when it was sampled; never by the 500 of dental
    water (W-09, W-11)."""
    bands = bands_of(site)

    def judge(row: UpkeepEntry, count: Count) -> tuple[str, bool, str]:
        edges = bands.on(row.happened_on, row.recorded_at)
        found = judge_tank(count, edges)
        says = found.says if edges == bands.on(today) else f"{found.says} Judged by {edges.edition}."
        return says, found.band == "good", edges.edition

    def judge_of(unit: Equipment) -> tuple[str, Judge]:
        edges = bands.on(today)
        return f"good below {edges.reasonable_from:,}, poor from {edges.poor_from:,} CFU/mL ({edges.edition})", judge

    return sampled(site, TaskRole.TANK_SAMPLE, judge_of, today, waiting, newest)


def sampled(
    site: Site,
    role: TaskRole,
    judge_of: Callable[[Equipment], tuple[str, Judge]],
    today: date,
    waiting: Waiting,
    newest: int | None,
) -> list[SampledUnit]:
    units = list(Equipment.objects.filter(site=site, kind=KIND_OF[role]).in_service_on(today))
    found: dict[Any, list[tuple[Any, Count]]] = {unit.pk: [] for unit in units}
    waits: dict[Any, list[Any]] = {unit.pk: [] for unit in units}
    here, roles = [site.pk], [role.value]
    later = {pk: (day, readings) for pk, day, readings in RESULTS.rows(site=here, role=roles)}  # the last of each
    for pk, unit_pk, readings in TAKEN.rows(site=here, role=roles, last=[today]):
        count = count_of(readings, *later.get(pk, (today, {})), today)
        if unit_pk in found and count is not None:
            found[unit_pk].append((pk, count))
        elif unit_pk in found:
            waits[unit_pk].append(pk)
    shown = {unit: counts[-newest - 1 :] if newest else counts for unit, counts in found.items()}
    wanted = {pk for counts in shown.values() for pk, _ in counts} | {pk for keys in waits.values() for pk in keys}
    rows = UpkeepEntry.objects.filter(pk__in=wanted).select_related("task").with_results().in_bulk() if wanted else {}
    waiting, closer = open_follow_ups(site) if waiting is None else waiting, closer_of(site, units)
    task = UpkeepTask.objects.code_of(role)
    made = []
    for unit in units:
        samples: list[Sample] = [(rows[pk], count) for pk, count in shown[unit.pk]]
        one = one_sampled(unit, samples, judge_of(unit), task, waiting)
        done = replace(one, results=one.results[:newest], unread=[rows[pk] for pk in waits[unit.pk]])
        counts, says = [count for _, count in found[unit.pk]], closer_says(closer.get(unit.pk, ()), today)
        made.append(replace(done, samples=len(counts), mean=mean_of(counts, DETECTION), closer=says))
    return made


def taken(site: Any, role: Any, last: Any) -> QuerySet[UpkeepEntry, Any]:
    rows = UpkeepEntry.objects.live().filter(site__in=site, task__stands_for__in=role, happened_on__lte=last[0])
    return rows.in_order().values_list("pk", "equipment", "readings")  # type: ignore[no-any-return]


def results_of(site: Any, role: Any) -> QuerySet[ResultRead, Any]:
    rows = ResultRead.objects.live().filter(entry__site__in=site, entry__task__stands_for__in=role)
    return rows.in_order().values_list("entry", "happened_on", "readings")  # type: ignore[no-any-return]


TAKEN, RESULTS = Prepared(taken), Prepared(results_of)


def count_of(readings: dict[str, Any], read_on: date, result: dict[str, Any], today: date) -> Count | None:
    """What was read of it by the day."""
    return count_read((readings | (result if read_on <= today else {})).get("cfu"))


def closer_says(spans: Sequence[Closer], today: date) -> str:
    """Why a line is sampled more often on the day; empty where it is not."""
    span = next((span for span in spans if span.holds_on(today)), None)
    why = {"new": "it is new", "failed": "a sample failed", "changed": "it was changed"}
    return (
        f"Sampled more often since {day_words(span.first)}, because {why[span.state]}, until two passes in a row."
        if span
        else ""
    )


def one_sampled(
    unit: Equipment, rows: Sequence[Sample], judged: tuple[str, Judge], task: str, waiting: Sequence[FollowUp]
) -> SampledUnit:
    limit, judge = judged
    results = [
        ResultSaid(
            row.happened_on,
            row.task.title,
            says,
            good,
            entry=row,
            limit=of_its_day,
            read_on=read_on(row),
            beside=noted_beside(row.all_readings),
        )
        for row, count in rows
        for says, good, of_its_day in [judge(row, count)]
    ]
    after = [""] + [
        treated(before[1], now[1], DETECTION) if not bad.good else ""
        for (before, now), bad in zip(pairwise(rows), results, strict=False)
    ]
    told = [replace(result, since_bad=words) for result, words in zip(results, after, strict=False)]
    mine = [one for one in waiting if one.entry.equipment_id == unit.pk and one.entry.task.stands_for in SAMPLES]
    return SampledUnit(unit, limit, told[::-1], task, mine)


def read_on(row: UpkeepEntry) -> date | None:
    return row.result.happened_on if row.result else None


def water_head(units: Sequence[SampledUnit]) -> CountedHead:
    """How many lines passed last, or did not, of those shown."""
    bad = sum(one.good is False for one in units)
    lines = counted(len(units), "line")
    if not units:
        return CountedHead("No dental-unit water line is entered here.", ("line",))
    if bad:
        return CountedHead(f"{bad} of {lines} failed the last sample.", ("failed", "line"))
    return CountedHead(f"{sum(bool(one.good) for one in units)} of {lines} passed the last sample.", ("passed", "line"))
