"""Evidence: what of the observations and check results counts on a day, and which pieces are there or missing.

Readings of the text:

1. *Enough* includes *some*: where nothing countable is there, nothing is enough, even by a policy that asks
   nothing.
2. Where a renewal is asked (a sign-off in the narrow sense, no withdrawal since, its last day + 12 months not
   over), only the renewal's pieces decide; first evidence is no other way round. A founding grant after the
   sign-off does not hide it.
3. Numbers by method count every countable met assessment; one assessment may serve several of them.
4. A critical miss starts the assessments again, not the check.
5. What the site can offer is the last known number of that day, unbounded before the first; it lowers supervisors
   only.
6. An unmarked version in between counts as asking no re-observation; an observation on a version that is not in
   force yet counts from the day that version is.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum

from clinic.rules.days import plus_months
from clinic.rules.spans import Span
from clinic.rules.words import counted
from training.rules.course import RENEWABLE_MONTHS, Course, last_before
from training.rules.facts import (
    CheckTaken,
    Evidence,
    Fact,
    FromPaper,
    Method,
    Observed,
    Outcome,
    Policy,
    VersionFact,
)
from training.rules.life import Life, not_kept
from training.rules.order import days_after, days_before
from training.rules.window import Window


class PieceKind(StrEnum):
    """The kinds of piece that evidence is made of."""

    CHECK = "check"
    ASSESSMENTS = "assessments"
    BY_METHOD = "by method"
    DAYS = "days"
    SUPERVISORS = "supervisors"
    STEPS = "steps"
    PREREQUISITES = "prerequisites"


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece of evidence: how much is needed and how much is there.

    `asked` is the policy's own number before anything lowered it. `missing`: the keys of steps not yet shown, or
    the codes of prerequisites not usable. `methods`: which ones count here.
    """

    kind: PieceKind
    needed: int
    have: int
    asked: int
    methods: frozenset[Method] = frozenset()
    missing: tuple[str, ...] = ()
    lowered_because: str | None = None

    @property
    def is_there(self) -> bool:
        return self.have >= self.needed


@dataclass(frozen=True, slots=True)
class EvidenceDetail:
    """The evidence on a day. `rests_on`: ids of the met assessments and passed checks that count, in order. `set_aside`:
    met assessments that would count too, but for who watched them, or for being from paper."""

    day: date
    version: int | None  # None: no version in force
    for_renewal: bool
    evidence: Evidence
    pieces: tuple[Piece, ...]
    rests_on: tuple[str, ...] = ()
    set_aside: tuple[Observed, ...] = ()

    @property
    def missing(self) -> tuple[Piece, ...]:
        return tuple(piece for piece in self.pieces if not piece.is_there)


