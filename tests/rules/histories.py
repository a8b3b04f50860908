"""Made-up programmes and histories for Hypothesis, small and crowded so that the rules get in each other's way.

A history keeps what the actions would have enforced on the day (a sign-off is on the version in force, nothing is
signed before the first version) but not that a sign-off was deserved: a correction can take its evidence away later.
"""

from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from functools import cache, lru_cache
from typing import TypeVar

from hypothesis import strategies as st

from training.rules.facts import (
    CarriedOver,
    CheckTaken,
    DidUpkeep,
    Fact,
    Founded,
    FromPaper,
    Method,
    MethodQuota,
    Observed,
    Outcome,
    PersonFacts,
    Policy,
    ProcedureFacts,
    Signed,
    State,
    TaughtCountable,
    VersionFact,
    Void,
    WatchedOthers,
    Withdrawn,
)

T = TypeVar("T")
STEPS = ("jam", "leak")
METHODS = (Method.REAL, Method.PRACTICE, Method.TALK)
STARTS = (date(2024, 1, 31), date(2024, 2, 28), date(2025, 1, 1), date(2025, 8, 30), date(2025, 11, 15))
TIMES = (None, None, time(8), time(12), time(12))
GAPS = (0, 0, 0, 1, 1, 2, 3, 5, 9, 14, 30, 75, 340)


@dataclass(frozen=True)
class History:
    """A programme, one person's facts in it, and the instants worth asking about."""

    programme: dict[str, ProcedureFacts]
    person: PersonFacts
    first: date

    @property
    def facts(self) -> list[Fact]:
        return [fact for rows in self.person.by_procedure.values() for fact in rows]

    @property
    def instants(self) -> list[datetime]:
        """Each moment at which something was recorded or approved: what is known changes there and nowhere else."""
        approved = {version.approved_at for procedure in self.programme.values() for version in procedure.versions}
        return sorted({fact.recorded_at for fact in self.facts} | approved)

    @property
    def last(self) -> date:
        return max([self.first, *(fact.day for fact in self.facts)])

    def with_facts(self, by_procedure: dict[str, tuple[Fact, ...]]) -> "History":
        return replace(self, person=replace(self.person, by_procedure=by_procedure))


@lru_cache(maxsize=None, typed=True)  # False is not 0
def one_of(*choices: T) -> st.SearchStrategy[T]:
    return st.sampled_from(choices)


@cache
def some_of(choices: tuple[T, ...], least: int, most: int, unique: bool = False) -> st.SearchStrategy[list[T]]:
    return st.lists(one_of(*choices), min_size=least, max_size=most, unique=unique)


@cache
def order_of(number: int) -> st.SearchStrategy[list[int]]:
    return st.permutations(range(number))


METHOD_SETS = one_of(frozenset(Method), frozenset(METHODS), frozenset(METHODS[:2]), frozenset({Method.REAL}))
QUOTA = st.builds(MethodQuota, methods=one_of(*(frozenset({method}) for method in METHODS)), count=one_of(1, 2))
QUOTAS = st.one_of(st.just(()), st.lists(QUOTA, max_size=2).map(tuple))
OFFERED = st.lists(st.tuples(one_of(0, 3, 20, 100), one_of(0, 1, 2, 3)), max_size=2)


@cache
@st.composite
def policies(draw: st.DrawFn, earlier: tuple[str, ...] = ()) -> Policy:
    asked = draw(some_of(earlier, draw(one_of(0, 1)), 2, unique=True)) if earlier else []
    return Policy(
        needed=draw(one_of(1, 2, 3, 0)),
        methods=draw(METHOD_SETS),
        by_method=draw(QUOTAS),
        renewal_needed=draw(one_of(1, 1, 2, 0)),
        renewal_methods=draw(METHOD_SETS),
        distinct_days=draw(one_of(1, 2)),
        distinct_supervisors=draw(one_of(1, 2, 3)),
        check_asked=draw(one_of(False, True)),
        from_paper=draw(one_of(FromPaper.BOTH, FromPaper.BOTH, FromPaper.RENEWAL, FromPaper.NEVER)),
        window_days=draw(one_of(365, 90, 20, 3, 0, 800)),
        renewal_months=draw(one_of(12, 6, 2, 1, None)),
        first_year_months=draw(one_of(None, None, 6, 1, 3)),
        notice_days=draw(one_of(30, 10, 0, 45)),
        idle_days=draw(one_of(None, None, 183, 31, 10, 2)),
        reobserve_days=draw(one_of(None, None, 0, 5, 30)),
        prerequisites=tuple(asked),
        grace_days=draw(one_of(0, 0, 1, 7, 20)),
    )


