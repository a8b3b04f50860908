"""Use read from a file: a preview that names every fault by line and column, then all of it or nothing.

The same file twice records once: a line's fact takes its id from the site and what the line says.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from uuid import UUID, uuid5

from django.db import transaction

from clinic.actions.upkeep import MOST_UNITS, log_use, unit_refusals
from clinic.csv_rows import CellFault, FileColumn, FileRow, day_in, read_rows
from clinic.models import Equipment, Person, Site, Use
from clinic.rules.tools import MATERIALS, WAYS

NAMESPACE = UUID("b5a8cf0a-52a7-4b7e-9a43-6f1f0a8f5d11")
COLUMNS = (
    FileColumn("day", required=True, is_day=True),
    FileColumn("unit", required=True, most=80),
    FileColumn("units", required=True, most=6),
    FileColumn("material", most=40, may_lack=True),
    FileColumn("way", most=10, may_lack=True),
)


@dataclass(frozen=True, slots=True)
class UseLine:
    """One line, ready to record. `known`: recorded by an earlier import."""

    id: UUID
    day: date
    unit: Equipment
    units: int
    material: str
    wet: bool | None
    known: bool = False


@dataclass(frozen=True, slots=True)
class UsePreview:
    lines: Sequence[UseLine]
    faults: Sequence[CellFault]

    @property
    def new(self) -> list[UseLine]:
        return [line for line in self.lines if not line.known]


def preview(site: Site, text: str) -> UsePreview:
    """What the file would record, or everything that is wrong with it. Two queries."""
    rows, faults = read_rows(text, COLUMNS)
    units = {unit.label.casefold(): unit for unit in Equipment.objects.filter(site=site).select_related("site")}
    found = [*faults, *(fault for row in rows for fault in line_faults(site, row, units))]
    if found:
        return UsePreview([], sorted(found))
    lines = list(lines_of(site, rows, units))
    known = set(Use.objects.filter(pk__in=[line.id for line in lines]).values_list("pk", flat=True))
    return UsePreview([with_known(line, known) for line in lines], [])


def with_known(line: UseLine, known: set[UUID]) -> UseLine:
    return UseLine(line.id, line.day, line.unit, line.units, line.material, line.wet, line.id in known)


def line_faults(site: Site, row: FileRow, units: Mapping[str, Equipment]) -> Iterator[CellFault]:
    unit, day = units.get(row["unit"].casefold()), day_in(row["day"])
    if row["unit"] and unit is None:
        yield CellFault(
            row.line, "unit", f"No unit here is called “{row['unit']}”.", "Write it as the list of equipment does."
        )
    if unit and day:
        for refusal in unit_refusals(unit, site, day):
            yield CellFault(row.line, refusal.field, refusal.says, refusal.supply)
    if row["units"] and not (row["units"].isdecimal() and 1 <= int(row["units"]) <= MOST_UNITS):
        yield CellFault(
            row.line, "units", f"“{row['units']}” is not a count.", f"Write a whole number from 1 to {MOST_UNITS:,}."
        )
    if row["material"] and row["material"] not in MATERIALS:
        yield CellFault(
            row.line, "material", f"“{row['material']}” is not known.", f"Write one of: {', '.join(MATERIALS)}."
        )
    if row["way"] not in WAYS:
        yield CellFault(row.line, "way", f"“{row['way']}” is not known.", "Write wet or dry, or leave it empty.")


def lines_of(site: Site, rows: Sequence[FileRow], units: Mapping[str, Equipment]) -> Iterator[UseLine]:
    """Two lines that say the same are two uses: the second has an id of its own."""
    seen: Counter[str] = Counter()
    for row in rows:
        unit, day = units[row["unit"].casefold()], day_in(row["day"])
        said = f"{site.pk}|{day}|{unit.pk}|{int(row['units'])}|{row['material']}|{row['way']}"
        seen[said] += 1
        if day:
            yield UseLine(
                uuid5(NAMESPACE, f"{said}|{seen[said]}"),
                day,
                unit,
                int(row["units"]),
                row["material"],
                WAYS[row["way"]],
            )


@transaction.atomic
def record_lines(site: Site, lines: Sequence[UseLine], *, by: Person) -> int:
    """All of them or nothing; those already recorded stay as they are. Returns how many were new."""
    new = [line for line in lines if not line.known]
    for line in new:
        log_use(line.unit, line.units, site=site, by=by, day=line.day, material=line.material, wet=line.wet, id=line.id)
    return len(new)
