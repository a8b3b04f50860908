"""Torque drivers with their papers, and the references that they are checked by, each in one table."""

from collections.abc import Callable, Sequence
from datetime import date
from functools import cached_property
from types import MappingProxyType
from typing import Any, ClassVar
from uuid import UUID

from django import forms

from clinic.actions.drivers import write_driver, write_reference
from clinic.forms.drivers import DriverForm, ReferenceForm
from clinic.models import DriverDetails, Equipment, ReferenceDetails
from clinic.record import Refusal, Refused
from clinic.rules.torque_units import Unit
from clinic.rules.words import counted
from clinic.tables import Table, TableColumn, TableLine, Values, column, day_text, laid_over, words_column


class PaperTable(Table):
    """A line for each unit of a kind that stands on papers: what these say, from a day."""

    of: ClassVar[str]
    form: ClassVar[type[forms.Form]]
    papers_of: ClassVar[type[DriverDetails] | type[ReferenceDetails]]
    write: ClassVar[Callable[..., Any]]
    in_blocks = True
    refusals_at = MappingProxyType({"equipment": "unit"})

    @cached_property
    def units(self) -> dict[str, Equipment]:
        rows = (
            Equipment.objects.filter(site=self.here.site, kind=self.of).in_service_on(self.day).select_related("site")
        )
        return {row.label.lower(): row for row in rows}

    @property
    def day(self) -> date:
        return max(self.here.today, self.here.site.register_start)

    def lines(self, typed: Sequence[TableLine]) -> list[TableLine]:
        """One for each unit of which nothing is written."""
        bare = [unit for unit in self.units.values() if self.now(unit, self.day) is None]
        known = [TableLine({"unit": unit.label}, frozenset({"unit"})) for unit in bare]
        return laid_over(known, typed, lambda line: line["unit"].lower())

    @cached_property
    def papers(self) -> list[Any]:
        return list(self.papers_of.objects.live().filter(site=self.here.site).in_order())

    def now(self, unit: Equipment, day: date) -> Any:
        """What is written about the unit on the day."""
        return next(
            (row for row in reversed(self.papers) if row.equipment_id == unit.pk and row.happened_on <= day), None
        )

    def is_known(self, values: Values) -> bool:
        unit = self.units.get(values["unit"].lower())
        now = self.now(unit, values["day"]) if unit else None
        return now is not None and all(getattr(now, name) == said for name, said in self.said(values).items())

    def said(self, values: Values) -> dict[str, Any]:
        return {name: said for name, said in values.items() if name not in ("unit", "day")}

    def record(self, values: Values, id: UUID) -> None:
        unit = self.units.get(values["unit"].lower())
        if unit is None:
            supply = f"Write one of: {', '.join(each.label for each in self.units.values())}." if self.units else ""
            raise Refused(Refusal(f"No {self.of} here is called {values['unit']}.", supply, "unit"))
        type(self).write(unit, values["day"], by=self.here.by, id=id, **self.said(values))

    def done(self, recorded: int) -> str:
        return f"What {counted(recorded, self.of)} {'is' if recorded == 1 else 'are'}, is saved."

    def unit_column(self) -> TableColumn:
        return words_column("unit", "Unit", "Name the unit.", most=80, example=f"{self.of} 1")

    def day_column(self) -> TableColumn:
        today = day_text(self.here.today)
        return column("day", self.form, label="Counts from the day (of its certificate)", shared=True, first=today, example=today)  # fmt: skip


class DriverTable(PaperTable):
    title = "Torque drivers"
    nothing = "No torque driver in service is without its papers. A new one is entered among the units."
    next_words, next_page = "Enter the units", "clinic:unit_table"
    lead = (
        "What each driver’s certificate says, in the words and figures that stand on it. There is no default torque: the "
        "maker of the unit sets it."
    )
    of, form, papers_of, write = "torque driver", DriverForm, DriverDetails, staticmethod(write_driver)

    def asks(self) -> tuple[TableColumn, ...]:
        return (
            self.unit_column(),
            column("driver_class", DriverForm, label="Class on its certificate", example="D"),
            column("seat", DriverForm, example="hex 1.3"),
            column("set_torque", DriverForm, label="Set torque, as the unit’s maker wants it", example="12"),
            column("torque_unit", DriverForm, label="In which unit", shared=True, first=USUAL, example=USUAL),
            column("most_torque", DriverForm, label="Largest torque on its certificate", example="20"),
            column("lowest_marked", DriverForm, label="Lowest mark of its scale"),
            column("target_source", DriverForm, example="Instructions of the milling unit, page 30", shared=True),
            column("declared_percent", DriverForm),
            column("paper", DriverForm, label="Which paper", shared=True, example=PAPER),
            column("paper_number", DriverForm, label="Its number", example="C-100"),
            self.day_column(),
        )


class ReferenceTable(PaperTable):
    title = "References for torque drivers"
    nothing = "No reference in service is without its papers. A new one is entered among the units."
    next_words, next_page = "Enter the units", "clinic:unit_table"
    lead = "What drivers are checked by: how right each reference is, and through which day its own check is good."
    of, form, papers_of, write = "reference driver", ReferenceForm, ReferenceDetails, staticmethod(write_reference)

    def asks(self) -> tuple[TableColumn, ...]:
        return (
            self.unit_column(),
            column("percent", ReferenceForm, example="1"),
            column("good_through", ReferenceForm, example=day_text(self.here.today)),
            column("paper", ReferenceForm, label="Which paper", shared=True, example=PAPER),
            column("paper_number", ReferenceForm, label="Its number", example="R-100"),
            column("paper_day", ReferenceForm, label="Its day", example=day_text(self.here.today)),
            self.day_column(),
        )


USUAL = Unit.NEWTON_CENTIMETRE.value
PAPER = str(DriverForm.base_fields["paper"].choices[0][0])  # type: ignore[attr-defined]
