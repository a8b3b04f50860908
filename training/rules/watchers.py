"""Whose watching counts: an assessment is evidence only where whoever watched it could be relied on at that time.

Usable in the procedure then, in the order of that day; or an outside witness; or holding a founding grant for it; or given
authority in spite of it, with a reason. Everybody else's assessment is kept, shown and set aside as evidence.

Readings of the text:

1. Only evidence *enough* leaves it out. It stays a performance of the person, as the work was done; a critical miss that it
   saw starts the assessments again all the same; practice, which is no evidence, is never set aside. So nobody's being usable
   depends on who watched, and two people who watched each other make no circle.
2. A founding grant lets nobody watch whose standing was withdrawn. A reason that somebody gave does: it was given knowingly.
3. Corrections keep the place of the fact that they stand for. Work without a time comes after the facts of its day that
   have one.
4. What comes on a later day changes no state of an earlier one. Within a day a state changes only by what is signed or
   withdrawn, or while nothing was ever signed by what is seen or asked: so on every other day the state at its end is that
   at any time of it, and nothing has to be replayed up to then.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime

from training.rules.facts import (
    CarriedOver,
    CheckTaken,
    Fact,
    Founded,
    Observed,
    PersonFacts,
    ProcedureFacts,
    Signed,
    State,
    TaughtCountable,
    Withdrawn,
)
from training.rules.life import Prerequisite
from training.rules.order import Moment, first_of_chain, settled, with_prerequisites
from training.rules.standing import Standing, timelines, usable_days
from training.rules.wording import codes_in_runs

DECIDES = (Signed, TaughtCountable, CarriedOver, Founded, Withdrawn)
TELLS = (*DECIDES, Observed, CheckTaken)


def sets_aside(state: State, *, founder: bool = False, lowered: bool = False) -> State | None:
    """The watcher's state where it keeps an assessment from counting; None where it counts. Outside witnesses are not asked."""
    counts = state.is_usable or lowered or (founder and state is not State.WITHDRAWN)
    return None if counts else state


def watching_counts_words(who: str, codes: Sequence[str], because: str) -> str:
    """Said at once when authority is given to somebody who may not work alone in some of it; empty where they may in all."""
    if not codes:
        return ""
    where = f"{who} may not work alone in {codes_in_runs(codes)}"
    if because:
        return f"{where}. What {who} watches there counts all the same, for the reason given: {because}"
    return f"{where}: what {who} watches there does not count as evidence until that changes, or a reason is given."


REMEDY = "Let somebody who may work alone in it watch, or ask the owner for a reason given with the authority."


def will_not_count_words(who: str, states: Mapping[str, State]) -> str:
    """Before anybody is watched: in which procedures an assessment will not count that day, and why. `states`: where `who`
    stands in each of these. Empty where all counts."""
    if not states:
        return ""
    by_state = {state: codes_in_runs([c for c in states if states[c] is state]) for state in State}
    why = "; ".join(f"{state} in {codes}" for state, codes in by_state.items() if codes)
    return f"An assessment that {who} watches will not count as evidence in {codes_in_runs(states)}: {who} is {why}. {REMEDY}"


