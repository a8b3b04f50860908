"""The plan of a person: what must be mastered, in which order, by when, what is missing, and the earliest finish.

Readings of the text:

1. The same procedure required by several roles is due by the earliest of their due days.
2. Prerequisites are those of the version in force on the day (of the first version, before that day). One that is
   not required itself stands in the plan for what rests on it. Where several lines could come next, the earlier due
   day comes first.
3. Several assessments may be made on one day, but each distinct day needs a day of its own: a day that already
   counts serves no second time. Nobody finishes before all its prerequisites, and one that is on hold finishes with
   them.
4. That evidence may grow too old before the finish is not foreseen; the plan of that day will say so.
"""

import heapq
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from training.rules.evidence import EvidenceDetail, Kind
from training.rules.facts import Observed, Policy, ProcedureFacts, State
from training.rules.order import days_after, known_versions
from training.rules.standing import Standing, evidence_on


@dataclass(frozen=True, slots=True)
class Required:
    """A requirement as it touches one person. `days_allowed` from the latest of the three starts."""

    procedure: str
    role_start: date
    requirement_start: date
    register_start: date
    days_allowed: int

    @property
    def due(self) -> date:
        """The last good day."""
        return days_after(max(self.role_start, self.requirement_start, self.register_start), self.days_allowed)


@dataclass(frozen=True, slots=True)
class PlanLine:
    """One procedure of the plan. `rests_on` and `needed_for` are codes in the plan or beyond it.

    `earliest_finish`: the first day on which the person could be usable; None when no approved version lets it be
    reached.
    """

    procedure: str
    due: date
    is_required: bool
    needed_for: tuple[str, ...]
    rests_on: tuple[str, ...]
    state: State
    detail: EvidenceDetail
    earliest_finish: date | None
    day: date

    @property
    def is_done(self) -> bool:
        return self.state.is_usable

    @property
    def is_overdue(self) -> bool:
        return not self.is_done and self.due < self.day

    @property
    def is_late(self) -> bool:
        """It can no longer be finished in time."""
        return not self.is_done and (self.earliest_finish is None or self.earliest_finish > self.due)


def plan(
    required: Iterable[Required],
    programme: Mapping[str, ProcedureFacts],
    standings: Mapping[str, Standing],
    day: date,
    watch_days: Mapping[str, Sequence[date]] | None = None,
) -> tuple[PlanLine, ...]:
    """The plan as of the day: prerequisites first. `standings`: the person's timelines in the whole programme. `watch_days`:
    by procedure, the coming days on which somebody may watch it; without them every day is one."""
    own = earliest_due(required)
    rests_on = closure(own, programme, day)
    due = inherited(own, rests_on)
    finishes: dict[str, date | None] = {}
    lines = []
    for code in in_order(rests_on, due):
        detail = evidence_on(standings[code], day)
        state = standings[code].on(day).state
        finishes[code] = earliest_finish(
            standings[code], programme[code], detail, [finishes.get(p) for p in rests_on[code]],
            None if watch_days is None else watch_days.get(code, ()),
        )  # fmt: skip
        needed_for = tuple(sorted(other for other in rests_on if code in rests_on[other]))
        line = PlanLine(code, due[code], code in own, needed_for, rests_on[code], state, detail, finishes[code], day)
        lines.append(line)
    return tuple(lines)


def earliest_due(required: Iterable[Required]) -> dict[str, date]:
    """The earliest due day of each procedure required."""
    found: dict[str, date] = {}
    for one in required:
        found[one.procedure] = min(one.due, found.get(one.procedure, one.due))
    return found


def policy_on(procedure: ProcedureFacts, day: date) -> Policy | None:
    versions = known_versions(procedure)
    version = versions.in_force_on(day) or next(iter(versions.all), None)
    return version.policy if version else None


def closure(own: Iterable[str], programme: Mapping[str, ProcedureFacts], day: date) -> dict[str, tuple[str, ...]]:
    """Each procedure of the plan with its prerequisites; those retired by the day are asked of nobody."""
    found: dict[str, tuple[str, ...]] = {}
    waiting = [code for code in own if code in programme]
    while waiting:
        code = waiting.pop()
        policy = policy_on(programme[code], day)
        wanted = policy.prerequisites if policy else ()
        found[code] = tuple(p for p in wanted if not is_retired(programme.get(p), day))
        waiting += [p for p in found[code] if p in programme and p not in found]
    return found


