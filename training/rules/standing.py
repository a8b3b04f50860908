"""Standing: the state of person × procedure on every day, as a timeline, with its basis, its cause and what ends it.

The newest of sign-offs (carried-over records and founding grants included) and withdrawals decides. Cost grows with
the number of facts, versions and prerequisite spans (n log n), never with the number of days.

Readings of the text (those of order, life and evidence come with it):

1. The basis stands beside lapsed, on hold, due and current; the other states have none.
2. `cause`: withdrawn, due and current name the deciding fact's id; lapsed is "deadline:3" (the version's number,
   the lowest on a tie), "idle" or "valid until"; on hold is "prerequisite:P04", the first in the version's order
   that fails that day. Untrained, learning and ready name what changed on their first day (a fact's id,
   "version:2", "prerequisite:P04", "offered", "window": a piece grew too old) and merge on the state alone. Before
   the first version is in force there is no cause.
3. `ends_on` is the last day of the unbroken run of usable days, renewals known included. It stands only on usable
   spans, and `ends_by` is the withdrawal's id, the version's number or the prerequisite's code.
4. Before the first version is in force everything is untrained without evidence, a withdrawal of those days too; it
   decides from that day on.
5. Work at a time of a day is asked as if the facts of that day that come later did not exist, in every procedure it
   rests on.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, time
from functools import cached_property
from typing import NamedTuple, NoReturn

from clinic.rules.spans import Span
from training.rules.course import Course
from training.rules.evidence import EvidenceDetail, evidence_of, evidence_spans
from training.rules.facts import (
    Basis,
    Ending,
    Evidence,
    PersonFacts,
    ProcedureFacts,
    Signed,
    State,
)
from training.rules.life import Decision, End, Life, Prerequisite, decisions, hold_on
from training.rules.order import (
    Moment,
    days_after,
    earlier,
    known_versions,
    live_facts,
    prerequisite_order,
    retired_on,
    up_to,
    with_prerequisites,
)

LATEST = datetime.max.replace(tzinfo=UTC)
NEVER_SIGNED = {Evidence.NONE: State.UNTRAINED, Evidence.SOME: State.LEARNING, Evidence.ENOUGH: State.READY}
MERGED_ON_STATE = frozenset(NEVER_SIGNED.values())
Ends = tuple[date | None, Ending | None, str | None]  # the last good day, why, and by what


@dataclass(frozen=True, slots=True)
class StandingSpan:
    """One state from `first` up to, not including, `after` (None: nothing known ends it)."""

    first: date
    after: date | None
    state: State
    basis: Basis | None = None
    cause: str | None = None
    ends_on: date | None = None  # the last good day of the usable stretch that contains it; None: nothing known ends it
    ends_because: Ending | None = None
    ends_by: str | None = None


class Stretch(NamedTuple):
    """The same before it is told what ends it."""

    first: date
    after: date | None
    state: State
    basis: Basis | None = None
    cause: str | None = None


@dataclass(frozen=True, eq=False)
class Standing:
    """One person in one procedure on every day. `spans` and `evidence` touch and cover from date.min and never end. Both are
    drawn when they are first asked for: most questions need the states only, and few of these the evidence of every day."""

    procedure: str
    course: Course = field(repr=False)

    @cached_property
    def spans(self) -> tuple[StandingSpan, ...]:
        if not self.course.facts:  # most people in most procedures, so it costs nothing
            return (StandingSpan(date.min, None, State.UNTRAINED),)
        return with_endings(merged((*undecided(self.course), *self.decided)))

    @cached_property
    def decided(self) -> tuple[Stretch, ...]:
        return tuple(decided_stretches(self.course))

    @cached_property
    def evidence(self) -> tuple[Span[Evidence], ...]:
        if not self.course.facts:
            return (Span(date.min, None, Evidence.NONE),)
        return evidence_spans(self.course)

    @property
    def signoffs(self) -> tuple[Life, ...]:
        """Each sign-off, carried-over record and founding grant that has effect, in order, with its valid_until."""
        return tuple(life for life in self.course.decisions if isinstance(life, Life))

    def on(self, day: date) -> StandingSpan:
        return self.spans[bisect_right(self.spans, day, key=lambda span: span.first) - 1]

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Standing) and self.told == other.told

    def __hash__(self) -> int:
        return hash(self.procedure)

    @property
    def told(self) -> tuple[object, ...]:
        return self.procedure, self.spans, self.evidence, self.signoffs


@dataclass(frozen=True, eq=False)
class StandingOn(Standing):
    """The same for the evidence of one day, with its spans as they are stored: of earlier days it is not known who watched."""

    stored: tuple[StandingSpan, ...] = ()

    @property
    def spans(self) -> tuple[StandingSpan, ...]:
        return self.stored

    @property
    def evidence(self) -> NoReturn:
        raise TypeError(f"Of {self.procedure} the facts were read for the evidence of one day.")


@dataclass(frozen=True, slots=True)
class Stored:
    """One person in one procedure on every day as it is stored: nothing is read of the facts, so what the evidence is made of
    cannot be asked. Why nothing was known is not stored."""

    procedure: str
    spans: tuple[StandingSpan, ...]

    def on(self, day: date) -> StandingSpan:
        return self.spans[bisect_right(self.spans, day, key=lambda span: span.first) - 1]


def without_gaps(spans: Iterable[StandingSpan]) -> tuple[StandingSpan, ...]:
    """Spans in order, with untrained days before, between and after them, which are not stored."""
    found, until = [], date.min
    for span in spans:
        if until < span.first:
            found.append(StandingSpan(until, span.first, State.UNTRAINED))
        found.append(span)
        if span.after is None:
            return tuple(found)
        until = span.after
    return (*found, StandingSpan(until, None, State.UNTRAINED))


def timelines(
    programme: Mapping[str, ProcedureFacts],
    person: PersonFacts,
    *,
    known_by: datetime | None = None,
    only: Collection[str] | None = None,
    usable: Mapping[str, Prerequisite] | None = None,
) -> dict[str, Standing]:
    """The standing of the person in every procedure of the programme, by code, with what was recorded by `known_by`.

    `only`: the codes that are asked for; of the others is resolved just what these rest on. `usable`: what is known
    already of what the programme given rests on, where that is left out of it. Raises graphlib.CycleError when procedures
    rest on each other.
    """
    found: dict[str, Standing] = {}
    days = dict(usable or {})
    for code in prerequisite_order(programme):
        standing = Standing(code, course_in(programme[code], person, days, known_by))
        days[code] = Prerequisite(code, usable_runs(standing.decided), retired_on(programme[code], known_by))
        if only is None or code in only:
            found[code] = standing
    return found


def course_in(
    procedure: ProcedureFacts, person: PersonFacts, usable: Mapping[str, Prerequisite], known_by: datetime | None
) -> Course:
    """One person in one procedure, resolved, when all that it rests on is known."""
    facts = live_facts(person.by_procedure.get(procedure.code, ()), known_by)
    versions = known_versions(procedure, known_by)
    if not facts:
        return Course(procedure.code, (), versions, (), usable)
    decided = decisions(facts, versions, usable)
    return Course(procedure.code, facts, versions, decided, usable, person.offered.get(procedure.code, ()))


def usable_days(
    programme: Mapping[str, ProcedureFacts],
    person: PersonFacts,
    *,
    known_by: datetime | None = None,
    found: Mapping[str, Prerequisite] | None = None,
) -> dict[str, Prerequisite]:
    """When the person may work alone in each procedure. What the evidence is does not bear on it, so it costs less.

    `found`: what was found of the same person from the same facts already; it is not asked again.
    """
    usable = dict(found or {})
    for code in prerequisite_order(programme):
        if code in usable:
            continue
        course = course_in(programme[code], person, usable, known_by)
        usable[code] = Prerequisite(code, usable_runs(decided_stretches(course)), retired_on(programme[code], known_by))
    return usable


def usable_runs(stretches: Iterable[Stretch | StandingSpan]) -> tuple[tuple[date, date | None], ...]:
    """The unbroken runs of usable days, half-open."""
    return touching((one.first, one.after) for one in stretches if one.state.is_usable)


def touching(stretches: Iterable[tuple[date, date | None]]) -> tuple[tuple[date, date | None], ...]:
    """Stretches in order, those that touch made one."""
    runs: list[tuple[date, date | None]] = []
    for first, after in stretches:
        if runs and runs[-1][1] == first:
            runs[-1] = (runs[-1][0], after)
        else:
            runs.append((first, after))
    return tuple(runs)


def undecided(course: Course) -> Iterator[Stretch]:
    """The states in turn, from date.min until something is signed or withdrawn: what the evidence of each day says."""
    first_day = course.versions.first_day
    if first_day is None:
        yield Stretch(date.min, None, State.UNTRAINED)
        return
    yield Stretch(date.min, first_day, State.UNTRAINED)
    signed_from = max(course.decisions[0].fact.day, first_day) if course.decisions else None
    for span in evidence_spans(course, before=signed_from):
        yield from clipped(span.first, span.after, first_day, signed_from, span)


def decided_stretches(course: Course) -> Iterator[Stretch]:
    """The states from the first decision on: the only ones that may be usable, and found without looking at evidence. Each
    decision reigns from its day until the day of the next."""
    first_day = course.versions.first_day
    if first_day is None:
        return
    starts = [max(decision.fact.day, first_day) for decision in course.decisions]
    for decision, first, after in zip(course.decisions, starts, [*starts[1:], None], strict=False):
        if after is None or first < after:
            yield from reign(course, decision, first, after)


def clipped(
    first: date, after: date | None, from_day: date, to_day: date | None, span: Span[Evidence]
) -> Iterator[Stretch]:
    """The part of an evidence span in which nothing was signed or withdrawn yet."""
    start, end = max(first, from_day), earlier(after, to_day)
    if end is None or start < end:
        yield Stretch(start, end, NEVER_SIGNED[span.state], cause=span.cause)


def reign(course: Course, decision: Decision, first: date, after: date | None) -> Iterator[Stretch]:
    """The states while this decision is the newest."""
    if isinstance(decision, End):
        yield Stretch(first, after, State.WITHDRAWN, cause=decision.fact.id)
        return
    over = None if decision.last_day is None else max(first, days_after(decision.last_day, 1))
    end = earlier(over, after)
    if end is None or first < end:
        yield from alive(course, decision, first, end)
    if over is not None and (after is None or over < after):
        yield Stretch(over, after, State.LAPSED, decision.basis, lapse_cause(decision))


def lapse_cause(life: Life) -> str:
    return f"deadline:{life.deadline}" if life.ending is Ending.DEADLINE else str(life.ending)


def alive(course: Course, life: Life, first: date, after: date | None) -> Iterator[Stretch]:
    """On hold, due or current, while the sign-off is alive."""
    edges, notice = course.hold_days(life.version), life.notice_from
    days = edges[bisect_right(edges, first) : bisect_left(edges, after) if after else None]
    if notice is not None and first < notice and (after is None or notice < after):
        days = sorted({*days, notice})
    for day, end in zip((first, *days), (*days, after), strict=True):
        yield state_alive(course, life, day, end)


def state_alive(course: Course, life: Life, first: date, after: date | None) -> Stretch:
    failing = hold_on(life.version, course.prerequisites, first)
    if failing is not None:
        return Stretch(first, after, State.ON_HOLD, life.basis, f"prerequisite:{failing}")
    is_due = life.notice_from is not None and life.notice_from <= first
    return Stretch(first, after, State.DUE if is_due else State.CURRENT, life.basis, life.fact.id)


def merged(stretches: Iterable[Stretch]) -> list[Stretch]:
    """Neighbours with equal state, basis and cause become one (never signed: with equal state)."""
    out: list[Stretch] = []
    for stretch in stretches:
        if out and is_same(out[-1], stretch):
            out[-1] = out[-1]._replace(after=stretch.after)
        else:
            out.append(stretch)
    return out


def is_same(one: Stretch, other: Stretch) -> bool:
    if one.state is not other.state or one.basis is not other.basis:
        return False
    return one.cause == other.cause or one.state in MERGED_ON_STATE


def with_endings(stretches: Sequence[Stretch]) -> tuple[StandingSpan, ...]:
    """Every usable span told when and why its unbroken run ends; from the last span back."""
    out: list[StandingSpan] = []
    for stretch in reversed(stretches):
        ends = ends_before(out[-1]) if out and stretch.state.is_usable else ()
        out.append(StandingSpan(*stretch, *ends))
    return tuple(reversed(out))


def ends_before(following: StandingSpan) -> Ends:
    """What the span after a usable one says of the end of its run."""
    if following.state.is_usable:
        return following.ends_on, following.ends_because, following.ends_by
    last, (word, _, which) = days_after(following.first, -1), (following.cause or "").partition(":")
    if following.state is State.WITHDRAWN:
        return last, Ending.WITHDRAWAL, following.cause
    return last, Ending(word), which or None


def evidence_on(standing: Standing, day: date) -> EvidenceDetail:
    """Every piece of evidence that is there on the day and every piece that is missing."""
    return evidence_of(standing.course, day)


def if_signed(standing: Standing, day: date) -> Life | None:
    """The life of a sign-off made at the end of the day; None before the first version is in force."""
    version = standing.course.versions.in_force_on(day)
    if version is None:
        return None
    course = standing.course
    fact = Signed(id="if signed", day=day, recorded_at=LATEST, version=version.number)
    facts = (*(known for known in course.facts if known.day <= day), fact)
    life = decisions(facts, course.versions, course.prerequisites)[-1]  # on a known version it is never refused
    return life if isinstance(life, Life) else None


def valid_until_if_signed(standing: Standing, day: date) -> date | None:
    """The valid_until of a sign-off made at the end of the day; None where it would never end by the calendar."""
    life = if_signed(standing, day)
    return life.valid_until if life else None


def same_day_allowed(
    programme: Mapping[str, ProcedureFacts],
    person: PersonFacts,
    procedure: str,
    day: date,
    at: time | None = None,
    *,
    recorded_at: datetime | None = None,
    known_by: datetime | None = None,
    usable: Mapping[str, Prerequisite] | None = None,
) -> bool:
    """Was the person usable at that time of the day, in the order of that day's facts?

    Work without a time comes after the facts that have one; `recorded_at` then places it among those without. `usable`: what
    is known already of what the programme given rests on, where that is left out of it.
    """
    part = with_prerequisites(programme, procedure)
    asked = replace(person, by_procedure={code: person.by_procedure.get(code, ()) for code in part})
    until = up_to(asked, Moment(day, at, recorded_at), known_by)
    return usable_days(part, until, known_by=known_by, found=usable)[procedure].is_usable_on(day)
