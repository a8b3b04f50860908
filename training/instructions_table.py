"""One check against the maker's instructions for many procedures of the same manual and edition."""

from collections.abc import Sequence
from functools import cached_property
from types import MappingProxyType
from uuid import UUID, uuid5

from clinic.rules.words import counted
from clinic.tables import Table, TableColumn, TableLine, Values, column, day_text, filled_up
from training.actions.versions import check_instructions
from training.forms.grants import CodesField
from training.forms.procedures import InstructionsForm
from training.models import InstructionsCheck, Procedure, Version


class InstructionsTable(Table):
    """A line for each manual in an edition, with the procedures whose versions were held against it."""

    title = "Instructions checks"
    lead = (
        "Name each manual once, and tick every procedure whose version you held against it, step by step. Until then a "
        "procedure is taught, not signed. You say so in your own name, and sign it."
    )
    blank = 2
    in_blocks = True
    refusals_at = MappingProxyType({"version": "procedure"})

    def asks(self) -> tuple[TableColumn, ...]:
        today = day_text(self.here.today)
        codes = tuple((code, f"{code} ✓" if self.checks_of(code) else code) for code in self.versions)
        return (
            TableColumn("procedure", CodesField("Procedures"), "Tick the procedures that it covers.", several=True, codes=codes, example="all"),
            column("title", InstructionsForm, example="Instructions for use, milling unit"),
            column("edition", InstructionsForm, example="3rd edition, 2025"),
            column("day", InstructionsForm, shared=True, first=today, example=today),
        )  # fmt: skip

    @cached_property
    def versions(self) -> dict[str, Version]:
        """Those in force on the first morning, by code."""
        day = max(self.here.today, self.here.site.register_start)
        rows = Version.objects.live().in_force(day).filter(procedure__organisation=self.here.site.organisation_id)
        rows = rows.filter(procedure__kind=Procedure.Kind.PRACTICE).select_related("procedure")
        return {row.procedure.code: row for row in rows.order_by("procedure__code")}

    @cached_property
    def checks(self) -> list[InstructionsCheck]:
        return list(InstructionsCheck.objects.live().filter(version__in=[row.pk for row in self.versions.values()]))

    def checks_of(self, code: str) -> list[InstructionsCheck]:
        return [row for row in self.checks if row.version_id == self.versions[code].pk]

    def lines(self, typed: Sequence[TableLine]) -> list[TableLine]:
        said = [line for line in typed if line["procedure"] or line["title"] or line["edition"]]
        return filled_up(said, max(1, self.blank - len(said)))

    def asks_more(self) -> bool:
        return any(not self.checks_of(code) for code in self.versions)

    def sample(self) -> list[TableLine]:
        return [TableLine({each.name: each.example for each in self.columns})]

    def open_ones(self, values: Values) -> list[str]:
        """Those that were not held against this edition by whoever says so."""
        mine = {
            row.version_id for row in self.checks
            if row.checked_by_id == self.here.by.pk and (row.title, row.edition) == (values["title"], values["edition"])
        }  # fmt: skip
        return [code for code in values["procedure"] if self.versions[code].pk not in mine]

    def is_known(self, values: Values) -> bool:
        return not self.open_ones(values)

    def record(self, values: Values, id: UUID) -> None:
        for code in self.open_ones(values):
            check_instructions(
                self.versions[code], values["title"], values["edition"], on=values["day"], site=self.here.site,
                by=self.here.by, proved=self.proof, id=uuid5(id, code),
            )  # fmt: skip

    def done(self, recorded: int) -> str:
        return f"{counted(recorded, 'manual')} recorded, each procedure with a signature of its own."
