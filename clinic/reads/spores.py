"""Spore tests of a site's sterilisers, as the rules judge them, and where each steriliser stands."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any
from uuid import UUID

from clinic.models import Equipment, Fact, Site, SteriliserEvent, UpkeepEntry, UpkeepTask
from clinic.reads.stops import stops_of
from clinic.rules.cultures import noted_beside
from clinic.rules.findings_checks import SporeTestDone
from clinic.rules.roles import TaskRole
from clinic.rules.spores import (
    RULE,
    Event,
    RecallDone,
    Repaired,
    SporeResult,
    SporeTest,
    Status,
    SteriliserStory,
    comes_with_its_result,
    judged,
    story_after,
    story_sentence,
    what_to_do,
)
from clinic.rules.upkeep_facts import Pause


@dataclass(frozen=True, slots=True)
class TestSaid:
    """One spore test with what it means."""

    entry: UpkeepEntry
    result: SporeResult
    why: str
    read_on: date | None = None
    beside: str = ""  # who read it, and how it was kept warm


@dataclass(frozen=True, slots=True)
class SteriliserSaid:
    """A steriliser by its spore tests. `stopped`: the stop that holds today, until somebody returns the unit; `task`: the
    code by which the next test is logged."""

    unit: Equipment
    story: SteriliserStory
    next_acts: Sequence[str]
    tests: Sequence[TestSaid]
    stopped: Pause | None = None
    task: str = ""

    @property
    def status(self) -> Status:
        return self.story.status

    @property
    def is_usable(self) -> bool:
        """Its tests are good and nobody keeps it out of service."""
        return self.status.state.is_usable and self.stopped is None

    @property
    def waits_for_return(self) -> bool:
        return self.status.state.is_usable and self.stopped is not None

    @property
    def says(self) -> str:
        if self.waits_for_return:
            return "Out of service until somebody returns it; its spore tests allow it."
        return story_sentence(self.story)

    @property
    def rule(self) -> str:
        return RULE[self.status.state]


def spore_rows(site: Site, units: Collection[str] | None = None, known_by: datetime | None = None) -> list[UpkeepEntry]:
    """Every spore test that stands, in order; of these units only where they are named, as known at an instant."""
    rows = (
        UpkeepEntry.objects.live(known_by)
        .filter(site=site, task__stands_for=TaskRole.SPORE_TEST)
        .with_results(known_by)
    )
    rows = rows if units is None else rows.filter(equipment__in=[UUID(unit) for unit in units])
    return list(rows.in_order().select_related("equipment", "done_by", "task"))


GREW = {"growth": True, "no growth": False}


def spore_test(row: UpkeepEntry, empty: bool = False, today: date | None = None) -> SporeTest:
    """The readings of the entry in the words of the rules. One lot is written down as yes or no. What was read after
    `today` is not known yet."""
    result = row.result
    known = result if result and (today is None or result.happened_on <= today) else None
    read: dict[str, Any] = row.readings | (known.readings if known else {})
    control = GREW.get(read.get("control", ""))
    lot = "one" if read.get("same_lot") == "yes" else "another"
    return SporeTest(
        row.happened_on, GREW.get(read.get("test", "")), control, "one", lot, empty_chamber=empty,
        readings_fine=read.get("run_readings") != "no", implant=read.get("implant") == "yes",
        read_on=known.happened_on if known else None,
    )  # fmt: skip


def done(rows: Iterable[UpkeepEntry]) -> list[SporeTestDone]:
    """Each by its result, where it has one, with the day on which that was known."""
    judged_rows = [(row, spore_test(row)) for row in rows]
    return [
        SporeTestDone(
            str(row.pk),
            test.day,
            row.equipment.label,
            str(row.equipment_id),
            judged(test),
            test.control_grew is not None,
            None if judged(test) is SporeResult.WAITING else test.known_on,
        )
        for row, test in judged_rows
    ]


def sterilisers(site: Site, today: date) -> list[SteriliserSaid]:
    """Each steriliser in service with its tests, newest first. A fixed number of queries."""
    units = Equipment.objects.filter(site=site, kind="steriliser").in_service_on(today)
    rows, events = spore_rows(site), list(SteriliserEvent.objects.live().filter(site=site).in_order())
    stops = stops_of(site)
    held = {pk: next((stop for stop in pauses if stop.holds_on(today)), None) for pk, pauses in stops.items()}
    task = UpkeepTask.objects.code_of(TaskRole.SPORE_TEST)
    said = [steriliser_said(unit, rows, events, today) for unit in units]
    return [replace(one, stopped=held.get(one.unit.pk), task=task) for one in said]


def steriliser_said(
    unit: Equipment, rows: Sequence[UpkeepEntry], events: Sequence[SteriliserEvent], today: date
) -> SteriliserSaid:
    own = [row for row in rows if row.equipment_id == unit.pk and row.happened_on <= today]
    story = story_after(
        in_turn(own, [event for event in events if event.equipment_id == unit.pk and event.happened_on <= today], today)
    )
    tests = [said_of(row, spore_test(row, today=today)) for row in own[::-1]]
    return SteriliserSaid(unit, story, what_to_do(story.status), tests)


def said_of(row: UpkeepEntry, test: SporeTest) -> TestSaid:
    return TestSaid(row, judged(test), why(test), test.read_on, beside(row, test))


def beside(row: UpkeepEntry, test: SporeTest) -> str:
    """Who read it, and how it was kept warm; nothing before it is read."""
    if judged(test) is SporeResult.WAITING:
        return ""
    result = row.result if test.read_on else None
    return noted_beside(row.readings | (result.readings if result else {}), str((result or row).done_by))


def in_turn(rows: Sequence[UpkeepEntry], events: Sequence[SteriliserEvent], today: date | None = None) -> list[Event]:
    """Tests and what happened between them, in the order of day and recording; a fail on the day it was read."""
    empty = {event.entry_id for event in events if event.what == SteriliserEvent.What.EMPTY}
    tests = [(row, spore_test(row, row.pk in empty, today)) for row in rows]
    made: list[tuple[Any, Event]] = [(place_of(row, test), test) for row, test in tests]
    for event in events:
        if event.what == SteriliserEvent.What.REPAIRED:
            made.append((place(event), Repaired(event.happened_on)))
        elif event.what == SteriliserEvent.What.RECALLED:
            made.append((place(event), RecallDone(event.happened_on)))
    return [happened for _, happened in sorted(made, key=lambda pair: pair[0])]


def place(row: Fact) -> tuple[Any, ...]:
    return (row.happened_on, row.recorded_at)


def place_of(row: UpkeepEntry, test: SporeTest) -> tuple[Any, ...]:
    result = row.result
    return place(result if result and test.read_on and comes_with_its_result(test) else row)


def why(test: SporeTest) -> str:
    if test.test_grew is None:
        return "nothing is released by it until it is read"
    if test.test_grew:
        return "growth in the test, whatever the control shows"
    if test.control_grew is None:
        return "no control"
    if not test.control_grew:
        return "its control did not grow: the kit is in doubt"
    return "control grew, one lot" if test.test_lot == test.control_lot else "its control was of another lot"


def status_of(unit: Equipment, today: date) -> Status:
    """Where one steriliser stands after everything up to the day."""
    events = list(SteriliserEvent.objects.live().filter(equipment=unit).in_order())
    return steriliser_said(
        unit, [row for row in spore_rows(unit.site) if row.equipment_id == unit.pk], events, today
    ).status
