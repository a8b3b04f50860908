"""Findings about checks: drivers used past theirs, spore tests that prove nothing, tools past their life."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from clinic.rules.findings import DAY, Finding, TaskOnUnit, Weight, finding_key, overdue_runs, swept
from clinic.rules.spores import SporeResult
from clinic.rules.upkeep_facts import Use
from clinic.rules.words import counted, day_words


@dataclass(frozen=True, slots=True)
class DriverChecked:
    """A torque driver's verification task with its spans, and each time the driver was used."""

    task: TaskOnUnit
    uses: Sequence[Use]


def drivers_past_check(drivers: Iterable[DriverChecked]) -> list[Finding]:
    """Used on a day when its verification was overdue: stop while it still is, a note afterwards (T-10)."""
    return [
        part
        for driver in drivers
        for run in overdue_runs(driver.task.spans)
        if (used := [use for use in driver.uses if run[0].first <= use.day < (run[-1].after or date.max)])
        for part in _past_check(driver, run[0].first, run[-1].after, used)
    ]


def _past_check(driver: DriverChecked, overdue: date, after: date | None, used: Sequence[Use]) -> list[Finding]:
    """From the first such use on; a part for each day that added a use, and one for when it is over."""

    def says(day: date) -> tuple[Weight, tuple[str, ...]]:
        over = after is not None and after <= day
        return Weight.NOTE if over else Weight.STOP, tuple(use.id for use in used if use.day <= day)

    return [
        Finding(
            finding_key("driver past check", driver.task.unit_id, overdue),
            weight,
            "driver past check",
            driver.task.unit,
            uses,
            used[0].day,
            f"{driver.task.unit}: used {counted(len(uses), 'time')} while its check was overdue from {day_words(overdue)}.",
            "A corrective action that says what was done closes it."
            if weight is Weight.NOTE
            else "A verification that passes ends it.",
            first,
            end,
        )
        for first, end, (weight, uses) in swept([*(use.day for use in used), after], says)
    ]


@dataclass(frozen=True, slots=True)
class SporeTestDone:
    """A spore test as judged, by its result where it has one. `control`: whether one was run at all; `read_on`: the day on
    which its result was known (None: it is not read yet)."""

    id: str
    day: date
    unit: str
    unit_id: str
    result: SporeResult
    control: bool
    read_on: date | None

    @property
    def known_on(self) -> date:
        return self.read_on or date.max


def spore_tests_unproved(tests: Iterable[SporeTestDone]) -> list[Finding]:
    """A test without a control, or with one that proves nothing: to be repeated, a note once a good one followed (W-19)."""
    in_order = sorted(tests, key=lambda test: (test.unit_id, test.day))
    invalid = (test for test in in_order if test.result is SporeResult.INVALID)
    return [part for test in invalid for part in _unproved(test, _followed(test, in_order))]


UNREAD_DAYS = 7
"""A test that was put in is read within this many days (incubation takes one to seven; common practice, from memory)."""


def spore_tests_unread(tests: Iterable[SporeTestDone]) -> list[Finding]:
    """A test that was put in and not read in time, until it is: no result is no pass (W-19)."""
    return [_unread(one, one.day + (UNREAD_DAYS + 1) * DAY) for one in tests if _was_late(one)]


def _was_late(test: SporeTestDone) -> bool:
    return test.read_on is None or test.day + (UNREAD_DAYS + 1) * DAY < test.read_on


def _unread(test: SporeTestDone, since: date) -> Finding:
    return Finding(
        finding_key("spore test unread", test.id),
        Weight.FIX,
        "spore test unread",
        test.unit,
        (test.id,),
        since,
        f"{test.unit}: the spore test put in on {day_words(test.day)} has no result, and is no pass.",
        "Its result ends it.",
        since,
        test.read_on,
    )


def _followed(test: SporeTestDone, tests: Iterable[SporeTestDone]) -> date | None:
    """The day on which a good one from then on, of the same steriliser, was known, and the test itself."""
    good = (t for t in tests if t.unit_id == test.unit_id and t.day >= test.day and t.result is SporeResult.PASS)
    return min((max(t.known_on, test.known_on) for t in good), default=None)


def _unproved(test: SporeTestDone, followed: date | None) -> list[Finding]:
    since = test.known_on
    why = "its control did not grow or was of another lot" if test.control else "it had no control"
    says = f"{test.unit}: the spore test of {day_words(test.day)} proves nothing, because {why}."

    def part(weight: Weight, ends: str, first: date, after: date | None = None) -> Finding:
        key, code = finding_key("spore test unproved", test.id), "spore test unproved"
        return Finding(key, weight, code, test.unit, (test.id,), since, says, ends, first, after)

    repeat = "A passed test with a control of the same lot ends it."
    found = [] if followed == since else [part(Weight.FIX, repeat, since, followed)]
    return [*found, part(Weight.NOTE, "A corrective action closes it.", followed)] if followed else found


@dataclass(frozen=True, slots=True)
class ToolMounted:
    """A milling tool at its position with its life: of `full` units in all, `used` after each day that used some, in order,
    the day of its mounting first. `removed`: the first day it was not there any more (None: it is)."""

    id: str
    label: str
    unit: str
    full: int
    used: Sequence[tuple[date, int]]
    removed: date | None = None


def tools_past_life(tools: Iterable[ToolMounted]) -> list[Finding]:
    """A mounted tool that milled more than its life, from the day that did it until it is taken out (Z-11)."""
    return [
        _past_life(tool, day)
        for tool in tools
        if (day := next((day for day, used in tool.used if used > tool.full), None))
        and (tool.removed is None or day < tool.removed)
    ]


def _past_life(tool: ToolMounted, day: date) -> Finding:
    return Finding(
        finding_key("tool past life", tool.id),
        Weight.FIX,
        "tool past life",
        tool.label,
        (tool.id,),
        day,
        f"{tool.label} in {tool.unit}: past its life of {counted(tool.full, 'unit')} since {day_words(day)}.",
        "Taking the tool out ends it.",
        day,
        tool.removed,
    )
