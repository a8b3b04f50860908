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

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from itertools import pairwise

from clinic.rules.upkeep_counting import BetweenEntries, Counting, Uses
from clinic.rules.upkeep_facts import (
    DAY,
    OPENING,
    DatedRule,
    Entry,
    EquipmentLife,
    Pause,
    PauseReason,
    TaskRule,
    UpkeepSpan,
    UpkeepState,
    Use,
    in_life,
    standing_facts,
)


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
    done = in_life(life, renewing(standing_facts(entries, known_by), rules))
    used = Uses([u for u in in_life(life, standing_facts(uses, known_by)) if life.counts_use_of(u.day)])
    paused = standing_facts(pauses, known_by)
    work = _Sweep(rules, life, _stretches(life, done, used), used, paused)
    return _joined(work.spans())


def _in_turn(rule: TaskRule | Sequence[DatedRule], life: EquipmentLife) -> list[DatedRule]:
    if isinstance(rule, TaskRule):
        return [(life.first, rule)]
    if not rule:
        raise ValueError("An upkeep timeline needs at least one rule.")
    return sorted(rule, key=lambda dated: dated[0])


def renewing(entries: Iterable[Entry], rules: Sequence[DatedRule]) -> tuple[Entry, ...]:
    """The entries that start the clock anew: all of them, or only the passes where the rule of their day says so (T-10).

    `rules` in the order of their days.
    """
    days = [day for day, _ in rules]
    return tuple(e for e in entries if e.passed or not rules[max(0, bisect_right(days, e.day) - 1)][1].only_a_pass)


def _stretches(life: EquipmentLife, entries: Sequence[Entry], uses: Uses) -> list[BetweenEntries]:
    by_day = {entry.day: entry.id for entry in entries}  # the last one of a day
    days = list(by_day)
    first = BetweenEntries(life.last_done, OPENING, -life.opening_units, days[0] if days else None)
    ends: list[date | None] = [*days[1:], None]
    later = [BetweenEntries(d, by_day[d], uses.through(d), end) for d, end in zip(days, ends[: len(days)], strict=True)]
    return [first, *later]


@dataclass(frozen=True, slots=True)
class _Sweep:
    rules: list[DatedRule]
    life: EquipmentLife
    stretches: list[BetweenEntries]
    uses: Uses
    pauses: Sequence[Pause]

    def spans(self) -> Iterator[UpkeepSpan]:
        counting, running_on = Counting(self.pauses), Counting(())
        stretch_days = [s.day for s in self.stretches]
        rule_days = [day for day, _ in self.rules]
        for (first, after), holding in self._pieces():
            stretch = self.stretches[max(0, bisect_right(stretch_days, first) - 1)]
            rule = self.rules[max(0, bisect_right(rule_days, first) - 1)][1]
            counts = running_on if rule.only_a_pass else counting
            yield from _Piece(first, after, rule, stretch, self.uses, counts).spans(holding)

    def _breaks(self) -> list[date]:
        """The days on which an entry, a rule or a pause changes something, each once. Within them use moves the day on
        which it reaches a mark only once, so its days are no breaks: a unit is used almost every day."""
        days = {self.life.first, *(day for day, _ in self.rules)}
        days |= {day for s in self.stretches[1:] for day in (s.day, s.day + DAY)}
        days |= {day for pause in self.pauses for day in (pause.day, pause.after) if day}
        first, after = self.life.first, self.life.after
        return sorted(day for day in days if first <= day and (after is None or day < after))

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
    return (pause.why != PauseReason.OUT_OF_SERVICE, pause.day, pause.id)


@dataclass(frozen=True, slots=True)
class _Piece:
    """Days on which neither rule nor pause nor entry changes: at most in time, then due, then overdue."""

    first: date
    after: date | None
    rule: TaskRule
    stretch: BetweenEntries
    uses: Uses
    counting: Counting

    def spans(self, pause: Pause | None) -> Iterator[UpkeepSpan]:
        by_days = self._by_days()
        full = self.stretch.mark(self.uses, self.rule.every_units)
        last_good = _earliest(by_days, full and full[0])
        if pause:
            state = UpkeepState.OUT_OF_SERVICE if pause.why == PauseReason.OUT_OF_SERVICE else UpkeepState.PAUSED
            yield from self._span(self.first, self.after, state, pause.id, last_good)
        elif self.first == self.stretch.day and self.stretch.cause != OPENING:
            yield from self._span(self.first, self.after, UpkeepState.IN_TIME, self.stretch.cause, last_good)
        else:
            by_use = full[1] if full and last_good != by_days else None
            yield from self._running(last_good, by_use or self.stretch.cause)

    def _running(self, last_good: date | None, overdue_by: str) -> Iterator[UpkeepSpan]:
        cause, over = self.stretch.cause, last_good + DAY if last_good else None
        plan, warned = self.stretch.mark(self.uses, self.rule.plan_units), self._warned()
        yield from self._span(
            self.first, _earliest(plan and plan[0], warned, over), UpkeepState.IN_TIME, cause, last_good
        )
        if plan:
            yield from self._span(plan[0], _earliest(warned, over), UpkeepState.DUE, plan[1], last_good)
        if warned:
            yield from self._span(warned, over, UpkeepState.DUE, cause, last_good)
        if over:
            yield from self._span(over, None, UpkeepState.OVERDUE, overdue_by, last_good)

    def _by_days(self) -> date | None:
        return None if self.rule.every_days is None else self.counting.later(self.stretch.day, self.rule.every_days)

    def _warned(self) -> date | None:
        if self.rule.every_days is None:
            return None
        return self.counting.later(self.stretch.day, max(0, self.rule.every_days - self.rule.warn_days))

    def _span(
        self, first: date, after: date | None, state: UpkeepState, cause: str, last_good: date | None
    ) -> Iterator[UpkeepSpan]:
        """The part of it that lies in this piece; nothing where none does."""
        begin, end = max(first, self.first), _earliest(after, self.after)
        if end is None or begin < end:
            yield UpkeepSpan(begin, end, state, cause, last_good, self._units_left(end))

    def _units_left(self, after: date | None) -> int | None:
        """On the last day before `after`; with all that is known where it has no end."""
        if self.rule.every_units is None:
            return None
        last = after - DAY if after else date.max
        return self.rule.every_units - (self.uses.through(last) - self.stretch.base)


def _earliest(*days: date | None) -> date | None:
    found = None
    for day in days:  # asked for every stretch of every year; min() with a generator takes twice as long
        if day and (found is None or day < found):
            found = day
    return found


def _joined(spans: Iterable[UpkeepSpan]) -> tuple[UpkeepSpan, ...]:
    """Neighbours that differ in nothing but the units left become one with the later count."""
    out: list[UpkeepSpan] = []
    for span in spans:
        if out and (out[-1].state, out[-1].cause, out[-1].last_good) == (span.state, span.cause, span.last_good):
            out[-1] = UpkeepSpan(out[-1].first, span.after, span.state, span.cause, span.last_good, span.units_left)
        else:
            out.append(span)
    return tuple(out)
