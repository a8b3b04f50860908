"""A job: one part, or several from one block, started and ended at a milling unit; and what many of them come to.

A patient is never named here: a case has the practice’s own number. Counts are few, so that each share stands with its exact
interval; a difference between two tools or lots that both intervals allow is no difference yet.
"""

import re
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from clinic.rules.swap import InTheWay, NewTool
from clinic.rules.tools import Decision, Material, MillingWay, Pair, judge_pair
from clinic.rules.usage import clopper_pearson
from clinic.rules.words import counted, listed

LONGEST_CASE = 20
IDLE_DAYS = 7
"""After more days than this without a job a unit is started up again by the restart procedure (common practice, no source)."""


class JobOutcome(StrEnum):
    """How a job came out. *Remade*: it ended, and its part has to be made again."""

    GOOD = "good"
    REMADE = "remade"
    CRASH = "crash"


class Cause(StrEnum):
    """What a remake or a crash came from, as far as it is known: a thing or the work, never a person."""

    MARGIN = "chipped margin"
    FIT = "does not fit"
    THIN = "thin or broken wall"
    SHADE = "wrong shade or block"
    FACTOR = "wrong factor"
    DESIGN = "design or scan"
    TOOL = "worn or broken tool"
    WRONG_TOOL = "wrong tool or position"
    BLOCK = "loose or cracked block"
    WATER = "water, air or suction failed"
    POWER = "power or network failed"
    OTHER = "something else"
    UNKNOWN = "not known"


OF_A_CRASH = frozenset(
    {Cause.TOOL, Cause.WRONG_TOOL, Cause.BLOCK, Cause.DESIGN, Cause.WATER, Cause.POWER, Cause.OTHER, Cause.UNKNOWN}
)

CASE = re.compile(r"[0-9A-Za-z]+(?:[-/.][0-9A-Za-z]+)*")


def case_fault(case: str) -> str | None:
    """Why this cannot be the practice’s own number of a case; None where it can. A number has a digit and no blank, so that
    no name of a patient passes: own rule (D), which cannot tell a name with a digit in it, and the page says so."""
    if not any(letter.isdigit() for letter in case):
        return "A case has the practice’s own number, and a number has a digit: never the name of a patient."
    if not CASE.fullmatch(case):
        return "Write the number in one piece, of letters, digits and - / . such as 26-0417: no name, and no blank."
    return None


@dataclass(frozen=True, slots=True)
class Start:
    """A job as it was filled in. `mounted`: the tools that sit in the unit; `running`: the case that is milled there now;
    `stopped`: why the unit is out of service; `lot_factor`: that of the packet, where it shrinks in firing."""

    case: str
    pair: tuple[Material, MillingWay]
    mounted: Sequence[NewTool]
    running: str = ""
    stopped: str = ""
    lot_has_factor: bool = False
    factor_given: bool = False


def in_the_way(start: Start, makers: dict[Pair, bool]) -> list[InTheWay]:
    """All reasons against the start; empty where it may go on. Who presses start is never one: that is computed."""
    fault = case_fault(start.case)
    checks = [
        (bool(start.stopped), "", f"The unit is out of service: {start.stopped}", "Nothing is milled there until somebody who may returns it."),
        (bool(start.running), "", f"Case {start.running} is still running there.", "End that job first: say how it came out."),
        (fault is not None, "case", fault or "", ""),
        (start.lot_has_factor and not start.factor_given, "factor", "The packet of this lot gives a factor.", "Write the factor that the unit was given."),
        (none_fits(start, makers), "lot", f"No tool that sits there may mill {start.pair[0]}, {start.pair[1]}.", "Change the set of tools first, or choose the lot and way that fit."),
    ]  # fmt: skip
    return [InTheWay(field, found, needed) for wrong, field, found, needed in checks if wrong]


def none_fits(start: Start, makers: dict[Pair, bool]) -> bool:
    """Where no tool is recorded, nothing is known, and nothing is refused."""
    return bool(start.mounted) and not any(may_mill(tool, start.pair, makers) for tool in start.mounted)


def may_mill(tool: NewTool, pair: tuple[Material, MillingWay], makers: dict[Pair, bool]) -> bool:
    """Fits, or is not forbidden by a line of the maker’s table; a pair outside the default needs its line there."""
    verdict = judge_pair((tool.kind, *pair), makers)
    return verdict.decision in (Decision.FITS, Decision.ASK) or makers.get((tool.kind, *pair)) is True


