"""Findings about checks: drivers used past theirs, spore tests that prove nothing, tools past their life."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from clinic.rules.findings import Finding, TaskOnUnit, Weight, finding_key
from clinic.rules.spores import Result
from clinic.rules.upkeep_facts import UpkeepSpan, UpkeepState, Use
from clinic.rules.wording import counted, plain_day


@dataclass(frozen=True, slots=True)
class DriverChecked:
    """A torque driver's verification task with its spans, and each time the driver was used."""

    task: TaskOnUnit
    uses: Sequence[Use]


def drivers_past_check(drivers: Iterable[DriverChecked], today: date) -> list[Finding]:
    """Used on a day when its verification was overdue: stop while it still is, a note afterwards (T-10)."""
    return [
        _past_check(driver, run, used, today)
        for driver in drivers
        for run in overdue_runs(driver.task.spans, today)
        if (used := [use for use in driver.uses if run[0] <= use.day < (run[1] or date.max) and use.day <= today])
    ]


def overdue_runs(spans: Sequence[UpkeepSpan], today: date) -> list[tuple[date, date | None]]:
    """Unbroken overdue stretches that have begun, whatever caused their parts."""
    runs: list[tuple[date, date | None]] = []
    for span in spans:
        if span.state is not UpkeepState.OVERDUE or span.first > today:
            continue
        if runs and runs[-1][1] == span.first:
            runs[-1] = (runs[-1][0], span.after)
        else:
            runs.append((span.first, span.after))
    return runs


def _past_check(driver: DriverChecked, run: tuple[date, date | None], used: Sequence[Use], today: date) -> Finding:
    first, after = run
    still = after is None or today < after
    times = counted(len(used), "time")
    return Finding(
        finding_key("driver past check", driver.task.unit_id, first),
        Weight.STOP if still else Weight.NOTE,
        "driver past check",
        driver.task.unit,
        tuple(use.id for use in used),
        used[0].day,
        f"{driver.task.unit}: used {times} while its check was overdue from {plain_day(first)}.",
        "A verification that passes ends it." if still else "A corrective action that says what was done closes it.",
    )


@dataclass(frozen=True, slots=True)
class SporeTestDone:
    """A spore test as judged; `control`: whether one was run at all."""

    id: str
    day: date
    unit: str
    unit_id: str
    result: Result
    control: bool


def spore_tests_unproved(tests: Iterable[SporeTestDone]) -> list[Finding]:
    """A test without a control, or with one that proves nothing: to be repeated, a note once a good one followed (W-19)."""
    in_order = sorted(tests, key=lambda test: (test.unit_id, test.day))
    return [_unproved(test, _followed(test, in_order)) for test in in_order if test.result is Result.INVALID]


UNREAD_DAYS = 7
"""A test that was put in is read within this many days (incubation takes one to seven; common practice, from memory)."""


def spore_tests_unread(tests: Iterable[SporeTestDone], today: date) -> list[Finding]:
    """A test that was put in and never read: no result is no pass (W-19)."""
    late = timedelta(days=UNREAD_DAYS)
    return [_unread(test) for test in tests if test.result is Result.WAITING and test.day + late < today]


def _unread(test: SporeTestDone) -> Finding:
    return Finding(
        finding_key("spore test unread", test.id),
        Weight.FIX,
        "spore test unread",
        test.unit,
        (test.id,),
        test.day,
        f"{test.unit}: the spore test put in on {plain_day(test.day)} has no result, and is no pass.",
        "Its result ends it.",
    )


def _followed(test: SporeTestDone, tests: Sequence[SporeTestDone]) -> bool:
    return any(t.unit_id == test.unit_id and t.day >= test.day and t.result is Result.PASS for t in tests)


def _unproved(test: SporeTestDone, followed: bool) -> Finding:
    why = "its control did not grow or was of another lot" if test.control else "it had no control"
    return Finding(
        finding_key("spore test unproved", test.id),
        Weight.NOTE if followed else Weight.FIX,
        "spore test unproved",
        test.unit,
        (test.id,),
        test.day,
        f"{test.unit}: the spore test of {plain_day(test.day)} proves nothing, because {why}.",
        "A corrective action closes it." if followed else "A passed test with a control of the same lot ends it.",
    )


@dataclass(frozen=True, slots=True)
class ToolMounted:
    """A milling tool at its position with its life: units used of a full life."""

    id: str
    label: str
    unit: str
    used: int
    full: int
    since: date


def tools_past_life(tools: Iterable[ToolMounted]) -> list[Finding]:
    """A mounted tool that milled more than its life (Z-11)."""
    return [_past_life(tool) for tool in tools if tool.used > tool.full]


def _past_life(tool: ToolMounted) -> Finding:
    return Finding(
        finding_key("tool past life", tool.id),
        Weight.FIX,
        "tool past life",
        tool.label,
        (tool.id,),
        tool.since,
        f"{tool.label} in {tool.unit}: {tool.used} of {tool.full} units of its life are used.",
        "Taking the tool out ends it.",
    )