@dataclass(frozen=True)
class Watchers:
    """People who watched others, with their own facts, as known by an instant."""

    programme: Mapping[str, ProcedureFacts]
    people: Mapping[str, PersonFacts]
    known_by: datetime | None = None
    _usable: dict[tuple[str, str], Prerequisite] = field(default_factory=dict, repr=False)
    _standing: dict[tuple[str, str], Standing] = field(default_factory=dict, repr=False)
    _settled: dict[tuple[str, str], tuple[Fact, ...]] = field(default_factory=dict, repr=False)
    _days: dict[tuple[str, str], tuple[frozenset[date], frozenset[date]]] = field(default_factory=dict, repr=False)

    def was_usable(self, watcher: str, code: str, day: date) -> bool:
        """Surely, at any time of the day: at its end, and nothing of that day decided it."""
        return day not in self.busy_days(watcher, code)[0] and self.usable(watcher, code).is_usable_on(day)

    def usable(self, watcher: str, code: str) -> Prerequisite:
        if (watcher, code) not in self._usable:
            part = with_prerequisites(self.programme, code)
            known = {name: self._usable[watcher, name] for name in part if (watcher, name) in self._usable}
            mine = usable_days(part, self.people[watcher], known_by=self.known_by, found=known)
            self._usable.update({(watcher, name): days for name, days in mine.items()})
        return self._usable[watcher, code]

    def standing(self, watcher: str, code: str) -> Standing:
        if (watcher, code) not in self._standing:
            part = with_prerequisites(self.programme, code)
            found = timelines(part, self.people[watcher], known_by=self.known_by, only={code})
            self._standing[watcher, code] = found[code]
        return self._standing[watcher, code]

    def busy_days(self, watcher: str, code: str) -> tuple[frozenset[date], frozenset[date]]:
        """On which something was signed or withdrawn in the procedure or what it rests on, and on which anything happened
        there that may change a state (reading 4): the order of these days decides."""
        if (watcher, code) not in self._days:
            mine = self.people[watcher].by_procedure
            part = [fact for name in with_prerequisites(self.programme, code) for fact in mine.get(name, ())]
            decided = frozenset(fact.day for fact in part if isinstance(fact, DECIDES))
            self._days[watcher, code] = decided, frozenset(fact.day for fact in part if isinstance(fact, TELLS))
        return self._days[watcher, code]

    def usable_then(self, watcher: str, code: str, seen: Fact) -> bool:
        """Whether the watcher might work alone in it when the fact happened, in the order of that day. Costs a fraction of
        the state itself, as no evidence is asked."""
        if seen.day not in self.busy_days(watcher, code)[0]:
            return self.usable(watcher, code).is_usable_on(seen.day)
        part, before = self.before(watcher, code, seen)
        return usable_days(part, before, known_by=self.known_by)[code].is_usable_on(seen.day)

    def state_then(self, watcher: str, code: str, seen: Fact) -> State:
        """The watcher's own state in the procedure when the fact happened, in the order of that day."""
        if seen.day not in self.busy_days(watcher, code)[1]:
            return self.standing(watcher, code).on(seen.day).state
        part, before = self.before(watcher, code, seen)
        return timelines(part, before, known_by=self.known_by, only={code})[code].on(seen.day).state

    def before(self, watcher: str, code: str, seen: Fact) -> tuple[dict[str, ProcedureFacts], PersonFacts]:
        """The procedure with what it rests on, and the watcher's facts in these up to then."""
        part, moment = with_prerequisites(self.programme, code), Moment(seen.day, seen.at, seen.recorded_at)
        before = {name: tuple(filter(moment.is_after, self.settled(watcher, name))) for name in part}
        return part, replace(self.people[watcher], by_procedure=before)

    def settled(self, watcher: str, code: str) -> tuple[Fact, ...]:
        if (watcher, code) not in self._settled:
            mine = self.people[watcher].by_procedure.get(code, ())
            self._settled[watcher, code] = settled(mine, self.known_by)
        return self._settled[watcher, code]


@dataclass(frozen=True, slots=True)
class WatchedBy:
    """Who watched one assessment, and whether a founding grant or a reason given with their authority covers it there."""

    watcher: str
    founder: bool = False
    lowered: bool = False


def with_watchers(person: PersonFacts, seen: Mapping[str, WatchedBy], watchers: Watchers) -> PersonFacts:
    """The same person, each assessment told apart by who watched it. `seen` by fact id; what is not in it counts."""
    by_procedure = {
        code: tuple(told_apart(code, fact, facts, seen, watchers) for fact in facts)
        for code, facts in person.by_procedure.items()
    }
    return replace(person, by_procedure=by_procedure)


def told_apart(code: str, fact: Fact, facts: Sequence[Fact], seen: Mapping[str, WatchedBy], watchers: Watchers) -> Fact:
    if not isinstance(fact, Observed) or not fact.assessment or fact.id not in seen:
        return fact
    who = seen[fact.id]
    sure = who.lowered or watchers.was_usable(who.watcher, code, fact.day)
    aside = None if sure else set_aside_by(code, in_its_place(fact, facts), who, watchers)
    return fact if fact.set_aside is aside else replace(fact, set_aside=aside)


def set_aside_by(code: str, seen: Fact, who: WatchedBy, watchers: Watchers) -> State | None:
    """The watcher's own state when an assessment happened, where it keeps it from counting. `seen`: in its place in the day."""
    if who.lowered or watchers.usable_then(who.watcher, code, seen):
        return None
    return sets_aside(watchers.state_then(who.watcher, code, seen), founder=who.founder, lowered=who.lowered)


def in_its_place(fact: Fact, facts: Sequence[Fact]) -> Fact:
    """The fact as if recorded when the first of its chain was."""
    if fact.corrects is None:
        return fact
    return replace(fact, recorded_at=first_of_chain(fact, {each.id: each for each in facts}).recorded_at)