def warnings(start: Start, worn: Sequence[str] = (), idle: int | None = None) -> list[str]:
    """What only warns. `worn`: mounted tools past their life; `idle`: whole days since the last job on this unit."""
    found = []
    if not start.mounted:
        found.append("No tool is recorded in this unit, so that no life runs. Enter the tools that sit there.")
    if worn:
        found.append(f"{listed(worn)} {'is' if len(worn) == 1 else 'are'} past the end of life.")
    if asks_restart(idle):
        found.append(f"There was no job for {counted(idle or 0, 'day')}: the unit is started up again by its procedure first.")  # fmt: skip
    return found


def asks_restart(idle: int | None) -> bool:
    return idle is not None and idle > IDLE_DAYS


def end_in_the_way(
    outcome: JobOutcome, cause: str, earlier: JobOutcome | None, started: date, day: date
) -> list[InTheWay]:
    """Reasons against an end. `earlier`: how it ended already; only what was good can turn out to be made again."""
    suits = Cause(cause) in OF_A_CRASH if cause and outcome is JobOutcome.CRASH else bool(cause)
    again = earlier is not None and not (earlier is JobOutcome.GOOD and outcome is JobOutcome.REMADE)
    checks = [
        (day < started, "day", "It cannot end before it was started.", "Choose the day of the start or a later one."),
        (again, "outcome", f"This job ended already: {earlier}.", "Where that is wrong, take it back first. What was good may still be remade."),
        (outcome is JobOutcome.GOOD and bool(cause), "cause", "What came out good has no cause of failure.", "Leave the cause empty, or choose another outcome."),
        (outcome is not JobOutcome.GOOD and not cause, "cause", "Say what it came from.", "“Not known” is an answer too."),
        (outcome is JobOutcome.CRASH and bool(cause) and not suits, "cause", f"“{cause}” is no cause of a crash.", "Choose what made it crash."),
    ]  # fmt: skip
    return [InTheWay(field, found, needed) for wrong, field, found, needed in checks if wrong]


@dataclass(frozen=True, slots=True)
class Job:
    """A job with its last word. `outcome` None: it runs, or nobody has said how it ended. `tools`: those that sat there."""

    id: str
    day: date
    unit: str
    lot: str
    material: str
    tools: tuple[str, ...] = ()
    outcome: JobOutcome | None = None
    cause: str = ""


@dataclass(frozen=True, slots=True)
class Tally:
    """Of how many ended jobs how many were remade and how many crashed, each share with its exact 95 % limits."""

    name: str
    jobs: int
    remade: int
    crashed: int

    @property
    def says(self) -> str:
        remade, crashed = share_words(self.remade, self.jobs), share_words(self.crashed, self.jobs)
        return f"made again {remade}; crashed {crashed}"


def share_words(count: int, whole: int) -> str:
    """3 of 40 (1.6 to 20.4 %): the count with the exact 95 % limits of its share."""
    limits = clopper_pearson(count, whole)
    if limits is None:
        return "0 of 0"
    return f"{count} of {whole} ({100 * limits.lower:.1f} to {100 * limits.upper:.1f} %)"


def tallied(jobs: Iterable[Job], names: Callable[[Job], Iterable[str]]) -> list[Tally]:
    """Ended jobs by what `names` says of each (a job with three tools counts for each of them), most failures first."""
    found: dict[str, list[int]] = {}
    for job in jobs:
        if job.outcome is None:
            continue
        for name in names(job):
            row = found.setdefault(name, [0, 0, 0])
            row[0] += 1
            row[1] += job.outcome is JobOutcome.REMADE
            row[2] += job.outcome is JobOutcome.CRASH
    return sorted((Tally(name, *row) for name, row in found.items()), key=lambda one: (-one.remade - one.crashed, one.name))  # fmt: skip


def by_unit(job: Job) -> Iterable[str]:
    return [job.unit]


def by_lot(job: Job) -> Iterable[str]:
    return [f"{job.lot}, {job.material}"]


def by_tool(job: Job) -> Iterable[str]:
    return job.tools


def causes(jobs: Sequence[Job]) -> list[tuple[str, int, int]]:
    """Cause, how many were remade for it and how many crashed; most first."""
    remade = Counter(job.cause for job in jobs if job.outcome is JobOutcome.REMADE)
    crashed = Counter(job.cause for job in jobs if job.outcome is JobOutcome.CRASH)
    names = sorted({*remade, *crashed}, key=lambda name: (-remade[name] - crashed[name], name))
    return [(name, remade[name], crashed[name]) for name in names]


def idle_days(days: Iterable[date], today: date) -> int | None:
    """Whole days since the last of these days on which a job was started; None before the first."""
    last = max((day for day in days if day <= today), default=None)
    return None if last is None else (today - last).days
