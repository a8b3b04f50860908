"""Carried-over records as a file: what was mastered before the register started, read with every fault and written back."""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import date

from clinic.csv_rows import CellFault, FileColumn, FileRow, day_in, read_rows, written
from clinic.models import Person, Site
from training.actions.grants import PaperRecord, carry_over_refusals
from training.models import CarriedOver, Procedure
from training.rules.grants import spread

COLUMNS = (
    FileColumn("staff_number", required=True, most=30),
    FileColumn("procedure", required=True, most=10),
    FileColumn("original_day", required=True, is_day=True),
    FileColumn("by_whom", required=True, most=160),
    FileColumn("paper_place", required=True),
    FileColumn("valid_until", is_day=True, may_lack=True),
)


@dataclass(frozen=True, slots=True)
class CarriedLine:
    """One line that could be carried over. `is_spread`: its last day was put by the register; `is_known`: here already."""

    line: int
    paper: PaperRecord
    is_spread: bool
    is_known: bool


@dataclass(frozen=True, slots=True)
class CarriedFile:
    """What a file would do. With one fault it does nothing."""

    lines: list[CarriedLine] = field(default_factory=list)
    faults: list[CellFault] = field(default_factory=list)

    @property
    def papers(self) -> list[PaperRecord]:
        """What would be recorded."""
        return [line.paper for line in self.lines if not line.is_known]

    @property
    def known(self) -> int:
        return sum(line.is_known for line in self.lines)


@dataclass(frozen=True, slots=True)
class CarriedSoFar:
    """Who and what the organisation has, and what is carried over already: (person, procedure, day on the paper)."""

    site: Site
    people: dict[str, Person]
    procedures: dict[str, Procedure]
    carried: set[tuple[object, int, date]]


def known_at(site: Site) -> CarriedSoFar:
    people = Person.objects.ever_at_site(site).exclude(staff_number="")
    rows = CarriedOver.objects.live().filter(person__organisation=site.organisation_id)
    return CarriedSoFar(
        site=site,
        people={person.staff_number: person for person in people},
        procedures={row.code: row for row in Procedure.objects.of(site.organisation)},
        carried=set(rows.values_list("person_id", "procedure_id", "original_day")),
    )


def read_carried(text: str, site: Site) -> CarriedFile:
    """Every line with every fault of it. A line without a last day gets one, spread so that not everybody is due at once."""
    rows, faults = read_rows(text, COLUMNS)
    known, wrong = known_at(site), {fault.line for fault in faults}
    faults += [fault for row in rows if row.line not in wrong for fault in unknown(row, known)]
    wrong = {fault.line for fault in faults}
    lines = spread_out([line_of(row, known) for row in rows if row.line not in wrong], site)
    faults += [fault for line in lines if not line.is_known for fault in refused(line, site)]
    return CarriedFile(lines, sorted([*faults, *twice(lines)]))


def unknown(row: FileRow, known: CarriedSoFar) -> Iterator[CellFault]:
    if row["staff_number"] not in known.people:
        yield CellFault(
            row.line,
            "staff_number",
            f"Nobody here has the number {row['staff_number']}.",
            "Enter the person first, or correct the number.",
        )
    if row["procedure"].upper() not in known.procedures:
        yield CellFault(
            row.line, "procedure", f"There is no procedure {row['procedure']}.", "Write its code, such as P03."
        )


def line_of(row: FileRow, known: CarriedSoFar) -> CarriedLine:
    person, procedure = known.people[row["staff_number"]], known.procedures[row["procedure"].upper()]
    original, until = day_in(row["original_day"]) or date.max, day_in(row["valid_until"])
    paper = PaperRecord(
        person, procedure, original, row["by_whom"], row["paper_place"], until or known.site.register_start
    )
    return CarriedLine(row.line, paper, until is None, (person.pk, procedure.pk, original) in known.carried)


def spread_out(lines: list[CarriedLine], site: Site) -> list[CarriedLine]:
    """Last days for the lines without one, evenly in the order of the file."""
    open_lines = [line for line in lines if line.is_spread and not line.is_known]
    days = {line.line: spread(site.register_start, index, len(open_lines)) for index, line in enumerate(open_lines)}
    return [
        replace(line, paper=replace(line.paper, valid_until=days.get(line.line, line.paper.valid_until)))
        for line in lines
    ]


def refused(line: CarriedLine, site: Site) -> Iterator[CellFault]:
    """The very reasons for which a single record would be refused."""
    for refusal in carry_over_refusals(line.paper, site):
        yield CellFault(line.line, refusal.field, refusal.says, refusal.supply)


def twice(lines: list[CarriedLine]) -> Iterator[CellFault]:
    seen: dict[tuple[object, int], int] = {}
    for line in lines:
        key = (line.paper.person.pk, line.paper.procedure.pk)
        if key in seen:
            yield CellFault(line.line, "procedure", f"Line {seen[key]} carries the same over.", "Keep one of them.")
        seen.setdefault(key, line.line)


def written_carried(site: Site) -> str:
    """The file of what was carried over at the site, as `read_carried` takes it."""
    rows = CarriedOver.objects.live().filter(site=site).select_related("person", "procedure")
    return written(COLUMNS, (cells(row) for row in rows.order_by("person__staff_number", "procedure__code", "pk")))


def cells(row: CarriedOver) -> dict[str, str]:
    return {
        "staff_number": row.person.staff_number,
        "procedure": row.procedure.code,
        "original_day": row.original_day.isoformat(),
        "by_whom": row.by_whom,
        "paper_place": row.paper_place,
        "valid_until": row.valid_until.isoformat(),
    }
