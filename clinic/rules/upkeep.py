"""The upkeep timeline of one task on one piece of equipment.

Readings of the text:

1. A day counts when it is in no pause. Days left = N less the counting days after the last done one. The warning is
   measured in counting days too, so that a later pause never changes what an earlier day said.
2. Use on the day of an entry lies before the entry; it counts for the stretch that ends there. The day on which use
   reaches N is still good. Use counts in a pause as well: what was made was made.
3. A pause is shown as such even on the day of an entry; the entry is the last done one all the same.
4. Where the opening reading's last done day is later than the first day in service, nothing is said before it.
5. A known correction voids the fact it names for good, and stands in its place unless it is a plain voiding.
6. The rule of a day is the newest one from that day or before; the first one also holds before its day.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from enum import StrEnum
from itertools import accumulate, pairwise
from typing import TypeVar

from clinic.rules.spans import Span

DAY = timedelta(days=1)
OPENING = "opening"


class UpkeepState(StrEnum):
    IN_TIME = "in time"
    DUE = "due"
    OVERDUE = "overdue"
    PAUSED = "paused"
    OUT_OF_SERVICE = "out of service"


class Why(StrEnum):
    OUT_OF_SERVICE = "out of service"
    CLOSED = "closed"
    PAUSED = "paused"


@dataclass(frozen=True, slots=True)
class TaskRule:
    """How often: every so many days, units of use, or both, whichever comes first. Days and units are whole numbers."""

    code: str
    every_days: int | None = None
    every_units: int | None = None
    warn_days: int = 0
    plan_units: int | None = None


DatedRule = tuple[date, TaskRule]


@dataclass(frozen=True, slots=True)
class EquipmentLife:
    """`in_service_to` is the last day in service; `opening_units` the use since the last done day when first read."""

    in_service_from: date
    in_service_to: date | None = None
    opening_last_done: date | None = None
    opening_units: int = 0

    @property
    def last_done(self) -> date:
        return self.opening_last_done or self.in_service_from

    @property
    def first(self) -> date:
        """The first day anything is said about."""
        return max(self.in_service_from, self.last_done)

    @property
    def after(self) -> date | None:
        return self.in_service_to + DAY if self.in_service_to else None

    def counts_use_of(self, day: date) -> bool:
        """Use of the first day in service counts; use of the day an opening reading names lies before it."""
        return day > self.last_done if self.opening_last_done else day >= self.in_service_from


@dataclass(frozen=True, slots=True, kw_only=True)
class Recorded:
    """A fact. `plain_voiding` stands for nothing itself: it only takes away the fact it corrects."""

    id: str
    day: date
    recorded_at: datetime
    at: time | None = None
    corrects: str | None = None
    plain_voiding: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry(Recorded):
    """One time the task was done."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Use(Recorded):
    units: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Pause(Recorded):
    """From `day` up to, not including, `after` (None: not ended)."""

    after: date | None = None
    why: Why = Why.PAUSED

    def holds_on(self, day: date) -> bool:
        return self.day <= day and (self.after is None or day < self.after)


@dataclass(frozen=True, slots=True)
class UpkeepSpan(Span[UpkeepState]):
    """`last_good`: the last good day by what is known (None: nothing sets one). `units_left`: at the span's end."""

    last_good: date | None = None
    units_left: int | None = None


R = TypeVar("R", bound=Recorded)


def standing_facts(facts: Iterable[R], known_by: datetime | None = None) -> tuple[R, ...]:
    """The facts that are known and not voided, in the order of day, time (none is last), recorded, id."""
    known = {fact.id: fact for fact in facts if known_by is None or fact.recorded_at <= known_by}
    voided = {fact.corrects for fact in known.values()}
    live = (fact for fact in known.values() if fact.id not in voided and not fact.plain_voiding)
    return tuple(sorted(live, key=lambda fact: _place(fact, known)))


def _place(fact: Recorded, known: Mapping[str, Recorded]) -> tuple[date, bool, time, datetime, str]:
    first, passed = fact, {fact.id}
    while first.corrects and first.corrects in known and first.corrects not in passed:
        first = known[first.corrects]
        passed.add(first.id)
    return (fact.day, fact.at is None, fact.at or time.min, first.recorded_at, fact.id)


