"""Short ways to write the plain facts of a test: days as text, everything recorded at noon of its day unless said."""

from datetime import UTC, date, datetime, time
from itertools import count
from typing import Any

from training.rules.facts import (
    CarriedOver,
    CheckTaken,
    DidUpkeep,
    Fact,
    Founded,
    Method,
    Observed,
    Outcome,
    PersonFacts,
    Policy,
    ProcedureFacts,
    Signed,
    TaughtCountable,
    VersionFact,
    Void,
    WatchedOthers,
    Withdrawn,
)
from training.rules.standing import Standing, timelines

FIRST = "2026-01-01"
EASY = Policy(check_asked=False)
_ids = count(1)


def d(text: str) -> date:
    return date.fromisoformat(text)


def instant(text: str) -> datetime:
    """Noon UTC of a day, or the instant itself."""
    moment = datetime.fromisoformat(text if "T" in text else f"{text}T12:00")
    return moment.replace(tzinfo=UTC)


def common(day: str, given: dict[str, Any]) -> dict[str, Any]:
    """What every fact carries. `at` and `recorded` may be given as text."""
    at, recorded = given.pop("at", None), given.pop("recorded", day)
    named = {"id": f"fact-{next(_ids):06}", "day": d(day), "recorded_at": instant(recorded)}
    return named | ({"at": time.fromisoformat(at)} if at else {}) | given


def met(day: str, version: int = 1, **given: Any) -> Observed:
    base = {"assessment": True, "method": Method.REAL, "outcome": Outcome.MET, "observer": "rivka"}
    return Observed(version=version, **(base | common(day, given)))


def missed(day: str, **given: Any) -> Observed:
    """A not-met assessment with a critical miss."""
    return met(day, outcome=Outcome.NOT_MET, critical_miss=True, **given)


def check(day: str, passed: bool = True, version: int = 1, **given: Any) -> CheckTaken:
    return CheckTaken(version=version, passed=passed, **common(day, given))


def signed(day: str, version: int = 1, **given: Any) -> Signed:
    return Signed(version=version, **common(day, given))


def taught(day: str, version: int = 1, **given: Any) -> TaughtCountable:
    return TaughtCountable(version=version, **common(day, given))


def carried(day: str, original: str, until: str, **given: Any) -> CarriedOver:
    return CarriedOver(original_day=d(original), valid_until=d(until), **common(day, given))


def founded(day: str, until: str, **given: Any) -> Founded:
    return Founded(valid_until=d(until), **common(day, given))


def withdrawn(day: str, **given: Any) -> Withdrawn:
    return Withdrawn(**common(day, given))


def watched(day: str, **given: Any) -> WatchedOthers:
    return WatchedOthers(**common(day, given))


def upkeep(day: str, **given: Any) -> DidUpkeep:
    return DidUpkeep(**common(day, given))


def void(fact: Fact, day: str, **given: Any) -> Void:
    return Void(corrects=fact.id, **common(day, given))


def version(
    code: str, policy: Policy = EASY, number: int = 1, day: str = FIRST, keys: str = "", **given: Any
) -> VersionFact:
    approved = instant(given.pop("approved", day))
    return VersionFact(code, number, d(day), approved, policy, frozenset(keys.split()))


def procedure(code: str = "P03", *policies: Policy, **given: Any) -> ProcedureFacts:
    """One version for each policy, in force from 1 January of 2026, 2027 and so on."""
    every = enumerate(policies or (EASY,), start=1)
    versions = tuple(version(code, policy, number, f"{2025 + number}-01-01") for number, policy in every)
    return ProcedureFacts(code, versions, **given)


def standing(facts: Any, *policies: Policy, **given: Any) -> Standing:
    """The standing in P03 of somebody with these facts, under these versions."""
    return timelines({"P03": procedure("P03", *policies)}, PersonFacts("amina", {"P03": tuple(facts)}), **given)["P03"]


def states(found: Standing) -> list[tuple[str, str]]:
    """First day and state of each span after the opening one."""
    return [(span.first.isoformat(), span.state.value) for span in found.spans[1:]]
