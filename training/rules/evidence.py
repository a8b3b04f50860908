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
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from typing import NamedTuple

from clinic.rules.spans import Span
from clinic.rules.words import counted
from training.rules.course import Course, last_before
from training.rules.facts import (
    CheckTaken,
    Evidence,
    FromPaper,
    Method,
    Observed,
    Outcome,
    Policy,
    VersionFact,
)
from training.rules.life import Life, not_kept
from training.rules.order import days_after, days_before, earlier
from training.rules.window import Window

Change = tuple[date, Evidence, str | None]  # from this day on, with its cause


class PieceKind(StrEnum):
    """The kinds of piece that evidence is made of."""

    CHECK = "check"
    ASSESSMENTS = "assessments"
    BY_METHOD = "by method"
    DAYS = "days"
    SUPERVISORS = "supervisors"
    STEPS = "steps"
    PREREQUISITES = "prerequisites"


class Piece(NamedTuple):
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
    first: date  # the days that are asked, half-open
    after: date | None

    def __post_init__(self) -> None:
        facts, numbers = self.course.facts, range(self.lowest, self.version.number + 1)
        days, earliest = self.course.days_that_may_count, days_before(self.first, self.version.policy.window_days)
        asked = between(days, earliest, self.after)
        kept = [(position, fact) for position, fact in self.course.may_count[asked] if fact.version in numbers]
        passed = [position for position, fact in kept if isinstance(fact, CheckTaken) and fact.passed]
        self.seen = [(position, fact) for position, fact in kept if isinstance(fact, Observed)]
        self.some = Window(facts, [position for position, _ in kept])
        self.checks, self.new_checks = Window(facts, passed), Window(facts, passed)
        self.met, self.new_met = (Window(facts, self.where_met(renewal)) for renewal in (False, True))

    def where_met(self, renewal: bool) -> list[int]:
        """The positions of the met assessments that count, for a renewal or for a first sign-off."""
        policy = self.version.policy
        paper = paper_counts(policy, renewal=renewal)
        return [
            position
            for position, fact in self.seen
            if is_met(fact, policy, renewal) and fact.set_aside is None and (paper or not fact.from_paper)
        ]

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
        self.move_to(day, end, renewed)
        return renewed is not None, pieces_of(self, day, renewed is not None)

    def adds_up_to(self, pieces: Iterable[Piece]) -> Evidence:
        if not self.some.count:
            return Evidence.NONE
        for piece in pieces:
            if not piece.is_there:
                return Evidence.SOME
        return Evidence.ENOUGH

    def windows(self, renewal: bool) -> tuple[Window, Window]:
        """Of checks and of met assessments."""
        return (self.new_checks, self.new_met) if renewal else (self.checks, self.met)

    def move_to(self, day: date, end: int, renewed: Life | None) -> None:
        """Move on the windows that the day asks for: a renewal counts only what came after the sign-off it renews."""
        first_day = days_before(day, self.version.policy.window_days)
        low = max(bisect_left(self.course.days, first_day), last_before(self.course.withdrawals, end) + 1)
        fresh = max(low, last_before(self.course.misses, end) + 1)
        self.some.move(low, end)
        since = 0 if renewed is None else renewed.position + 1
        checks, met = self.windows(renewed is not None)
        checks.move(max(low, since), end)
        met.move(max(fresh, since), end)


def is_met(fact: Observed, policy: Policy, renewal: bool) -> bool:
    """A met assessment by a method that is taken, whoever watched it and however it came here."""
    methods = policy.renewal_methods if renewal else policy.methods
    return fact.assessment and fact.outcome is Outcome.MET and fact.method in methods


def paper_counts(policy: Policy, *, renewal: bool) -> bool:
    """Whether what was written on paper and entered later is evidence for a first sign-off, or for a renewal."""
    return policy.from_paper is FromPaper.BOTH or (renewal and policy.from_paper is FromPaper.RENEWAL)


def reobserve_days_over(course: Course, version: VersionFact) -> list[tuple[date, int]]:
    """The last re-observe day of each version up to this one that asks re-observation, with its number."""
    return [
        (days_after(other.in_force_from, other.policy.reobserve_days), other.number)
        for other in course.versions.all
        if other.number <= version.number and other.policy.reobserve_days is not None
    ]


def lowest_version(over: Iterable[tuple[date, int]], day: date) -> int:
    """The earliest version number that still counts: none from before a version whose re-observe days are over."""
    return max([number for last, number in over if last < day], default=-1)


