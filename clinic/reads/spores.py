"""Spore tests of a site's sterilisers, as the rules judge them."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from clinic.models import Equipment, Site, UpkeepEntry
from clinic.rules.findings_checks import SporeTestDone
from clinic.rules.spores import SporeTest, Status, judged, status_after

TASK = "U10"


def spore_rows(site: Site) -> list[UpkeepEntry]:
    """Every spore test that stands, in order."""
    rows = UpkeepEntry.objects.live().filter(site=site, task__code=TASK)
    return list(rows.in_order().select_related("equipment", "done_by", "task"))


def spore_test(row: UpkeepEntry) -> SporeTest:
    """The readings of the entry in the words of the rules. One lot is written down as yes or no."""
    read: dict[str, Any] = row.readings
    control = {"growth": True, "no growth": False}.get(read.get("control", ""))
    same = read.get("same_lot") == "yes"
    return SporeTest(row.happened_on, read.get("test") == "growth", control, "one", "one" if same else "another")


def done(rows: Iterable[UpkeepEntry]) -> list[SporeTestDone]:
    return [
        SporeTestDone(
            str(row.pk),
            row.happened_on,
            row.equipment.label,
            str(row.equipment_id),
            judged(test),
            test.control_grew is not None,
        )
        for row in rows
        for test in [spore_test(row)]
    ]


def status_of(unit: Equipment, rows: Iterable[UpkeepEntry], today: date) -> Status:
    """Where a steriliser stands after its tests up to the day."""
    return status_after(spore_test(row) for row in rows if row.equipment_id == unit.pk and row.happened_on <= today)