class _Counting:
    """Days that count: those in no pause. Numbers them, so that N of them after a day is one look-up."""

    def __init__(self, pauses: Iterable[Pause]) -> None:
        self.firsts: list[int] = []
        self.afters: list[int] = []
        for pause in sorted(pauses, key=lambda p: p.day):
            first, after = pause.day.toordinal(), (pause.after or date.max).toordinal()
            if self.afters and first <= self.afters[-1]:
                self.afters[-1] = max(self.afters[-1], after)
            elif first < after:
                self.firsts.append(first)
                self.afters.append(after)
        lengths = (after - first for first, after in zip(self.firsts, self.afters, strict=True))
        self.lost = list(accumulate(lengths, initial=0))
        self.keys = [first - lost for first, lost in zip(self.firsts, self.lost, strict=False)]

    def number(self, day: date) -> int:
        """How many counting days there were up to and including the day, from a fixed origin."""
        ordinal = day.toordinal()
        index = bisect_right(self.firsts, ordinal)
        overhang = max(0, self.afters[index - 1] - ordinal - 1) if index else 0
        return ordinal - self.lost[index] + overhang

    def later(self, day: date, days: int) -> date | None:
        """The counting day that many after the day (the day itself for none); None where there is none."""
        if days == 0:
            return day
        number = self.number(day) + days
        ordinal = number + self.lost[bisect_right(self.keys, number)]
        return date.fromordinal(ordinal) if ordinal < date.max.toordinal() else None


class _Uses:
    """Uses in order, with running sums, so that the use between two days is one look-up."""

    def __init__(self, uses: Sequence[Use]) -> None:
        self.uses = uses
        self.days = [use.day for use in uses]
        self.sums = list(accumulate((use.units for use in uses), initial=0))

    def through(self, day: date) -> int:
        return self.sums[bisect_right(self.days, day)]

    def reaching(self, total: int) -> Use | None:
        """The use with which the running sum first reaches the total."""
        index = bisect_left(self.sums, total)
        return self.uses[index - 1] if 0 < index < len(self.sums) else None


@dataclass(frozen=True, slots=True)
class _Stretch:
    """From one time it was done to the next: who caused it, and the running sum of use that it starts from."""

    day: date
    cause: str
    base: int
    until: date | None

    def mark(self, uses: _Uses, units: int | None) -> tuple[date, str] | None:
        """The day on which, and the fact with which, use in this stretch reaches so many units."""
        if units is None:
            return None
        if self.cause == OPENING and units <= -self.base:
            return self.day, self.cause
        use = uses.reaching(self.base + units)
        return (use.day, use.id) if use and (self.until is None or use.day <= self.until) else None


def upkeep_timeline(
    rule: TaskRule | Sequence[DatedRule],
    life: EquipmentLife,
    entries: Iterable[Entry] = (),
    uses: Iterable[Use] = (),
    pauses: Iterable[Pause] = (),
    *,
    known_by: datetime | None = None,
) -> tuple[UpkeepSpan, ...]:
    """From the first day in service to the last. Days after the last fact say what follows if nothing more is recorded.

    Of dated rules the caller gives those known by then. Raises ValueError for no rule at all.
    """
    rules = _in_turn(rule, life)
    done = tuple(e for e in standing_facts(entries, known_by) if _in_life(life, e.day))
    used = _Uses([u for u in standing_facts(uses, known_by) if _in_life(life, u.day) and life.counts_use_of(u.day)])
    paused = standing_facts(pauses, known_by)
    work = _Sweep(rules, life, _stretches(life, done, used), used, paused)
    return _joined(work.spans())


def _in_turn(rule: TaskRule | Sequence[DatedRule], life: EquipmentLife) -> list[DatedRule]:
    if isinstance(rule, TaskRule):
        return [(life.first, rule)]
    if not rule:
        raise ValueError("An upkeep timeline needs at least one rule.")
    return sorted(rule, key=lambda dated: dated[0])