def pieces_of(counted: Countable, day: date, renewal: bool) -> Iterator[Piece]:
    """Every piece that the version asks on the day, there or not."""
    version, policy = counted.version, counted.version.policy
    checks, met = counted.windows(renewal)
    if policy.check_asked:
        yield Piece(PieceKind.CHECK, 1, min(checks.count, 1), 1)
    methods = policy.renewal_methods if renewal else policy.methods
    needed = policy.renewal_needed if renewal else policy.needed
    yield Piece(PieceKind.ASSESSMENTS, needed, met.count, needed, methods)
    if not renewal:
        yield from first_pieces(counted, day, met)
    if version.conditional_critical:
        missing = tuple(sorted(key for key in version.conditional_critical if not met.tally.shown[key]))
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
        have = sum(met.tally.methods[method] for method in quota.methods)
        yield capped(PieceKind.BY_METHOD, quota.count, policy.needed, have, methods=quota.methods)
    yield capped(PieceKind.DAYS, policy.distinct_days, policy.needed, len(met.tally.days))
    yield supervisors(policy, counted.course.offered_on(day), len(met.tally.observers))


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
    return piece._replace(needed=offered, lowered_because=why)


def evidence_of(course: Course, day: date) -> EvidenceDetail:
    """Every piece there and every piece missing on the day, for a renewal where one is asked, else for a first
    sign-off."""
    version = course.versions.in_force_on(day)
    if version is None:
        return EvidenceDetail(day, None, False, Evidence.NONE, ())
    lowest = lowest_version(reobserve_days_over(course, version), day)
    counted = Countable(course, version, lowest, day, days_after(day, 1))
    detail = counted.detail(day)
    used = sorted(position for window in counted.windows(detail.for_renewal) for position in window.places())
    return replace(
        detail,
        rests_on=tuple(course.facts[position].id for position in used),
        set_aside=tuple(left_out(counted, detail.for_renewal)),
    )


def left_out(counted: Countable, renewal: bool) -> Iterator[Observed]:
    """What would count among the met assessments where it stands, but for who watched it or for being from paper."""
    _, met = counted.windows(renewal)
    there, (low, high) = set(met.places()), met.stretch
    for position, fact in counted.seen:
        if low <= position < high and position not in there and is_met(fact, counted.version.policy, renewal):
            yield fact


def evidence_spans(course: Course, before: date | None = None) -> tuple[Span[Evidence], ...]:
    """The evidence of every day. Neighbours merge on state alone; the cause is what changed on the first day.

    `before`: what changes on this day or later is not asked, and left out."""
    changes: list[Change] = [(date.min, Evidence.NONE, None)]
    for version, first, after in course.versions.in_turn():
        for day, state in states_under(course, version, first, earlier(after, before)):
            if state is not changes[-1][1]:
                changes.append((day, state, cause_on(course, version, day)))
    ends = [*(day for day, _, _ in changes[1:]), None]
    turns = zip(changes, ends, strict=True)
    return tuple(Span(day, end, state, cause) for (day, state, cause), end in turns if day != end)


def states_under(
    course: Course, version: VersionFact, first: date, after: date | None
) -> Iterator[tuple[date, Evidence]]:
    """The evidence on each day on which it may change while the version is in force."""
    counted: Countable | None = None
    over = reobserve_days_over(course, version)
    for day in change_days(course, version, first, after):
        lowest = lowest_version(over, day)
        if counted is None or counted.lowest != lowest:
            counted = Countable(course, version, lowest, day, after)
        yield day, counted.state(day)


def change_days(course: Course, version: VersionFact, first: date, after: date | None) -> list[date]:
    """Every day of [first, after) on which something may change: facts, windows ending, deadlines, renewals no longer
    asked, prerequisites, what the site can offer."""
    window = version.policy.window_days + 1
    days, counting = course.turning_days, course.days_that_may_count
    found = {first, *days[between(days, first, after)], *course.renewals_over, *(step[0] for step in course.offered)}
    found |= {days_after(day, window) for day in counting[between(counting, days_before(first, window), after)]}
    found |= {days_after(last, 1) for last, _ in reobserve_days_over(course, version)}
    for code in version.policy.prerequisites:
        found |= course.prerequisites[code].edges() if code in course.prerequisites else set()
    return sorted(day for day in found if first <= day and (after is None or day < after))


def between(days: Sequence[date], first: date, after: date | None) -> slice:
    """Where the days of [first, after) stand in an ascending list."""
    return slice(bisect_left(days, first), bisect_left(days, after) if after else None)


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