@cache
@st.composite
def procedures(draw: st.DrawFn, code: str, earlier: tuple[str, ...], first: date) -> ProcedureFacts:
    day, versions = first + timedelta(days=draw(one_of(0, 0, 0, 5))), []
    for number in range(1, draw(one_of(1, 1, 2, 3)) + 1):
        approved = datetime.combine(day - timedelta(days=draw(one_of(1, 1, 20))), time(9), UTC)
        steps = frozenset(draw(one_of((), (), STEPS[:1], STEPS)))
        versions.append(VersionFact(code, number, day, approved, draw(policies(earlier)), steps))
        day += timedelta(days=draw(one_of(1, 10, 40, 90, 200)))
    retired = draw(one_of(None, None, None, 20, 100)) if versions else None
    retired_on = first + timedelta(days=retired) if retired is not None else None
    return ProcedureFacts(
        code=code,
        versions=tuple(versions),
        is_topic=draw(one_of(False, False, False, True)),
        retired_on=retired_on,
        retired_recorded_at=datetime.combine(retired_on, time(10), UTC) if retired_on else None,
    )


class Writer:
    """Writes one procedure's facts. Most are recorded in the evening, some of them days later."""

    def __init__(self, draw: st.DrawFn, procedure: ProcedureFacts, serial: list[int]) -> None:
        self.draw, self.procedure, self.serial = draw, procedure, serial
        self.day = procedure.versions[0].in_force_from
        self.facts: list[Fact] = []

    def pick(self, *choices):
        return self.draw(one_of(*choices))

    def in_force(self, day: date) -> VersionFact:
        return [v for v in self.procedure.versions if v.in_force_from <= day][-1]

    def common(self, day: date, late: int = 0) -> dict:
        """The fields of every fact; unique instants of recording, in no order within the evening."""
        self.serial[0] += 1
        evening = datetime.combine(day + timedelta(days=late), time(18), UTC)
        recorded_at = evening + timedelta(seconds=self.pick(1, 2, 0) * 1000 + self.serial[0])
        return {"id": f"f{self.serial[0]}", "day": day, "at": self.pick(*TIMES), "recorded_at": recorded_at}

    def write(self, kind: type[Fact], **fields) -> None:
        self.facts.append(kind(**self.common(self.day, self.pick(0, 0, 0, 1, 30)), **fields))

    def version_taught(self) -> int:
        return self.pick(
            self.in_force(self.day).number, *(v.number for v in self.procedure.versions if self.may_teach(v))
        )

    def may_teach(self, version: VersionFact) -> bool:
        """Approved, though it may not be in force yet."""
        return version.approved_at.date() < self.day

    # ---- what happens

    def training(self) -> None:
        """A check passed and as many good assessments as are asked, by two people on two days: mostly enough."""
        asks = self.in_force(self.day)
        self.write(CheckTaken, version=asks.number, passed=True)
        methods = [m for quota in asks.policy.by_method for m in quota.methods for _ in range(quota.count)]
        observers = self.pick("ABC", "AAA", "ABA")
        for n in range(max(asks.policy.needed, asks.policy.renewal_needed, len(methods))):
            self.day += timedelta(days=n % 2)
            self.met((methods + [Method.REAL] * 3)[n], observers[n % 3])

    def met(self, method: Method, observer: str) -> None:
        number = self.in_force(self.day).number
        good = {"assessment": True, "outcome": Outcome.MET, "shown": frozenset(STEPS)}
        self.write(Observed, version=number, method=method, observer=observer, **good)

    def observation(self) -> None:
        outcome = self.pick(Outcome.MET, Outcome.MET, Outcome.NOT_MET, Outcome.INCOMPLETE)
        assessment = self.pick(True, True, False)
        self.write(
            Observed,
            version=self.version_taught(),
            assessment=assessment,
            method=self.pick(*METHODS, Method.RECORDS),
            outcome=outcome,
            critical_miss=outcome is Outcome.NOT_MET and self.pick(True, False),
            observer=self.pick(*"ABC"),
            shown=frozenset(self.pick((), STEPS, STEPS[:1])),
            set_aside=self.pick(None, None, None, State.LAPSED),
            from_paper=self.pick(False, False, False, True),
        )

    def critical_miss(self) -> None:
        """In an assessment, or a "stop: unsafe" in practice."""
        missed = {"outcome": Outcome.NOT_MET, "critical_miss": True, "assessment": self.pick(True, False)}
        self.write(Observed, version=self.version_taught(), method=self.pick(*METHODS), observer="C", **missed)

    def trained_but_missed(self) -> None:
        """Enough, and then the count starts again; sometimes one good one more."""
        self.training()
        self.day += timedelta(days=self.pick(0, 1))
        self.critical_miss()
        self.pick(Writer.watched, Writer.met_somehow)(self)

    def signed_again(self) -> None:
        """Sign-offs in a row, some in the notice days of the one before, some too early, some too late."""
        for _ in range(self.pick(1, 2, 3)):
            self.day += timedelta(days=self.pick(0, 1, 20, 28, 31, 50, 170, 181, 365))
            self.sign_off()

    def keeping_up(self) -> None:
        """Performances just within the idle limit, or one day past it."""
        idle = self.in_force(self.day).policy.idle_days
        for _ in range(self.pick(1, 2, 3)):
            self.day += timedelta(days=(20 if idle is None else idle) + self.pick(0, 0, -1, 1))
            self.pick(*KEEPING_UP)(self)

    def met_somehow(self) -> None:
        self.met(self.pick(*Method), "A")

    def check(self) -> None:
        self.write(CheckTaken, version=self.version_taught(), passed=self.pick(True, False))

    def sign_off(self) -> None:
        kind = TaughtCountable if self.procedure.is_topic else Signed
        self.write(kind, version=self.in_force(self.day).number)

    def trained_and_signed(self) -> None:
        if not self.procedure.is_topic:
            self.training()
        self.sign_off()

    def founding(self) -> None:
        self.write(Founded, valid_until=self.day + timedelta(days=self.pick(90, 0, 20, 300)))

    def carried_over(self) -> None:
        until = self.day + timedelta(days=self.pick(180, 10, 60))
        self.write(
            CarriedOver, original_day=self.day - timedelta(days=self.pick(0, 100, 300, 340, 400)), valid_until=until
        )

    def withdrawal(self) -> None:
        self.write(Withdrawn)

    def watched(self) -> None:
        self.write(WatchedOthers)

    def upkeep(self) -> None:
        self.write(DidUpkeep)

    def correction(self) -> None:
        """Void or replace a fact that nothing has corrected yet; a replacement may move to another day or time."""
        named = {fact.corrects for fact in self.facts}
        open_ = [fact for fact in self.facts if fact.id not in named]
        if not open_:
            return
        wrong = open_[self.pick(*range(len(open_)))]
        seen = max(self.day, wrong.recorded_at.date())
        if isinstance(wrong, Void) or self.pick(True, False):
            self.facts.append(Void(**self.common(seen, 1), corrects=wrong.id))
            return
        day = max(wrong.day - timedelta(days=self.pick(0, 0, 1, 6)), self.procedure.versions[0].in_force_from)
        moved = {"day": day, "corrects": wrong.id, "recorded_at": self.common(seen, 1)["recorded_at"]}
        if isinstance(wrong, Signed | TaughtCountable):
            moved["version"] = self.in_force(day).number
        if isinstance(wrong, Observed):
            moved["outcome"] = self.pick(Outcome.MET, Outcome.INCOMPLETE)
            moved["critical_miss"] = False
        if isinstance(wrong, CheckTaken):
            moved["passed"] = self.pick(True, False)
        self.facts.append(replace(wrong, id=f"f{self.serial[0]}", at=self.pick(wrong.at, wrong.at, *TIMES), **moved))


