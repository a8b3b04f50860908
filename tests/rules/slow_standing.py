"""Standing read off the rules one day at a time: slow, plain, and only for tests.

No spans and no cleverness: each day is worked out anew from the facts up to it, in the order the rules are written.
The fast rule in `training.rules.standing` was written by somebody else from the same text; the two must agree.
"""

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from typing import Any

from clinic.rules.days import months_between, plus_months
from training.rules.facts import (
    Basis,
    CarriedOver,
    CheckTaken,
    DidUpkeep,
    Ending,
    Evidence,
    Fact,
    Founded,
    Observed,
    Outcome,
    PersonFacts,
    ProcedureFacts,
    Signed,
    State,
    TaughtCountable,
    VersionFact,
    Void,
    WatchedOthers,
    Withdrawn,
)

REAL_SIGN_OFF = (Signed, TaughtCountable)  # a topic's countable session is its sign-off
COUNTS = (Observed, CheckTaken)
SIGN_OFF = (*REAL_SIGN_OFF, CarriedOver, Founded)
DECIDES = (*SIGN_OFF, Withdrawn)
BASIS = {
    Signed: Basis.OBSERVED,
    TaughtCountable: Basis.TAUGHT,
    CarriedOver: Basis.CARRIED_OVER,
    Founded: Basis.FOUNDING,
}
Programme = Mapping[str, ProcedureFacts]
Answer = tuple[State, Basis | None, Evidence, date | None, Ending | None]


def standing_on(
    programme: Programme, person: PersonFacts, procedure: str, day: date, known_by: datetime | None = None
) -> Answer:
    """State, basis, evidence, last good day and what ends it, on one day, as known by an instant."""
    return DayByDay(programme, person, known_by).answer(procedure, day)


def days(number: int) -> timedelta:
    return timedelta(days=number)


def in_order(facts: tuple[Fact, ...], known_by: datetime | None) -> list[Fact]:
    """The facts that stand, as known by the instant, in the order of the rules.

    Every correction voids what it names. One that stands in a fact's place takes that place: it is ordered as if it had
    been recorded when the first fact of its chain was.
    """
    known = {fact.id: fact for fact in facts if known_by is None or fact.recorded_at <= known_by}
    voided = {fact.corrects for fact in known.values()}

    def place(fact: Fact) -> tuple[date, bool, time, datetime, str]:
        root = fact
        while root.corrects in known:
            root = known[root.corrects]
        return fact.day, fact.at is None, fact.at or time.min, root.recorded_at, fact.id

    standing = [fact for fact in known.values() if fact.id not in voided and not isinstance(fact, Void)]
    return sorted(standing, key=place)


