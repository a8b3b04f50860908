"""Spore tests of a steriliser: what a result means, and what may be used until the next one.

The steriliser maker's instructions and local rules come first. Source: CDC 2003 as read in rows W-16 to W-19.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import date
from enum import StrEnum
from typing import TypeAlias

from clinic.rules.words import counted, day_words

CLEAN_RUNS = 3
"""Passes in a row, chamber empty, after a repair (W-18, from memory)."""


class SporeResult(StrEnum):
    """What one test means."""

    PASS = "pass"
    FAIL = "fail"
    INVALID = "invalid"
    WAITING = "put in, read later"


@dataclass(frozen=True, slots=True)
class SporeTest:
    """One biological indicator run through the steriliser, and its unprocessed control.

    `day`: when it was put in; `read_on`: when it was read, where that was later. `test_grew` is None until it is read: no
    result is no pass. `control_grew` is None where there was no control. `readings_fine`: mechanical and chemical readings of the cycle;
    `implant`: a load since the last pass held an implantable device; `empty_chamber`: the challenge after a repair.
    """

    day: date
    test_grew: bool | None
    control_grew: bool | None
    test_lot: str
    control_lot: str
    readings_fine: bool = True
    implant: bool = False
    empty_chamber: bool = False
    read_on: date | None = None

    @property
    def known_on(self) -> date:
        """The day its result was known."""
        return self.read_on or self.day


@dataclass(frozen=True, slots=True)
class Repaired:
    """The steriliser was inspected and repaired."""

    day: date


@dataclass(frozen=True, slots=True)
class RecallDone:
    """Every pack since the last pass was found and reprocessed, or accounted for."""

    day: date


Event: TypeAlias = SporeTest | Repaired | RecallDone


def result_of(test_grew: bool, control_grew: bool | None, same_lot: bool = True) -> SporeResult:
    """Growth in the test is a fail whatever the control; a pass needs growth in a control of the same lot.

    (−,+) pass, (+,+) fail, (+,−) fail, (−,−) invalid (W-19, from memory and D); another lot or no control is invalid
    (W-16).
    """
    if test_grew:
        return SporeResult.FAIL
    return SporeResult.PASS if control_grew and same_lot else SporeResult.INVALID


def judged(test: SporeTest) -> SporeResult:
    """The result of a test as recorded; a lot that was not written down matches none (W-16, W-19)."""
    if test.test_grew is None:
        return SporeResult.WAITING
    return result_of(test.test_grew, test.control_grew, bool(test.test_lot) and test.test_lot == test.control_lot)


def comes_with_its_result(test: SporeTest) -> bool:
    """Whether the test takes its place in the story on the day it was read, and not when it was put in (D, the safe side).

    A pass speaks for the run it was put into; anything else is answered only by what was put in after it was known.
    """
    return judged(test) in (SporeResult.FAIL, SporeResult.INVALID)


@dataclass(frozen=True, slots=True)
class Monitors:
    """What a load's monitors showed: mechanical readings (time, temperature, pressure), the chemical indicator inside
    each pack and, where that cannot be seen, the one outside."""

    readings_fine: bool
    inside_changed: bool
    inside_visible: bool
    outside_changed: bool


def load_refusals(load: Monitors) -> dict[str, str]:
    """Everything that keeps a load from being released, by the monitor; empty when nothing does (W-17)."""
    refusals = {} if load.readings_fine else {"readings_fine": "The mechanical readings are missing or out of range."}
    if not load.inside_changed:
        refusals["inside_changed"] = "The chemical indicator inside a pack is missing or did not change."
    if not load.inside_visible and not load.outside_changed:
        says = "The inside indicator cannot be seen, and the one outside is missing or did not change."
        refusals["outside_changed"] = says
    return refusals


class SporeState(StrEnum):
    """Where a steriliser stands."""

    IN_USE = "in use"
    REPEAT = "repeat the test"
    OUT = "out of service"
    REPAIR = "repair"

    @property
    def is_usable(self) -> bool:
        """Whether it may run loads for patients."""
        return self is SporeState.IN_USE


@dataclass(frozen=True, slots=True)
class Status:
    """A steriliser after some events.

    `hold`: unused packs since `since` stay where they are; `recall`: they are called back and reprocessed, which ends
    only when it is recorded as done. `since`: the last good test before the first failed one, which later passes do not
    move (W-18); None where no pass is on record. `repaired` and `clean_runs` count only in repair. `waiting`: the days
    of tests that were put in and not read yet; they release nothing and heal nothing. `passes`: the days of all passes.
    """

    state: SporeState = SporeState.IN_USE
    last_pass: date | None = None
    hold: bool = False
    recall: bool = False
    repaired: bool = False
    clean_runs: int = 0
    since: date | None = None
    waiting: tuple[date, ...] = ()
    passes: tuple[date, ...] = field(default=(), compare=False)


def following(status: Status, event: Event) -> Status:
    """The steriliser one event on (W-18).

    In use → positive → out of service and hold → repeat negative with fine readings → in use. Repeat positive → repair
    and recall → repaired and three passes in a row with an empty chamber → in use.
    """
    if isinstance(event, RecallDone):
        return replace(status, recall=False, since=status.since if status.hold else None)
    if isinstance(event, Repaired):
        return replace(status, repaired=True, clean_runs=0) if status.state is SporeState.REPAIR else status
    if judged(event) is SporeResult.WAITING:
        return replace(status, waiting=(*status.waiting, event.day))
    if status.state is SporeState.REPAIR:
        return _challenged(status, event)
    return {SporeResult.PASS: _passed, SporeResult.FAIL: _failed, SporeResult.INVALID: _invalid}[judged(event)](
        status, event
    )


def _passed(status: Status, test: SporeTest) -> Status:
    if status.state is SporeState.OUT and not test.readings_fine:
        return status
    return _back(status, test)


def _back(status: Status, test: SporeTest) -> Status:
    """In use by this pass. A recall that is not done goes on, as far back as it reached."""
    passes = (*status.passes, test.day)
    since = status.since if status.recall else None
    return Status(last_pass=test.day, recall=status.recall, since=since, waiting=status.waiting, passes=passes)


def _last_good_before(status: Status, test: SporeTest) -> date | None:
    """The newest pass before the test was put in. One of the same day comes before it only where the test was read that
    day too: read later, nobody knows which was first, and the packs of that day are in doubt."""
    read_at_once = test.known_on == test.day
    return max((day for day in status.passes if day < test.day or (read_at_once and day == test.day)), default=None)


def _further_back(status: Status, test: SporeTest) -> date | None:
    """Where the packs in doubt begin: the earlier of this test's last good one and what is in doubt already."""
    found = _last_good_before(status, test)
    if not (status.hold or status.recall):
        return found
    return min(found, status.since) if found and status.since else None


