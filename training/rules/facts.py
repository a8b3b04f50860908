"""The plain facts that the rules of training read. Rows become these in `training.gather`, and nowhere else.

Every fact carries its day at its own site, the time where one was written down, and the instant it was recorded. Order of
facts of one person in one procedure: day, then time (a fact without a time comes after those that have one), then
recorded_at. Ids are the facts' UUIDs as text; people are ids too.
"""

from dataclasses import dataclass, field
from datetime import date, datetime, time
from enum import StrEnum


class Mark(StrEnum):
    ALONE = "alone"
    PROMPTED = "prompted"
    HELPED = "helped"
    WRONG = "wrong"  # left out or done wrong, and seen to be
    ASKED = (
        "asked"  # conditional steps only: the supervisor put the situation, the person said and showed the right thing
    )
    NOT_NEEDED = "not needed"  # conditional steps only: the case did not arise; leaves every count
    NOT_SEEN = "not seen"


class Method(StrEnum):
    REAL = "real"
    PRACTICE = "practice"
    DRILL = "drill"
    RECORDS = "records"
    TALK = "talk"


class Outcome(StrEnum):
    MET = "met"
    NOT_MET = "not met"
    INCOMPLETE = "incomplete"


class FromPaper(StrEnum):
    """What an assessment counts for that was written on a paper sheet and entered later."""

    BOTH = "both"  # a first sign-off and a renewal
    RENEWAL = "renewal"
    NEVER = "never"


class State(StrEnum):
    WITHDRAWN = "withdrawn"
    LAPSED = "lapsed"
    ON_HOLD = "on hold"
    DUE = "due"
    CURRENT = "current"
    READY = "ready"
    LEARNING = "learning"
    UNTRAINED = "untrained"

    @property
    def is_usable(self) -> bool:
        """May work alone."""
        return self is State.CURRENT or self is State.DUE


class Basis(StrEnum):
    OBSERVED = "observed"
    TAUGHT = "taught"
    CARRIED_OVER = "carried over"
    FOUNDING = "founding"


class Evidence(StrEnum):
    NONE = "none"
    SOME = "some"
    ENOUGH = "enough"


class Ending(StrEnum):
    """Why a stretch of working alone ends. On a tie the first in this order is named."""

    WITHDRAWAL = "withdrawal"
    DEADLINE = "deadline"  # a later version asked re-observation and its days are over
    IDLE = "idle"
    VALID_UNTIL = "valid until"
    PREREQUISITE = "prerequisite"


@dataclass(frozen=True, slots=True)
class MethodQuota:
    """At least `count` of the first assessments by one of these methods (two by real work; one by drill)."""

    methods: frozenset[Method]
    count: int


@dataclass(frozen=True, slots=True)
class Policy:
    """What a version asks before, and after, it is signed for. An absent part (None) asks nothing. Days and calendar months."""

    needed: int = 1
    methods: frozenset[Method] = frozenset(Method)
    by_method: tuple[MethodQuota, ...] = ()
    renewal_needed: int = 1
    renewal_methods: frozenset[Method] = frozenset(Method)
    distinct_days: int = 1
    distinct_supervisors: int = 1
    check_asked: bool = True
    from_paper: FromPaper = FromPaper.BOTH
    window_days: int = 365
    renewal_months: int | None = 12  # None: never lapses by the calendar
    first_year_months: int | None = None
    notice_days: int = 30
    idle_days: int | None = None
    reobserve_days: int | None = (
        None  # asked of holders of every earlier version, counted from this version's in-force day
    )
    prerequisites: tuple[str, ...] = ()  # procedure codes
    grace_days: int = 0  # how long a prerequisite may be unusable before the sign-off goes on hold
    upkeep_covered: tuple[str, ...] = ()  # upkeep task codes


@dataclass(frozen=True, slots=True)
class VersionFact:
    """An approved version. In force from its day until the next version's day."""

    procedure: str
    number: int
    in_force_from: date
    approved_at: datetime
    policy: Policy
    conditional_critical: frozenset[str] = frozenset()  # step keys that must be alone or asked at least once


@dataclass(frozen=True, slots=True)
class ProcedureFacts:
    """A procedure with every version ever approved, by number."""

    code: str
    versions: tuple[VersionFact, ...]
    is_topic: bool = False
    retired_on: date | None = None  # from this day it no longer counts as a prerequisite
    retired_recorded_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Fact:
    """`corrects` names the fact this one voids. A plain Void stands in nobody's place; any other kind stands in its place."""

    id: str
    day: date
    recorded_at: datetime
    at: time | None = None
    corrects: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Void(Fact):
    """A correction that only takes a fact away."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Observed(Fact):
    """One performance of one procedure by the person, as marked. `shown`: conditional critical steps marked alone or asked.
    `set_aside`: the state of whoever watched, where it keeps an assessment from counting as evidence (rules.watchers).
    `from_paper`: written on a sheet that day, entered later and confirmed."""

    version: int
    assessment: bool
    method: Method
    outcome: Outcome
    critical_miss: bool = False  # critical step prompted, helped or wrong in an assessment, or "stop: unsafe" in either
    observer: str = ""
    shown: frozenset[str] = field(default_factory=frozenset)
    set_aside: State | None = None
    from_paper: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckTaken(Fact):
    version: int
    passed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Signed(Fact):
    """A sign-off, always on the version in force on its day."""

    version: int


@dataclass(frozen=True, slots=True, kw_only=True)
class TaughtCountable(Fact):
    """A countable session of a topic: its sign-off."""

    version: int


@dataclass(frozen=True, slots=True, kw_only=True)
class CarriedOver(Fact):
    """Mastered before the register; counts from `day` (the register start day); `original_day` feeds the first year."""

    original_day: date
    valid_until: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Founded(Fact):
    valid_until: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Withdrawn(Fact):
    pass


@dataclass(frozen=True, slots=True, kw_only=True)
class WatchedOthers(Fact):
    """The person observed somebody else do it, with authority that day: a performance for the idle rule."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DidUpkeep(Fact):
    """Covered upkeep logged as done by the person, or a tool that they set in, for the procedure that stands for a swap: a
    performance for the idle rule, if usable that day."""


@dataclass(frozen=True, slots=True)
class PersonFacts:
    """Everything the standing of one person rests on. `offered` per procedure: (from day, how many people other than the
    learner have authority from then on), ascending; before the first entry the number is unbounded (nothing is lowered)."""

    person: str
    by_procedure: dict[str, tuple[Fact, ...]]
    offered: dict[str, tuple[tuple[date, int], ...]] = field(default_factory=dict)