class DayByDay:
    """One person's answers. What it remembers only saves asking the same thing twice: the answers of a day by procedure and
    day, and the life of a sign-off by the facts up to the last one read, of which nothing but their end differs."""

    def __init__(self, programme: Programme, person: PersonFacts, known_by: datetime | None = None) -> None:
        self.programme, self.person, self.known_by = programme, person, known_by
        self.accepted: dict[str, list[Fact]] = {}
        self.memo: dict[tuple[str, date], tuple[State, Basis | None, Evidence]] = {}
        self.ends: dict[tuple[str, date], date | None] = {}
        self.known: dict[str, list[VersionFact]] = {}
        self.lives: dict[tuple[str, str, str, int], Any] = {}

    # ---- facts, procedures and versions

    def facts(self, code: str) -> list[Fact]:
        """In order, without those that the rules refuse: a refused fact has no effect."""
        if code not in self.accepted:
            kept: list[Fact] = []
            for fact in in_order(self.person.by_procedure.get(code, ()), self.known_by):
                kept += [] if self.is_refused(code, kept, fact) else [fact]
            self.accepted[code] = kept
        return self.accepted[code]

    def until(self, code: str, day: date) -> list[Fact]:
        return [fact for fact in self.facts(code) if fact.day <= day]

    def is_refused(self, code: str, before: list[Fact], fact: Fact) -> bool:
        """Before the first version; carried over after a sign-off; a founding grant where a sign-off is alive."""
        if isinstance(fact, SIGN_OFF) and self.in_force(code, fact.day) is None:
            return True
        if isinstance(fact, REAL_SIGN_OFF):
            return fact.version not in {v.number for v in self.versions(code)}
        if isinstance(fact, CarriedOver):
            return any(isinstance(earlier, REAL_SIGN_OFF) for earlier in before)
        return isinstance(fact, Founded) and self.living_before(code, [*before, fact], len(before)) is not None

    def is_known(self, instant: datetime | None) -> bool:
        return self.known_by is None or instant is None or instant <= self.known_by

    def versions(self, code: str) -> list[VersionFact]:
        if code not in self.known:
            known = [v for v in self.programme[code].versions if self.is_known(v.approved_at)]
            self.known[code] = sorted(known, key=lambda v: v.number)
        return self.known[code]

    def in_force(self, code: str, day: date) -> VersionFact | None:
        """A version is in force from its day until the next one is."""
        begun = [v for v in self.versions(code) if v.in_force_from <= day]
        return begun[-1] if begun else None

    def is_retired(self, code: str, day: date) -> bool:
        if (procedure := self.programme.get(code)) is None or procedure.retired_on is None:
            return False
        return procedure.retired_on <= day and self.is_known(procedure.retired_recorded_at)

    def prerequisites(self, version: VersionFact, day: date) -> list[str]:
        """A retired procedure no longer counts as a prerequisite."""
        return [code for code in version.policy.prerequisites if not self.is_retired(code, day)]

    # ---- evidence

    def evidence(self, code: str, day: date) -> Evidence:
        version = self.in_force(code, day)
        if version is None:
            return Evidence.NONE
        facts, window = self.until(code, day), days(version.policy.window_days)
        kept = [
            fact
            for fact in after_last(facts, is_withdrawal)  # (b)
            if isinstance(fact, COUNTS)
            and fact.day >= day - window  # (a)
            and self.still_holds(version, fact.version, day)  # (c)
        ]
        if not kept:
            return Evidence.NONE
        return Evidence.ENOUGH if self.is_enough(version, day, facts, kept) else Evidence.SOME

    def still_holds(self, version: VersionFact, number: int, day: date) -> bool:
        """(c): on V, or on an earlier version since which nothing asks re-observation, or not yet by this day."""
        between = [w for w in self.versions(version.procedure) if number < w.number <= version.number]
        return number <= version.number and all(
            w.policy.reobserve_days is None or w.in_force_from + days(w.policy.reobserve_days) >= day for w in between
        )

    def is_enough(self, version: VersionFact, day: date, facts: list[Fact], kept: list[Fact]) -> bool:
        policy = version.policy
        renewed = self.sign_off_to_renew(version.procedure, day, facts)
        since = facts[renewed + 1 :] if renewed is not None else facts
        methods = policy.renewal_methods if renewed is not None else policy.methods
        kept_ids, since_ids = {f.id for f in kept}, {f.id for f in since}
        checks = [f for f in since if f.id in kept_ids and isinstance(f, CheckTaken) and f.passed]
        met = [
            f
            for f in after_last(facts, is_critical_miss)  # (d)
            if f.id in kept_ids
            and f.id in since_ids
            and is_met_assessment(f)
            and f.method in methods
            and is_well_watched(f)
            if not f.from_paper
            or policy.from_paper == "both"
            or (renewed is not None and policy.from_paper == "renewal")
        ]
        shown = {step for f in met for step in f.shown}
        return (
            (not policy.check_asked or bool(checks))
            and (len(met) >= policy.renewal_needed if renewed is not None else self.is_first_enough(version, day, met))
            and version.conditional_critical <= shown
            and all(self.is_usable(code, day) for code in self.prerequisites(version, day))
        )

    def is_first_enough(self, version: VersionFact, day: date, met: list[Observed]) -> bool:
        policy = version.policy
        return (
            len(met) >= policy.needed
            and all(sum(f.method in q.methods for f in met) >= min(q.count, policy.needed) for q in policy.by_method)
            and len({f.day for f in met}) >= min(policy.distinct_days, policy.needed)
            and len({f.observer for f in met}) >= self.people_asked(version, day)
        )

    def people_asked(self, version: VersionFact, day: date) -> int:
        asked = min(version.policy.distinct_supervisors, version.policy.needed)
        offered = [people for since, people in self.person.offered.get(version.procedure, ()) if since <= day]
        return min(asked, offered[-1]) if offered else asked

    def sign_off_to_renew(self, code: str, day: date, facts: list[Fact]) -> int | None:
        """Where the last real sign-off is, if no withdrawal came since and its last day + 12 months is not over."""
        real = [i for i, fact in enumerate(facts) if isinstance(fact, REAL_SIGN_OFF)]
        if not real or any(is_withdrawal(fact) for fact in facts[real[-1] :]):
            return None
        last, _ = self.last_day(code, facts, real[-1])
        return real[-1] if last is None or plus_months(last, 12) >= day else None

    # ---- the life of a sign-off: `facts` are those up to the day asked about, `i` is where the sign-off is

    def version_of(self, code: str, fact: Fact) -> VersionFact:
        if isinstance(fact, REAL_SIGN_OFF):
            return next(v for v in self.versions(code) if v.number == fact.version)
        version = self.in_force(code, fact.day)
        assert version is not None, "nothing is granted or carried over before the first version is in force"
        return version

    def living_before(self, code: str, facts: list[Fact], i: int) -> int | None:
        """Where the real sign-off immediately before is, if it was alive when the one at `i` was made."""
        before = [k for k in range(i) if isinstance(facts[k], DECIDES)]
        if not before or not isinstance(facts[before[-1]], REAL_SIGN_OFF):
            return None
        last, _ = self.last_day(code, facts[:i], before[-1])
        return before[-1] if last is None or last >= facts[i].day else None

    def remembered(self, what: Callable[[str, list[Fact], int], Any], code: str, facts: list[Fact], i: int) -> Any:
        """`facts` are always the accepted ones before their last and that one, so the last says which they are."""
        key = what.__name__, code, facts[-1].id, i
        if key not in self.lives:
            self.lives[key] = what(code, facts, i)
        return self.lives[key]

    def valid_until(self, code: str, facts: list[Fact], i: int) -> date | None:
        return self.remembered(self.worked_out_valid_until, code, facts, i)

    def last_day(self, code: str, facts: list[Fact], i: int) -> tuple[date | None, Ending | None]:
        return self.remembered(self.worked_out_last_day, code, facts, i)

    def worked_out_valid_until(self, code: str, facts: list[Fact], i: int) -> date | None:
        fact = facts[i]
        if isinstance(fact, CarriedOver | Founded):
            return fact.valid_until
        version, before, start, floor = self.version_of(code, fact), self.living_before(code, facts, i), fact.day, None
        if before is not None and (until := self.valid_until(code, facts, before)) is not None:
            renewed = self.version_of(code, facts[before])
            start = until if fact.day >= until - days(renewed.policy.notice_days) else fact.day
            floor = until if renewed.number == version.number else None
        months = version.policy.renewal_months
        if version.policy.first_year_months is not None and months_between(first_day(facts[: i + 1]), start) < 12:
            months = version.policy.first_year_months
        if months is None:
            return None
        return max(plus_months(start, months), floor or date.min)

    def worked_out_last_day(self, code: str, facts: list[Fact], i: int) -> tuple[date | None, Ending | None]:
        """The earliest of the re-observation deadlines, the idle limit and valid_until; on a tie the first of these."""
        version = self.version_of(code, facts[i])
        limits = [
            (v.in_force_from + days(v.policy.reobserve_days), Ending.DEADLINE)
            for v in self.versions(code)
            if v.number > version.number and v.policy.reobserve_days is not None
        ]
        if (until := self.valid_until(code, facts, i)) is not None:
            limits.append((until, Ending.VALID_UNTIL))
        if version.policy.idle_days is not None:
            alive_until = min((limit for limit, _ in limits), default=date.max)
            limits.append((self.idle_limit(version, facts, i, alive_until), Ending.IDLE))
        return min(limits, key=lambda limit: (limit[0], list(Ending).index(limit[1])), default=(None, None))

    def idle_limit(self, version: VersionFact, facts: list[Fact], i: int, alive_until: date) -> date:
        """Last performance + idle days, each performance on or before the limit then running."""
        idle = days(version.policy.idle_days or 0)
        counts = version.policy.methods | version.policy.renewal_methods
        limit = facts[i].day + idle
        for fact in facts[i + 1 :]:
            if isinstance(fact, DECIDES) or fact.day > limit:
                break
            upkeep = isinstance(fact, DidUpkeep) and fact.day <= alive_until and not self.is_on_hold(version, fact.day)
            if upkeep or isinstance(fact, WatchedOthers) or (is_met_assessment(fact) and fact.method in counts):
                limit = fact.day + idle
        return limit

    def is_on_hold(self, version: VersionFact, day: date) -> bool:
        """Some prerequisite was usable on none of the days t - grace … t."""
        lately = [day - days(n) for n in range(version.policy.grace_days + 1)]
        return any(not any(self.is_usable(code, d) for d in lately) for code in self.prerequisites(version, day))

    # ---- standing

    def is_usable(self, code: str, day: date) -> bool:
        return code in self.programme and self.on(code, day)[0] in (State.DUE, State.CURRENT)

    def on(self, code: str, day: date) -> tuple[State, Basis | None, Evidence]:
        if (code, day) not in self.memo:
            self.memo[code, day] = self.work_out(code, day)
        return self.memo[code, day]

    def work_out(self, code: str, day: date) -> tuple[State, Basis | None, Evidence]:
        """The table of states, read from the top."""
        evidence = self.evidence(code, day)
        if self.in_force(code, day) is None:
            return State.UNTRAINED, None, evidence
        facts = self.until(code, day)
        decides = [i for i, fact in enumerate(facts) if isinstance(fact, DECIDES)]
        if not decides:
            never = {Evidence.ENOUGH: State.READY, Evidence.SOME: State.LEARNING, Evidence.NONE: State.UNTRAINED}
            return never[evidence], None, evidence
        newest = facts[decides[-1]]
        if is_withdrawal(newest):
            return State.WITHDRAWN, None, evidence
        return self.signed_state(code, day, facts, decides[-1]), BASIS[type(newest)], evidence

    def signed_state(self, code: str, day: date, facts: list[Fact], i: int) -> State:
        version = self.version_of(code, facts[i])
        last, _ = self.last_day(code, facts, i)
        until = self.valid_until(code, facts, i)
        if last is not None and day > last:
            return State.LAPSED
        if self.is_on_hold(version, day):
            return State.ON_HOLD
        if until is not None and day >= until - days(version.policy.notice_days):
            return State.DUE
        return State.CURRENT

    # ---- what ends it

    def answer(self, code: str, day: date) -> Answer:
        last = self.last_good_day(code, day)
        return (*self.on(code, day), last, self.why_over(code, last + days(1)) if last else None)

    def last_good_day(self, code: str, day: date) -> date | None:
        """The last day of the unbroken run of usable days that holds this one; None for no such run, or no end."""
        if not self.is_usable(code, day):
            return None
        if (code, day) not in self.ends:
            last, settled = day, self.settled()
            while last <= settled and self.is_usable(code, last + days(1)):
                last += days(1)
            for n in range((last - day).days + 1):
                self.ends[code, day + days(n)] = last if last <= settled else None
        return self.ends[code, day]

    def settled(self) -> date:
        """From some day on nothing changes any more: all facts, versions, last days and days of grace are behind it."""
        seen = [date(2000, 1, 1)]
        for code, procedure in self.programme.items():
            facts, grace = self.facts(code), [v.policy.grace_days for v in procedure.versions]
            seen += [v.in_force_from for v in procedure.versions] + [fact.day for fact in facts]
            seen += [procedure.retired_on] if procedure.retired_on else []
            newest = [i for i, fact in enumerate(facts) if isinstance(fact, SIGN_OFF)][-1:]
            seen += [last for i in newest if (last := self.last_day(code, facts, i)[0])]
            seen += [max(seen) + days(max(grace, default=0) + 2)]
        return max(seen)

    def why_over(self, code: str, day: date) -> Ending | None:
        """What the first day after the run says."""
        state, facts = self.on(code, day)[0], self.until(code, day)
        if state is State.LAPSED:
            return self.last_day(code, facts, max(i for i, fact in enumerate(facts) if isinstance(fact, SIGN_OFF)))[1]
        return {State.WITHDRAWN: Ending.WITHDRAWAL, State.ON_HOLD: Ending.PREREQUISITE}[state]