def _failed(status: Status, test: SporeTest) -> Status:
    """The first positive holds; a second, a failed reading or an implant load recalls at once (cautious reading)."""
    if status.state is SporeState.OUT:
        # out of service it is held already
        return replace(status, state=SporeState.REPAIR, recall=True, since=_further_back(status, test))
    recall = status.recall or test.implant or not test.readings_fine
    return replace(status, state=SporeState.OUT, hold=True, recall=recall, since=_further_back(status, test))


def _invalid(status: Status, test: SporeTest) -> Status:
    """Nothing is released until the test was repeated; out of service stays out."""
    if status.state is SporeState.OUT:
        return status
    return replace(status, state=SporeState.REPEAT, hold=True, since=_further_back(status, test))


def _challenged(status: Status, test: SporeTest) -> Status:
    """A run in repair counts only after the repair, with an empty chamber and fine readings; others reset the count."""
    if not status.repaired:
        return status
    counts = judged(test) is SporeResult.PASS and test.empty_chamber and test.readings_fine
    runs = status.clean_runs + 1 if counts else 0
    if runs == CLEAN_RUNS:
        return _back(status, test)
    return replace(status, clean_runs=runs)


@dataclass(frozen=True, slots=True)
class SteriliserStory:
    """A steriliser after some events, with how it came there.

    `out_since`: the day of the test that took it out the last time; `back_on`: the day since which it is in use again;
    `passes`: how many passes in a row counted since it was out.
    """

    status: Status = Status()
    out_since: date | None = None
    back_on: date | None = None
    passes: int = 0


