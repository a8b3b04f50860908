"""The plan of a person: what must be mastered, in which order, by when, what is missing, and the earliest finish.

Readings of the text:

1. The same procedure required by several roles is due by the earliest of their due days.
2. Prerequisites are those of the version in force on the day (of the first version, before that day). One that is
   not required itself stands in the plan for what rests on it. Where several lines could come next, the earlier due
   day comes first.
3. Several assessments may be made on one day, but each distinct day needs a day of its own: a day that already
   counts serves no second time. Nobody finishes before all its prerequisites, and one that is on hold finishes with
   them. Where it is asked who is there, the finish is the day of the last lesson (`rules.teaching`).
4. That evidence may grow too old before the finish is not foreseen; the plan of that day will say so.
"""

import heapq
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from training.rules.evidence import EvidenceDetail, PieceKind
from training.rules.facts import Observed, Policy, ProcedureFacts, State
from training.rules.order import days_after, known_versions
from training.rules.standing import Standing, Stored, evidence_on
from training.rules.teaching import Crew, Lesson, Placed, Turns, asks_teaching, beyond, place, wanted


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

    `detail`: of what is not done. `earliest_finish`: the first day on which the person could be usable; None when no approved version lets it be
    reached. `lessons`: how it is taught until then, where it was asked who is there; `is_beyond`: the days that were looked
    at do not reach, and it is not before that day.
    """

    procedure: str
    due: date
    is_required: bool
    needed_for: tuple[str, ...]
    rests_on: tuple[str, ...]
    state: State
    detail: EvidenceDetail | None
    earliest_finish: date | None
    day: date
    lessons: tuple[Lesson, ...] = ()
    is_beyond: bool = False

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
    standings: Mapping[str, Standing | Stored],
    day: date,
    crew: Crew | None = None,
) -> tuple[PlanLine, ...]:
    """The plan as of the day: prerequisites first. `standings`: the person's timelines in the whole programme, of what may be
    done alone on the day as they are stored. `crew`: who may teach, watch and sign, and when; with it the earliest finish is
    the day of the last lesson, without it every day is one on which somebody may, and nothing takes a turn from anything
    else."""
    own, rests_on, due = asks_of(required, programme, day)
    finishes: dict[str, date | None] = {}
    turns, lines = Turns(turns_taken(standings.values(), day)), []
    for code in in_order(rests_on, due):
        state, detail = standings[code].on(day).state, None
        finishes[code], placed = day, Placed((), day)
        if not state.is_usable:
            standing = with_facts(standings[code])
            detail = evidence_on(standing, day)
            below = [finishes.get(p) for p in rests_on[code]]
            finishes[code] = earliest_finish(standing, programme[code], detail, below)
            placed = Placed((), finishes[code])
            if crew is not None:
                start = max([day, *(each for each in below if each is not None)])
                placed = lessons_of(standing, programme[code], detail, finishes[code], start, crew, turns)
                finishes[code] = placed.finish or (finishes[code] and beyond(placed, crew, start))
        needed_for = tuple(sorted(other for other in rests_on if code in rests_on[other]))
        line = PlanLine(
            code, due[code], code in own, needed_for, rests_on[code], state, detail, finishes[code], day, placed.lessons,
            finishes[code] is not None and placed.finish is None,
        )  # fmt: skip
        lines.append(line)
    return tuple(lines)


class Asks(NamedTuple):
    """What is required itself with the day it is due by, what all of it rests on, and when each of these is due."""

    own: dict[str, date]
    rests_on: dict[str, tuple[str, ...]]
    due: dict[str, date]


def asks_of(required: Iterable[Required], programme: Mapping[str, ProcedureFacts], day: date) -> Asks:
    own = earliest_due(required)
    rests_on = closure(own, programme, day)
    return Asks(own, rests_on, inherited(own, rests_on))


def with_facts(standing: Standing | Stored) -> Standing:
    """Raises TypeError where only the spans are known: what is missing cannot be told from them."""
    if isinstance(standing, Standing):
        return standing
    raise TypeError(f"The plan asks for the facts of {standing.procedure}, and only its spans were read.")


def turns_taken(standings: Iterable[Standing | Stored], day: date) -> Counter[date]:
    """The turns that the day has had already."""
    facts = (fact for standing in standings if isinstance(standing, Standing) for fact in standing.course.facts)
    return Counter(fact.day for fact in facts if isinstance(fact, Observed) and fact.day == day)


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
    standing: Standing, procedure: ProcedureFacts, detail: EvidenceDetail, below: Sequence[date | None]
) -> date | None:  # fmt: skip
    """The first day on which somebody who is not usable could be. `below`: the same of every prerequisite, None where never."""
    first_day = known_versions(procedure).first_day
    finishes = [day for day in below if day is not None]
    if first_day is None or len(finishes) < len(below):
        return None
    start = max(detail.day, first_day)
    on_hold = standing.on(detail.day).state is State.ON_HOLD or procedure.is_topic
    alone = start if on_hold else days_after(start, own_days(standing, procedure, detail))
    return max([alone, *finishes])


def lessons_of(
    standing: Standing, procedure: ProcedureFacts, detail: EvidenceDetail, earliest: date | None, start: date,
    crew: Crew, turns: Turns,
) -> Placed:  # fmt: skip
    """The teaching that leads there, from `start` on, when what it rests on is signed; nothing where nothing is to be taught
    or it cannot be reached. Its finish is never before the earliest one that the days alone allow."""
    first_day = known_versions(procedure).first_day
    policy = policy_on(procedure, detail.day)
    if earliest is None or first_day is None or policy is None or not asks_teaching(standing.on(detail.day).state):
        return Placed((), earliest)
    return place(
        wanted(procedure.code, standing, detail, policy, procedure.is_topic), crew, turns, max(start, first_day)
    )


def counted_days(standing: Standing, detail: EvidenceDetail) -> set[date]:
    return {f.day for f in standing.course.facts if isinstance(f, Observed) and f.id in detail.rests_on}


def missing_days(procedure: ProcedureFacts, detail: EvidenceDetail) -> int:
    if detail.version is None:
        policy = known_versions(procedure).all[0].policy
        return min(policy.distinct_days, policy.needed)
    return sum(max(piece.needed - piece.have, 0) for piece in detail.pieces if piece.kind is PieceKind.DAYS)


def own_days(standing: Standing, procedure: ProcedureFacts, detail: EvidenceDetail) -> int:
    """How many days after the first possible one the last distinct day falls."""
    missing = missing_days(procedure, detail)
    if detail.version is None:  # the first version is approved and not yet in force
        return max(missing - 1, 0)
    return max(missing - (detail.day not in counted_days(standing, detail)), 0)