KEEPING_UP = (Writer.upkeep, Writer.upkeep, Writer.watched, Writer.observation, Writer.met_somehow)
SCENES = (
    *[Writer.trained_and_signed] * 3,
    *[Writer.training] * 2,
    *[Writer.observation] * 2,
    *[Writer.keeping_up] * 2,
    *[Writer.signed_again] * 2,
    Writer.trained_but_missed,
    Writer.upkeep,
    *[Writer.correction] * 3,
    Writer.sign_off,
    Writer.check,
    Writer.watched,
    Writer.founding,
    Writer.carried_over,
    Writer.withdrawal,
)


def career(draw: st.DrawFn, procedure: ProcedureFacts, serial: list[int], scenes_at_most: int) -> tuple[Fact, ...]:
    """What one person did in one procedure, in any order."""
    writer = Writer(draw, procedure, serial)
    for scene in draw(some_of(SCENES, draw(one_of(0, 1, 2, 3)), scenes_at_most)):
        writer.day += timedelta(days=draw(one_of(*GAPS)))
        scene(writer)
    facts = writer.facts
    return tuple(facts[n] for n in draw(order_of(len(facts)))) if draw(one_of(False, True)) else tuple(facts)


@st.composite
def histories(draw: st.DrawFn, procedures_at_most: int = 4, scenes_at_most: int = 7) -> History:
    programme: dict[str, ProcedureFacts] = {}
    first, by_procedure, offered, serial = draw(one_of(*STARTS)), {}, {}, [0]
    for n in range(1, draw(one_of(*range(1, procedures_at_most + 1))) + 1):
        code = f"P{n}"
        programme[code] = draw(procedures(code, tuple(programme), first))
        by_procedure[code] = career(draw, programme[code], serial, scenes_at_most)
        steps = draw(OFFERED)
        offered[code] = tuple(sorted({first + timedelta(days=d): people for d, people in steps}.items()))
    return History(programme, PersonFacts("me", by_procedure, offered), first)


SMALL = histories(procedures_at_most=2, scenes_at_most=5)


@st.composite
def watched_histories(draw: st.DrawFn) -> tuple[History, PersonFacts]:
    """A history, and the facts of somebody who watched, in the same procedures."""
    history = draw(SMALL)
    facts = (fact for rows in history.person.by_procedure.values() for fact in rows)
    serial = [1000 + sum(1 for _ in facts)]
    theirs = {code: career(draw, procedure, serial, 6) for code, procedure in history.programme.items()}
    return history, PersonFacts("watcher", theirs)