def story_after(events: Iterable[Event]) -> SteriliserStory:
    """The steriliser after the events, in their order (W-18)."""
    story = SteriliserStory()
    for event in events:
        story = _told(story, event)
    return story


def _told(story: SteriliserStory, event: Event) -> SteriliserStory:
    before, after = story.status, following(story.status, event)
    if before.state.is_usable and not after.state.is_usable:
        return SteriliserStory(after, out_since=known_on(event))
    if before.state.is_usable or not isinstance(event, SporeTest):
        return replace(story, status=after)
    if after.state.is_usable:
        return SteriliserStory(
            after, story.out_since, event.known_on, CLEAN_RUNS if before.state is SporeState.REPAIR else 1
        )
    return replace(story, status=after, passes=after.clean_runs)


def known_on(event: Event) -> date:
    return event.known_on if isinstance(event, SporeTest) else event.day


RULE: dict[SporeState, str] = {
    SporeState.IN_USE: "A spore test with a control of the same lot at least every week, and with every load that holds an implant.",
    SporeState.REPEAT: "A test without a control of the same lot that grew proves nothing: nothing is released until it was repeated.",
    SporeState.OUT: "Growth in the test is a fail, whatever the control shows. It comes back after a repeat that passes, with every reading right.",
    SporeState.REPAIR: "After a second fail it is inspected and repaired, and comes back after three passes in a row with the chamber empty.",
}  # fmt: skip
"""The rule that holds in each state (CDC 2003; the three passes from memory; W-16, W-18, W-19)."""


def story_sentence(story: SteriliserStory) -> str:
    """Where it stands and since when, and what is still to be read."""
    waiting = story.status.waiting
    unread = f" The test put in on {day_words(waiting[-1])} is not read yet, and counts for nothing." if waiting else ""
    return f"{_stands(story)}{unread}"


def _stands(story: SteriliserStory) -> str:
    status, since = story.status, _since(story.out_since)
    if status.state is SporeState.REPEAT:
        return f"No load is released{since}: the test proves nothing and is to be repeated."
    if status.state is SporeState.OUT:
        return f"Out of service{since}: a spore test failed."
    if status.state is SporeState.REPAIR:
        runs = f"{story.passes} of {CLEAN_RUNS} passes with an empty chamber" if status.repaired else "not repaired yet"
        return f"Out of service{since}: a second spore test failed; {runs}."
    if status.last_pass is None:
        return "In use; no spore test is logged yet."
    if story.back_on is None:
        return f"In use; last pass {day_words(status.last_pass)}."
    came = f"after {counted(story.passes, 'pass', 'passes')} (out{since})."
    if status.last_pass == story.back_on:
        return f"In use again{_since(story.back_on)}, {came}"
    return f"In use; last pass {day_words(status.last_pass)}. It came back on {day_words(story.back_on)}, {came}"


def _since(day: date | None) -> str:
    return f" since {day_words(day)}" if day else ""


def what_to_do(status: Status) -> list[str]:
    """What is asked next, in plain sentences; empty where the steriliser is in use and nothing is open."""
    read = [f"Read the test put in on {day_words(day)}: nothing is released by it before." for day in status.waiting]
    steps = {
        SporeState.IN_USE: [],
        SporeState.REPEAT: ["Repeat the spore test with a control of the same lot before anything is released."],
        SporeState.OUT: [
            "Take the steriliser out of service.",
            "Review how it was loaded and run.",
            "Repeat the test at once with mechanical, chemical and biological monitors.",
        ],
        SporeState.REPAIR: [_repair_step(status)],
    }[status.state]
    since = f"since the pass of {day_words(status.since)}" if status.since else "since the last pass on paper"
    hold = [f"Hold every unused pack {since}."] if status.hold and not status.recall else []
    return steps + read + hold + ([f"Recall and reprocess every pack {since}."] if status.recall else [])


def _repair_step(status: Status) -> str:
    if not status.repaired:
        return "Do not use it until it has been inspected and repaired."
    left = CLEAN_RUNS - status.clean_runs
    return f"Challenge it with the chamber empty: {counted(left, 'more pass', 'more passes')} in a row."
