"""Spore tests of a site's sterilisers, as the rules judge them, and where each steriliser stands."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from clinic.models import Equipment, Site, SteriliserEvent, UpkeepEntry
from clinic.rules.findings_checks import SporeTestDone
from clinic.rules.spores import Event, RecallDone, Repaired, Result, SporeTest, Status, judged, status_after, what_to_do

TASK = "U10"


@dataclass(frozen=True, slots=True)
class TestSaid:
    """One spore test with what it means."""

    entry: UpkeepEntry
    result: Result
    why: str


@dataclass(frozen=True, slots=True)
class SteriliserSaid:
    unit: Equipment
    status: Status
    next_acts: Sequence[str]
    tests: Sequence[TestSaid]


def spore_rows(site: Site) -> list[UpkeepEntry]:
    """Every spore test that stands, in order."""
    rows = UpkeepEntry.objects.live().filter(site=site, task__code=TASK)
    return list(rows.in_order().select_related("equipment", "done_by", "task"))


def spore_test(row: UpkeepEntry, empty: bool = False) -> SporeTest:
    """The readings of the entry in the words of the rules. One lot is written down as yes or no."""
    read: dict[str, Any] = row.readings
    control = {"growth": True, "no growth": False}.get(read.get("control", ""))
    lot = "one" if read.get("same_lot") == "yes" else "another"
    return SporeTest(row.happened_on, read.get("test") == "growth", control, "one", lot, empty_chamber=empty)


def done(rows: Iterable[UpkeepEntry]) -> list[SporeTestDone]:
    judged_rows = [(row, spore_test(row)) for row in rows]
    return [
        SporeTestDone(
            str(row.pk),
            test.day,
            row.equipment.label,
            str(row.equipment_id),
            judged(test),
            test.control_grew is not None,
        )
        for row, test in judged_rows
    ]


def sterilisers(site: Site, today: date) -> list[SteriliserSaid]:
    """Each steriliser in service with its tests, newest first. Three queries."""
    units = Equipment.objects.filter(site=site, kind="steriliser").in_service_on(today)
    rows, events = spore_rows(site), list(SteriliserEvent.objects.live().filter(site=site).in_order())
    return [steriliser_said(unit, rows, events, today) for unit in units]


def steriliser_said(
    unit: Equipment, rows: Sequence[UpkeepEntry], events: Sequence[SteriliserEvent], today: date
) -> SteriliserSaid:
    own = [row for row in rows if row.equipment_id == unit.pk and row.happened_on <= today]
    status = status_after(
        in_turn(own, [event for event in events if event.equipment_id == unit.pk and event.happened_on <= today])
    )
    tests = [TestSaid(row, judged(spore_test(row)), why(spore_test(row))) for row in own[::-1]]
    return SteriliserSaid(unit, status, what_to_do(status), tests)


def in_turn(rows: Sequence[UpkeepEntry], events: Sequence[SteriliserEvent]) -> list[Event]:
    """Tests and what happened between them, in the order of day and recording."""
    empty = {event.entry_id for event in events if event.what == SteriliserEvent.What.EMPTY}
    made: list[tuple[Any, Event]] = [
        ((row.happened_on, row.recorded_at), spore_test(row, row.pk in empty)) for row in rows
    ]
    for event in events:
        if event.what == SteriliserEvent.What.REPAIRED:
            made.append(((event.happened_on, event.recorded_at), Repaired(event.happened_on)))
        elif event.what == SteriliserEvent.What.RECALLED:
            made.append(((event.happened_on, event.recorded_at), RecallDone(event.happened_on)))
    return [happened for _, happened in sorted(made, key=lambda pair: pair[0])]


def why(test: SporeTest) -> str:
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