def is_withdrawal(fact: Fact) -> bool:
    return isinstance(fact, Withdrawn)


def is_critical_miss(fact: Fact) -> bool:
    return isinstance(fact, Observed) and fact.critical_miss


def is_met_assessment(fact: Fact) -> bool:
    return isinstance(fact, Observed) and fact.assessment and fact.outcome is Outcome.MET


def after_last(facts: list[Fact], is_such) -> list[Fact]:
    """The facts later than the last such one."""
    such = [i for i, fact in enumerate(facts) if is_such(fact)]
    return facts[such[-1] + 1 :] if such else facts


def first_day(facts: list[Fact]) -> date:
    """The earliest sign-off since the last withdrawal: carried-over by its original day, founding not at all."""
    since = after_last(facts, is_withdrawal)
    return min(
        fact.original_day if isinstance(fact, CarriedOver) else fact.day
        for fact in since
        if isinstance(fact, (*REAL_SIGN_OFF, CarriedOver))
    )


# ---- who watched: read for one assessment at a time, from everything the watcher had done before it


def is_well_watched(fact: Observed) -> bool:
    """Nobody whose own standing forbade it that moment; that is looked up beforehand."""
    return fact.set_aside is None


def watchers_state(
    programme: Programme,
    watcher: PersonFacts,
    code: str,
    seen: Observed,
    every: tuple[Fact, ...],
    known_by: datetime | None,
) -> State:
    """Where the watcher stood in the procedure at the moment of the assessment: nothing that comes later in the order of
    days, times and recordings had happened yet. `every`: the facts of the one watched in it, for what it corrects."""
    moment = order_of(seen, {fact.id: fact for fact in every})
    before = dict.fromkeys(programme, ())
    for name, facts in watcher.by_procedure.items():
        known = {fact.id: fact for fact in facts if known_by is None or fact.recorded_at <= known_by}
        earlier = [fact for fact in in_order(facts, known_by) if order_of(fact, known)[:4] < moment[:4]]
        before[name] = tuple(as_first_said(fact, known) for fact in earlier)
    asked = PersonFacts(watcher.person, before, watcher.offered)
    return DayByDay(programme, asked, known_by).on(code, seen.day)[0]


def order_of(fact: Fact, known: Mapping[str, Fact]) -> tuple[date, int, time, datetime, str]:
    first = fact
    while first.corrects and first.corrects in known:
        first = known[first.corrects]
    return fact.day, 1 if fact.at is None else 0, fact.at or time.min, first.recorded_at, fact.id


def as_first_said(fact: Fact, known: Mapping[str, Fact]) -> Fact:
    """The fact in its place without its chain, of which the earlier links may lie later in the day."""
    return replace(fact, recorded_at=order_of(fact, known)[3], corrects=None)
