"""Which facts stand, in which order, and which versions are known: what every other rule of standing begins with.

Readings of the text:

1. A fact is known when it was recorded no later than `known_by`; a version when it was approved by then.
2. A known correction voids the fact it names for good: a correction that is itself corrected later gives nothing
   back, so voiding a voiding restores nothing. What should stand again is recorded again, as a correction.
3. A correction that is no plain voiding is ordered by its own day and time, and among facts of the same day and
   time by when the first fact of its chain was recorded: it takes that place. Equal to the last, ids decide.
4. A fact without a time comes after those of its day that have one.
5. A retirement is known like a fact; from its day the procedure is asked of nobody as a prerequisite.
"""

from bisect import bisect_right
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, time
from functools import lru_cache
from graphlib import TopologicalSorter

from training.rules.facts import Fact, PersonFacts, ProcedureFacts, VersionFact, Void

Place = tuple[date, bool, time, datetime, str]
MIDNIGHT, LAST_DAY, FIRST_DAY = time.min, date.max.toordinal(), date.min.toordinal()


def live_facts(facts: Iterable[Fact], known_by: datetime | None = None) -> tuple[Fact, ...]:
    """The facts that stand, in order. Corrections are resolved among the facts given, which are of one procedure."""
    known = {fact.id: fact for fact in facts if known_by is None or fact.recorded_at <= known_by}
    voided = {fact.corrects for fact in known.values()}
    standing = [fact for fact in known.values() if fact.id not in voided and not isinstance(fact, Void)]
    return tuple(sorted(standing, key=lambda fact: place(fact, known)))


def place(fact: Fact, known: Mapping[str, Fact]) -> Place:
    """Where the fact comes in the order."""
    return fact.day, fact.at is None, fact.at or MIDNIGHT, first_of_chain(fact, known).recorded_at, fact.id


def first_of_chain(fact: Fact, known: Mapping[str, Fact]) -> Fact:
    """The fact that a chain of corrections began with, as far back as it is among the known ones."""
    if fact.corrects is None:  # almost every fact
        return fact
    passed = {fact.id}
    while fact.corrects is not None and fact.corrects in known and fact.corrects not in passed:
        fact = known[fact.corrects]
        passed.add(fact.id)
    return fact


@dataclass(frozen=True, slots=True)
class Versions:
    """The known versions of a procedure, ascending by number and so by in-force day."""

    all: tuple[VersionFact, ...]

    @property
    def first_day(self) -> date | None:
        """The first day on which any version is in force."""
        return self.all[0].in_force_from if self.all else None

    def in_force_on(self, day: date) -> VersionFact | None:
        index = bisect_right(self.all, day, key=lambda version: version.in_force_from) - 1
        return self.all[index] if index >= 0 else None

    def numbered(self, number: int) -> VersionFact | None:
        return next((version for version in self.all if version.number == number), None)

    def later_than(self, number: int) -> tuple[VersionFact, ...]:
        return tuple(version for version in self.all if version.number > number)

    def in_turn(self) -> Iterator[tuple[VersionFact, date, date | None]]:
        """Each version with the day it comes into force and the day the next one does."""
        ends = [*(version.in_force_from for version in self.all[1:]), None]
        for version, end in zip(self.all, ends, strict=False):
            if end is None or version.in_force_from < end:
                yield version, version.in_force_from, end


def known_versions(procedure: ProcedureFacts, known_by: datetime | None = None) -> Versions:
    known = (version for version in procedure.versions if known_by is None or version.approved_at <= known_by)
    return Versions(tuple(sorted(known, key=lambda version: version.number)))


def retired_on(procedure: ProcedureFacts, known_by: datetime | None = None) -> date | None:
    recorded = procedure.retired_recorded_at
    known = known_by is None or recorded is None or recorded <= known_by
    return procedure.retired_on if known else None