@dataclass
class Countable:
    """The windows over one person's facts while one version is in force and the earlier ones it takes stay the same."""

    course: Course
    version: VersionFact
    lowest: int  # the earliest version whose observations and results still count

    def __post_init__(self) -> None:
        policy, facts = self.version.policy, self.course.facts
        self.some = Window(facts, self.is_countable)
        self.checks, self.new_checks = Window(facts, self.is_passed), Window(facts, self.is_passed)
        self.met = Window(facts, self.is_met_by(policy.methods, paper_counts(policy, renewal=False)))
        self.new_met = Window(facts, self.is_met_by(policy.renewal_methods, paper_counts(policy, renewal=True)))

    def is_countable(self, fact: Fact) -> bool:
        return isinstance(fact, Observed | CheckTaken) and self.lowest <= fact.version <= self.version.number

    def is_passed(self, fact: Fact) -> bool:
        return isinstance(fact, CheckTaken) and fact.passed and self.is_countable(fact)

    def is_met_by(self, methods: frozenset[Method], paper: bool) -> Callable[[Fact], bool]:
        def is_met(fact: Fact) -> bool:
            met = (
                isinstance(fact, Observed)
                and fact.assessment
                and fact.outcome is Outcome.MET
                and fact.method in methods
                and fact.set_aside is None
                and (paper or not fact.from_paper)
            )
            return met and self.is_countable(fact)

        return is_met

    def detail(self, day: date) -> EvidenceDetail:
        """The evidence on the day; days are asked in ascending order."""
        renewal, found = self.asked(day)
        pieces = tuple(found)
        return EvidenceDetail(day, self.version.number, renewal, self.adds_up_to(pieces), pieces)

    def state(self, day: date) -> Evidence:
        """The same without the pieces: it looks no further than the first that is missing."""
        return self.adds_up_to(self.asked(day)[1])

    def asked(self, day: date) -> tuple[bool, Iterator[Piece]]:
        """Whether a renewal is asked on the day, and its pieces. The windows stand on that day until the next is asked."""
        end = bisect_right(self.course.days, day)
        renewed = self.course.renews_on(day, end)
        checks, met = self.moved_to(day, end, renewed)
        return renewed is not None, pieces_of(self, day, checks, met, renewed is not None)

    def adds_up_to(self, pieces: Iterable[Piece]) -> Evidence:
        if not self.some.count:
            return Evidence.NONE
        return Evidence.ENOUGH if all(piece.is_there for piece in pieces) else Evidence.SOME

    def moved_to(self, day: date, end: int, renewed: Life | None) -> tuple[Window, Window]:
        """Move the windows on; returns those of checks and met assessments that the day asks for."""
        first_day = days_before(day, self.version.policy.window_days)
        low = max(bisect_left(self.course.days, first_day), last_before(self.course.withdrawals, end) + 1)
        fresh = max(low, last_before(self.course.misses, end) + 1)
        self.some.move(low, end)
        self.checks.move(low, end)
        self.met.move(fresh, end)
        since = last_before(self.course.signed_at, end) + 1
        self.new_checks.move(max(low, since), end)
        self.new_met.move(max(fresh, since), end)
        return (self.checks, self.met) if renewed is None else (self.new_checks, self.new_met)


def paper_counts(policy: Policy, *, renewal: bool) -> bool:
    """Whether what was written on paper and entered later is evidence for a first sign-off, or for a renewal."""
    return policy.from_paper is FromPaper.BOTH or (renewal and policy.from_paper is FromPaper.RENEWAL)


def lowest_version(course: Course, version: VersionFact, day: date) -> int:
    """The earliest version number that still counts: none from before a version whose re-observe days are over."""
    over = (
        other.number
        for other in course.versions.all
        if other.number <= version.number
        and other.policy.reobserve_days is not None
        and days_after(other.in_force_from, other.policy.reobserve_days) < day
    )
    return max(over, default=-1)


def pieces_of(counted: Countable, day: date, checks: Window, met: Window, renewal: bool) -> Iterator[Piece]:
    """Every piece that the version asks on the day, there or not."""
    version, policy = counted.version, counted.version.policy
    if policy.check_asked:
        yield Piece(PieceKind.CHECK, 1, min(checks.count, 1), 1)
    methods = policy.renewal_methods if renewal else policy.methods
    needed = policy.renewal_needed if renewal else policy.needed
    yield Piece(PieceKind.ASSESSMENTS, needed, met.count, needed, methods)
    if not renewal:
        yield from first_pieces(counted, day, met)
    if version.conditional_critical:
        missing = tuple(sorted(key for key in version.conditional_critical if not met.shown[key]))
        wanted = len(version.conditional_critical)
        yield Piece(PieceKind.STEPS, wanted, wanted - len(missing), wanted, missing=missing)
    if policy.prerequisites:
        missing = not_kept(version, counted.course.prerequisites, day)
        wanted = len(policy.prerequisites)
        yield Piece(PieceKind.PREREQUISITES, wanted, wanted - len(missing), wanted, missing=missing)


def first_pieces(counted: Countable, day: date, met: Window) -> Iterator[Piece]:
    """What only a first sign-off asks: numbers by method, distinct days, distinct supervisors."""
    policy = counted.version.policy
    for quota in policy.by_method:
        have = sum(met.methods[method] for method in quota.methods)
        yield capped(PieceKind.BY_METHOD, quota.count, policy.needed, have, methods=quota.methods)
    yield capped(PieceKind.DAYS, policy.distinct_days, policy.needed, len(met.days))
    yield supervisors(policy, counted.course.offered_on(day), len(met.observers))


def capped(kind: PieceKind, asked: int, needed: int, have: int, methods: frozenset[Method] = frozenset()) -> Piece:
    """A number that cannot be more than the assessments needed."""
    why = f"no more than {counted(needed, 'assessment is', 'assessments are')} needed" if needed < asked else None
    return Piece(kind, min(asked, needed), have, asked, methods, lowered_because=why)