def _in_life(life: EquipmentLife, day: date) -> bool:
    return life.first <= day and (life.after is None or day < life.after)


def _stretches(life: EquipmentLife, entries: Sequence[Entry], uses: _Uses) -> list[_Stretch]:
    by_day = {entry.day: entry.id for entry in entries}  # the last one of a day
    days = list(by_day)
    first = _Stretch(life.last_done, OPENING, -life.opening_units, days[0] if days else None)
    ends: list[date | None] = [*days[1:], None]
    later = [_Stretch(d, by_day[d], uses.through(d), end) for d, end in zip(days, ends[: len(days)], strict=True)]
    return [first, *later]


@dataclass(frozen=True, slots=True)
class _Sweep:
    rules: list[DatedRule]
    life: EquipmentLife
    stretches: list[_Stretch]
    uses: _Uses
    pauses: Sequence[Pause]

    def spans(self) -> Iterator[UpkeepSpan]:
        counting = _Counting(self.pauses)
        stretch_days = [self.life.first, *(s.day for s in self.stretches[1:])]
        rule_days = [day for day, _ in self.rules]
        for (first, after), holding in self._pieces():
            stretch = self.stretches[max(0, bisect_right(stretch_days, first) - 1)]
            rule = self.rules[max(0, bisect_right(rule_days, first) - 1)][1]
            yield from _Piece(first, after, rule, stretch, self.uses, counting).spans(holding)

    def _breaks(self) -> list[date]:
        """The days on which an entry, a rule or a pause changes something, each once. Within them use moves the day on
        which it reaches a mark only once, so its days are no breaks: a unit is used almost every day."""
        days = {self.life.first, *(day for day, _ in self.rules)}
        days |= {day for s in self.stretches[1:] for day in (s.day, s.day + DAY)}
        days |= {day for pause in self.pauses for day in (pause.day, pause.after) if day}
        return sorted(day for day in days if _in_life(self.life, day))

    def _pieces(self) -> Iterator[tuple[tuple[date, date | None], Pause | None]]:
        waiting = sorted(self.pauses, key=lambda p: p.day, reverse=True)
        active: list[Pause] = []
        ends: list[date | None] = [*self._breaks(), self.life.after]
        for first, after in pairwise(ends):
            if first is None:
                continue
            while waiting and waiting[-1].day <= first:
                active.append(waiting.pop())
            active = [pause for pause in active if pause.holds_on(first)]
            yield (first, after), min(active, key=_weight, default=None)


def _weight(pause: Pause) -> tuple[bool, date, str]:
    return (pause.why != Why.OUT_OF_SERVICE, pause.day, pause.id)


@dataclass(frozen=True, slots=True)
class _Piece:
    """Days on which neither rule nor pause nor entry changes: at most in time, then due, then overdue."""

    first: date
    after: date | None
    rule: TaskRule
    stretch: _Stretch
    uses: _Uses
    counting: _Counting

    def spans(self, pause: Pause | None) -> Iterator[UpkeepSpan]:
        by_days = self._by_days()
        full = self.stretch.mark(self.uses, self.rule.every_units)
        last_good = _earliest(by_days, full and full[0])
        if pause:
            state = UpkeepState.OUT_OF_SERVICE if pause.why == Why.OUT_OF_SERVICE else UpkeepState.PAUSED
            yield self._span(self.first, self.after, state, pause.id, last_good)
        elif self.first == self.stretch.day and self.stretch.cause != OPENING:
            yield self._span(self.first, self.after, UpkeepState.IN_TIME, self.stretch.cause, last_good)
        else:
            by_use = full[1] if full and full[0] == last_good and last_good != by_days else None
            yield from self._running(last_good, by_use or self.stretch.cause)

    def _running(self, last_good: date | None, overdue_by: str) -> Iterator[UpkeepSpan]:
        cause, over = self.stretch.cause, last_good + DAY if last_good else None
        plan, warned = self.stretch.mark(self.uses, self.rule.plan_units), self._warned()
        yield self._span(self.first, _earliest(plan and plan[0], warned, over), UpkeepState.IN_TIME, cause, last_good)
        if plan:
            yield self._span(plan[0], _earliest(warned, over), UpkeepState.DUE, plan[1], last_good)
        if warned:
            yield self._span(warned, over, UpkeepState.DUE, cause, last_good)
        if over:
            yield self._span(over, None, UpkeepState.OVERDUE, overdue_by, last_good)

    def _by_days(self) -> date | None:
        return None if self.rule.every_days is None else self.counting.later(self.stretch.day, self.rule.every_days)

    def _warned(self) -> date | None:
        if self.rule.every_days is None:
            return None
        return self.counting.later(self.stretch.day, max(0, self.rule.every_days - self.rule.warn_days))

    def _span(
        self, first: date, after: date | None, state: UpkeepState, cause: str, last_good: date | None
    ) -> UpkeepSpan:
        """The part of it that lies in this piece; an empty one where nothing does."""
        end = _earliest(after, self.after)
        return UpkeepSpan(max(first, self.first), end, state, cause, last_good, self._units_left(end))

    def _units_left(self, after: date | None) -> int | None:
        """On the last day before `after`; with all that is known where it has no end."""
        if self.rule.every_units is None:
            return None
        last = max(after - DAY, self.stretch.day) if after else date.max
        return self.rule.every_units - (self.uses.through(last) - self.stretch.base)