def prerequisite_order(programme: Mapping[str, ProcedureFacts]) -> tuple[str, ...]:
    """Every code after all it rests on in any version. Raises graphlib.CycleError when they rest on each other."""
    return in_order(
        tuple((code, frozenset(needed_ever(programme[code]) & programme.keys())) for code in sorted(programme))
    )


@lru_cache(maxsize=64)
def in_order(rests_on: tuple[tuple[str, frozenset[str]], ...]) -> tuple[str, ...]:
    """The same every time, so it is found once: whoever asks has one of the few programmes that there are."""
    return tuple(TopologicalSorter(dict(rests_on)).static_order())


def needed_ever(procedure: ProcedureFacts) -> set[str]:
    return {code for version in procedure.versions for code in version.policy.prerequisites}


def with_prerequisites(programme: Mapping[str, ProcedureFacts], *codes: str) -> dict[str, ProcedureFacts]:
    """The part of the programme that the standing in these procedures rests on."""
    wanted, waiting = set(codes), list(codes)
    while waiting:
        for needed in (needed_ever(programme[waiting.pop()]) & set(programme)) - wanted:
            wanted.add(needed)
            waiting.append(needed)
    return {name: programme[name] for name in wanted}


def resting_on(programme: Mapping[str, ProcedureFacts], codes: Collection[str]) -> set[str]:
    """These procedures, and every one whose standing rests on one of them, however far."""
    found: set[str] = set()
    for code in prerequisite_order(programme):
        if code in codes or needed_ever(programme[code]) & found:
            found.add(code)
    return found


@dataclass(frozen=True, slots=True)
class Moment:
    """A time of a day at which work was done. Without a time it comes after the facts that have one; `recorded_at`
    places it among facts of the same time, and without it work comes after them."""

    day: date
    at: time | None = None
    recorded_at: datetime | None = None

    def is_after(self, fact: Fact) -> bool:
        theirs, ours = (
            (fact.day, fact.at is None, fact.at or MIDNIGHT),
            (self.day, self.at is None, self.at or MIDNIGHT),
        )
        return theirs < ours or (theirs == ours and (self.recorded_at is None or fact.recorded_at < self.recorded_at))


def decides_later(moment: Moment | None, decided: Iterable[tuple[str, Fact]], among: Collection[str]) -> bool:
    """Whether any of what was decided on that day about these procedures (each with its code, "" for several) does not surely
    come before the moment (None: it is not known). Where all does, the state at the end of the day is that of the moment
    (rules.watchers, reading 4). A correction may stand in the place of an earlier record: it comes no later for that."""
    theirs = (fact for code, fact in decided if code in among or not code)
    return any(moment is None or not moment.is_after(fact) for fact in theirs)


def up_to(person: PersonFacts, moment: Moment, known_by: datetime | None = None) -> PersonFacts:
    """The same person as if nothing that comes later in the order had been; corrections are resolved first."""
    found = {
        code: tuple(fact for fact in settled(facts, known_by) if moment.is_after(fact))
        for code, facts in person.by_procedure.items()
    }
    return replace(person, by_procedure=found)


def settled(facts: Iterable[Fact], known_by: datetime | None) -> tuple[Fact, ...]:
    """The live facts, each as if recorded when the first of its chain was: so they keep their order on their own."""
    known = {fact.id: fact for fact in facts}
    return tuple(
        fact
        if fact.corrects is None
        else replace(fact, recorded_at=first_of_chain(fact, known).recorded_at, corrects=None)
        for fact in live_facts(known.values(), known_by)
    )


def days_after(day: date, days: int) -> date:
    """`days` later; the calendar's last day where there is none so late."""
    later = day.toordinal() + days
    return date.fromordinal(later) if later < LAST_DAY else date.max


def days_before(day: date, days: int) -> date:
    before = day.toordinal() - days
    return date.fromordinal(before) if before > FIRST_DAY else date.min


def earlier(one: date | None, other: date | None) -> date | None:
    """The earlier of two ends; None is no end."""
    if one is None or other is None:
        return one or other
    return min(one, other)