def supervisors(policy: Policy, offered: int | None, have: int) -> Piece:
    """Distinct supervisors: no more than the assessments needed, nor than the site can offer."""
    piece = capped(PieceKind.SUPERVISORS, policy.distinct_supervisors, policy.needed, have)
    if offered is None or offered >= piece.needed:
        return piece
    why = f"only {offered} other than the learner had authority that day"
    return replace(piece, needed=offered, lowered_because=why)


def evidence_of(course: Course, day: date) -> EvidenceDetail:
    """Every piece there and every piece missing on the day, for a renewal where one is asked, else for a first
    sign-off."""
    version = course.versions.in_force_on(day)
    if version is None:
        return EvidenceDetail(day, None, False, Evidence.NONE, ())
    counted = Countable(course, version, lowest_version(course, version, day))
    detail = counted.detail(day)
    windows = (counted.new_checks, counted.new_met) if detail.for_renewal else (counted.checks, counted.met)
    used = {fact_id for window in windows for fact_id in window.ids()}
    return replace(
        detail,
        rests_on=tuple(fact.id for fact in course.facts if fact.id in used),
        set_aside=tuple(left_out(windows[1])),
    )


def left_out(met: Window) -> Iterator[Observed]:
    """What would count among the met assessments where it stands, but for who watched it or for being from paper."""
    for fact in met.facts[met.low : met.high]:
        if not isinstance(fact, Observed) or met.wanted(fact):
            continue
        if met.wanted(replace(fact, set_aside=None, from_paper=False)):
            yield fact


def evidence_spans(course: Course, before: date | None = None) -> tuple[Span[Evidence], ...]:
    """The evidence of every day. Neighbours merge on state alone; the cause is what changed on the first day.

    `before`: what changes on this day or later is not asked, and left out."""
    spans = [Span(date.min, None, Evidence.NONE)]
    for version, first, after in course.versions.in_turn():
        for day, state in states_under(course, version, first, after):
            if before is not None and before <= day:
                break
            if state is not spans[-1].state:
                spans[-1:] = [
                    replace(spans[-1], after=day),
                    Span(day, None, state, cause_on(course, version, day)),
                ]
    return tuple(span for span in spans if span.after is None or span.first < span.after)


def states_under(
    course: Course, version: VersionFact, first: date, after: date | None
) -> Iterator[tuple[date, Evidence]]:
    """The evidence on each day on which it may change while the version is in force."""
    counted: Countable | None = None
    for day in change_days(course, version, first, after):
        lowest = lowest_version(course, version, day)
        if counted is None or counted.lowest != lowest:
            counted = Countable(course, version, lowest)
        yield day, counted.state(day)


def change_days(course: Course, version: VersionFact, first: date, after: date | None) -> list[date]:
    """Every day of [first, after) on which something may change: facts, windows ending, deadlines, renewals no longer
    asked, prerequisites, what the site can offer."""
    window = version.policy.window_days + 1
    low = bisect_left(course.days, days_before(first, window))
    days = course.days[low : bisect_left(course.days, after) if after else None]
    found = {first, *days, *(days_after(day, window) for day in days), *(step[0] for step in course.offered)}
    for other in course.versions.all:
        if other.policy.reobserve_days is not None:
            found.add(days_after(other.in_force_from, other.policy.reobserve_days + 1))
    found |= {days_after(plus_months(life.last_day, RENEWABLE_MONTHS), 1) for life in course.signed if life.last_day}
    for code in version.policy.prerequisites:
        found |= course.prerequisites[code].edges() if code in course.prerequisites else set()
    return sorted(day for day in found if first <= day and (after is None or day < after))


def cause_on(course: Course, version: VersionFact, day: date) -> str:
    """What changed on the day: the last fact of it, else the version, a prerequisite, the offer, else time."""
    last = bisect_right(course.days, day) - 1
    if last >= 0 and course.days[last] == day:
        return course.facts[last].id
    if version.in_force_from == day:
        return f"version:{version.number}"
    for code in version.policy.prerequisites:
        if code in course.prerequisites and day in course.prerequisites[code].edges():
            return f"prerequisite:{code}"
    return "offered" if any(step[0] == day for step in course.offered) else "window"