def _earliest(*days: date | None) -> date | None:
    return min((day for day in days if day), default=None)


def _joined(spans: Iterable[UpkeepSpan]) -> tuple[UpkeepSpan, ...]:
    """Neighbours that differ in nothing but the units left become one with the later count; empty ones vanish."""
    out: list[UpkeepSpan] = []
    for span in spans:
        if span.after is not None and span.after <= span.first:
            continue
        if out and (out[-1].state, out[-1].cause, out[-1].last_good) == (span.state, span.cause, span.last_good):
            out[-1] = replace(span, first=out[-1].first)
        else:
            out.append(span)
    return tuple(out)


GOOD = frozenset({UpkeepState.IN_TIME, UpkeepState.DUE})
STOPPED = frozenset({UpkeepState.PAUSED, UpkeepState.OUT_OF_SERVICE})


def _days(spans: Sequence[Span[UpkeepState]], first: date, after: date, states: frozenset[UpkeepState]) -> int:
    ends = ((max(s.first, first), min(s.after or after, after)) for s in spans if s.state in states)
    return sum((end - start).days for start, end in ends if start < end)


def days_overdue(spans: Sequence[Span[UpkeepState]], first: date, after: date) -> int:
    """How many days of [first, after) were overdue."""
    return _days(spans, first, after, frozenset({UpkeepState.OVERDUE}))


def share_in_time(spans: Sequence[Span[UpkeepState]], first: date, after: date) -> float | None:
    """In time or due as a share of the days not paused, 0 to 1; None where no day of [first, after) counts."""
    good, bad = _days(spans, first, after, GOOD), days_overdue(spans, first, after)
    return good / (good + bad) if good + bad else None


def next_due(spans: Sequence[Span[UpkeepState]], today: date) -> date | None:
    """The first day from today on that is due or overdue if nothing more is recorded; None where there is none."""
    coming = (span for span in spans if span.after is None or span.after > today)
    wanted = (span for span in coming if span.state in {UpkeepState.DUE, UpkeepState.OVERDUE})
    return next((max(span.first, today) for span in wanted), None)


def units_since(
    life: EquipmentLife,
    entries: Iterable[Entry],
    uses: Iterable[Use],
    day: date,
    *,
    known_by: datetime | None = None,
) -> int:
    """The task's unit counter at the end of the day: the use since it was last done."""
    done = [e.day for e in standing_facts(entries, known_by) if _in_life(life, e.day) and e.day <= day]
    counted = [u for u in standing_facts(uses, known_by) if _in_life(life, u.day) and life.counts_use_of(u.day)]
    since = done[-1] if done else None
    opening = 0 if since else life.opening_units
    return opening + sum(u.units for u in counted if u.day <= day and (since is None or u.day > since))