def is_retired(procedure: ProcedureFacts | None, day: date) -> bool:
    return procedure is not None and procedure.retired_on is not None and procedure.retired_on <= day


def inherited(own: Mapping[str, date], rests_on: Mapping[str, Sequence[str]]) -> dict[str, date]:
    """Due days, each no later than that of anything that rests on it."""
    due = {code: day for code, day in own.items() if code in rests_on}
    waiting = sorted(due)
    while waiting:
        code = waiting.pop()
        for below in rests_on[code]:
            if below in rests_on and due[code] < due.get(below, date.max):
                due[below] = due[code]
                waiting.append(below)
    return due


def in_order(rests_on: Mapping[str, Sequence[str]], due: Mapping[str, date]) -> list[str]:
    """Prerequisites first; among those that could come next the earlier due day, then the code."""
    left = {code: sum(p in rests_on for p in below) for code, below in rests_on.items()}
    ready = [(due[code], code) for code, count in left.items() if count == 0]
    heapq.heapify(ready)
    ordered = []
    while ready:
        _, code = heapq.heappop(ready)
        ordered.append(code)
        for other in (o for o, below in rests_on.items() if code in below):
            left[other] -= 1
            if left[other] == 0:
                heapq.heappush(ready, (due[other], other))
    return ordered


def earliest_finish(
    standing: Standing, procedure: ProcedureFacts, detail: EvidenceDetail, below: Sequence[date | None],
    watch_days: Sequence[date] | None = None,
) -> date | None:  # fmt: skip
    """The first day on which the person could be usable. `below`: the same of every prerequisite, None where never."""
    span = standing.on(detail.day)
    if span.state.is_usable:
        return detail.day
    first_day = known_versions(procedure).first_day
    finishes = [day for day in below if day is not None]
    if first_day is None or len(finishes) < len(below):
        return None
    start = max(detail.day, first_day)
    on_hold = span.state is State.ON_HOLD or procedure.is_topic
    alone = start if on_hold else days_after(start, own_days(standing, procedure, detail))
    if watch_days is not None and not on_hold and needs_watching(detail):
        alone = last_watched(standing, procedure, detail, [day for day in watch_days if day >= start], alone)
    return max([alone, *finishes])


WATCHED = frozenset({Kind.ASSESSMENTS, Kind.BY_METHOD, Kind.DAYS, Kind.SUPERVISORS, Kind.STEPS})


def needs_watching(detail: EvidenceDetail) -> bool:
    return detail.version is None or any(piece.kind in WATCHED and not piece.is_there for piece in detail.pieces)


def last_watched(
    standing: Standing, procedure: ProcedureFacts, detail: EvidenceDetail, days: Sequence[date], alone: date
) -> date:
    """The day of the last watching that is needed, on days that are still to come and not counted yet. Beyond the days that
    are looked at every day may be one: it is the earliest, and never said too late."""
    counted = counted_days(standing, detail)
    open_days = [day for day in days if day not in counted]
    needed = max(missing_days(procedure, detail), 1)
    if needed <= len(open_days):
        return open_days[needed - 1]
    return max(alone, days_after(days[-1], needed - len(open_days))) if days else alone


def counted_days(standing: Standing, detail: EvidenceDetail) -> set[date]:
    return {f.day for f in standing.course.facts if isinstance(f, Observed) and f.id in detail.rests_on}


def missing_days(procedure: ProcedureFacts, detail: EvidenceDetail) -> int:
    if detail.version is None:
        policy = known_versions(procedure).all[0].policy
        return min(policy.distinct_days, policy.needed)
    return sum(max(piece.needed - piece.have, 0) for piece in detail.pieces if piece.kind is Kind.DAYS)


def own_days(standing: Standing, procedure: ProcedureFacts, detail: EvidenceDetail) -> int:
    """How many days after the first possible one the last distinct day falls."""
    missing = missing_days(procedure, detail)
    if detail.version is None:  # the first version is approved and not yet in force
        return max(missing - 1, 0)
    return max(missing - (detail.day not in counted_days(standing, detail)), 0)
