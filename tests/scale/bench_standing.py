"""How standing grows: time and memory per fact at 1×, 4× and 16×, and stored spans against one raw statement.

    python -m tests.scale.bench_standing            the small sizes, a minute or two
    python -m tests.scale.bench_standing --full     16× is 5,000 people × 40 procedures × 10 years

Three times a fact: when somebody may work alone (which most questions need), their whole timeline, and the evidence of every
day beside it (which the stored timelines have). It is time of the processor, so that other work of the computer does not
count. Everything is printed as a ratio to a floor measured in the same run: a loop that only touches every fact once.
"""

import argparse
import time
import tracemalloc
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta

from training.rules.facts import (
    CheckTaken,
    Fact,
    Method,
    Observed,
    Outcome,
    PersonFacts,
    Policy,
    ProcedureFacts,
    Signed,
    VersionFact,
)
from training.rules.standing import Standing, timelines

START = date(2016, 1, 4)
PROCEDURES, YEARS = 40, 10
POLICY = Policy(needed=3, distinct_days=2, distinct_supervisors=2, idle_days=400, first_year_months=6, window_days=400)


def programme() -> dict[str, ProcedureFacts]:
    """Forty procedures, each resting on the one three before it; two versions each."""
    found = {}
    for index in range(PROCEDURES):
        code = f"P{index:02}"
        policy = POLICY if index < 3 else Policy(**{**fields(POLICY), "prerequisites": (f"P{index - 3:02}",)})
        at = datetime(2016, 1, 4, tzinfo=UTC)
        first = VersionFact(code, 1, START, at, policy)
        second = VersionFact(code, 2, START + timedelta(days=1500), at + timedelta(days=1490), policy)
        found[code] = ProcedureFacts(code, (first, second))
    return found


def fields(policy: Policy) -> dict[str, object]:
    return {name: getattr(policy, name) for name in Policy.__dataclass_fields__}


def person(number: int) -> PersonFacts:
    by_code = {f"P{i:02}": tuple(career(f"{number}-{i}", START + timedelta(days=i))) for i in range(PROCEDURES)}
    offered = dict.fromkeys(by_code, ((date.min, 3),))
    return PersonFacts(str(number), by_code, offered)


def career(key: str, day: date) -> Iterator[Fact]:
    """Three assessments, a check and a sign-off; then one assessment and a sign-off a year."""
    yield CheckTaken(id=f"{key}c", day=day, recorded_at=at(day), version=1, passed=True)
    for turn in range(3):
        yield seen(f"{key}o{turn}", day + timedelta(days=turn + 1), f"s{turn}")
    yield Signed(id=f"{key}s", day=day + timedelta(days=4), recorded_at=at(day + timedelta(days=4)), version=1)
    for year in range(YEARS):
        again = day + timedelta(days=170 + 350 * year)
        yield seen(f"{key}r{year}", again, "s1")
        yield Signed(
            id=f"{key}n{year}",
            day=again,
            recorded_at=at(again),
            version=1 if again < START + timedelta(days=1500) else 2,
        )


def seen(key: str, day: date, observer: str) -> Observed:
    return Observed(
        id=key, day=day, recorded_at=at(day), version=1 if day < START + timedelta(days=1500) else 2, assessment=True,
        method=Method.REAL, outcome=Outcome.MET, observer=observer,
    )  # fmt: skip


def at(day: date) -> datetime:
    return datetime(day.year, day.month, day.day, 12, tzinfo=UTC)


def floor(people: list[PersonFacts]) -> float:
    """Only touching every fact: sorting each list by day and reading one column."""
    began = time.process_time()
    for each in people:
        for facts in each.by_procedure.values():
            sum(len(fact.id) for fact in sorted(facts, key=lambda fact: fact.day))
    return time.process_time() - began


def drawn(program: dict[str, ProcedureFacts], each: PersonFacts, *names: str) -> dict[str, Standing]:
    found = timelines(program, each)
    for standing in found.values():
        for name in names:
            getattr(standing, name)
    return found


def measure(size: int) -> tuple[int, list[float], float, float]:
    """Facts, seconds of each of the three, peak bytes of one person's timelines, and the floor's seconds."""
    program, people = programme(), [person(number) for number in range(size)]
    count = sum(len(facts) for each in people for facts in each.by_procedure.values())
    lowest = min(floor(people) for _ in range(3))
    took = []
    for names in ((), ("spans",), ("spans", "evidence")):
        began = time.process_time()
        for each in people:
            drawn(program, each, *names)
        took.append(time.process_time() - began)
    tracemalloc.start()
    kept = [drawn(program, each, "spans", "evidence") for each in people[: min(size, 20)]]
    peak = tracemalloc.get_traced_memory()[1] / len(kept)
    tracemalloc.stop()
    return count, took, peak, lowest


def longer(years: int) -> tuple[int, float]:
    """One person whose history grows: facts and seconds. Shows that cost follows facts, not days."""
    program, facts = programme(), []
    for turn in range(years):
        facts += list(career(f"x{turn}", START + timedelta(days=turn * 3)))
    ordered = tuple(sorted(facts, key=lambda fact: fact.day))
    each = PersonFacts("x", {"P00": ordered})
    began = time.process_time()
    drawn(program, each, "spans", "evidence")
    return len(ordered), time.process_time() - began


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--full", action="store_true")
    sizes = (312, 1250, 5000) if parser.parse_args().full else (10, 40, 160)
    print(
        f"{'people':>8} {'facts':>10} {'µs/fact: alone':>15} {'whole':>7} {'evidence':>9} {'× floor':>8} {'KB/person':>10}"
    )
    first = None
    for size in sizes:
        count, took, peak, lowest = measure(size)
        alone, whole, evidence = (seconds / count * 1e6 for seconds in took)
        first = first or evidence
        print(
            f"{size:>8} {count:>10} {alone:>15.1f} {whole:>7.1f} {evidence:>9.1f} {took[-1] / lowest:>8.1f} "
            f"{peak / 1024:>10.0f}   growth {evidence / first:.2f}×"
        )
    print("one person in one procedure, ever longer:")
    for years in (10, 40, 160):
        count, took = longer(years)
        print(f"{count:>10} facts {took / count * 1e6:>9.1f} µs/fact")


if __name__ == "__main__":
    main()
