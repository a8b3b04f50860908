"""Carried-over records of everybody in one table: each procedure a box, or all of them, with the paper it stands on."""

from collections.abc import Collection, Iterable, Sequence
from contextlib import AbstractContextManager
from datetime import date
from functools import cached_property
from types import MappingProxyType
from typing import Any
from uuid import UUID, uuid5

from django.db import transaction

from clinic.models import Person, Site
from clinic.named_people import NamedPeople
from clinic.record import Refusal, Refused
from clinic.rules.upkeep_facts import DAY
from clinic.rules.words import counted, listed
from clinic.tables import Table, TableColumn, TableLine, Values, column, day_text, laid_over, words_column
from training.actions.grants import PaperRecord, carry_over, carry_over_all
from training.forms.grants import CarryOver, CodesField
from training.models import CarriedOver, Procedure, StandingSpan
from training.rules.facts import State
from training.rules.grants import spread
from training.spans import many_facts


class CarriedTable(Table):
    """A line for each person. Several procedures in one line stand on the same paper; another paper is another line."""

    title = "Carried-over records"
    nothing = "Nobody else works here yet: enter people first."
    next_words, next_page = "Enter people", "clinic:roster_import"
    lead = (
        "Tick what each has mastered on paper from before the register. Without a last day each record gets one between 60 and "
        "180 days after the register start, so that not everybody is due at once."
    )
    in_blocks = True
    warns = "Record what will be on hold at once too"
    refusals_at = MappingProxyType({"person": "staff_number"})

    def asks(self) -> tuple[TableColumn, ...]:
        codes = tuple((code, code) for code in self.procedures)
        before = day_text(self.here.site.register_start - DAY)
        return (
            words_column("staff_number", "Person", "Write the staff number, or the whole name.", most=160),
            TableColumn("procedure", CodesField("Procedures"), "Tick what is carried over.", several=True, codes=codes, example="all"),
            column("original_day", CarryOver, shared=True, example=before),
            column("by_whom", CarryOver, shared=True, example="The lead dentist, on the paper list"),
            column("paper_place", CarryOver, shared=True, example="Blue folder in the office"),
            column("valid_until", CarryOver, optional=True, shared=True),
        )  # fmt: skip

    @cached_property
    def procedures(self) -> dict[str, Procedure]:
        return {row.code: row for row in Procedure.objects.of(self.here.site.organisation)}

    @cached_property
    def people(self) -> NamedPeople:
        return NamedPeople(list(Person.objects.ever_at_site(self.here.site).by_name()), "staff_number")

    @cached_property
    def there(self) -> dict[tuple[Any, int], CarriedOver]:
        rows = CarriedOver.objects.live().filter(person__in=self.people.people)
        return {(row.person_id, row.procedure_id): row for row in rows}

    def lines(self, typed: Sequence[TableLine]) -> list[TableLine]:
        others = [each for each in self.people.people if each != self.here.by and each.is_at_work_on(self.here.today)]
        known = [TableLine({"staff_number": self.people.called(each)}, frozenset({"staff_number"})) for each in others]
        said = [line for line in typed if any(words for name, words in line.values.items() if name != "staff_number")]
        return laid_over(known, said, lambda line: self.people.key(line["staff_number"]))

    def asks_more(self) -> bool:
        return False

    # ---------- recording ----------
    def begin(self, lines: Sequence[Values]) -> None:
        """The last days of what has none, spread evenly in the order of the table."""
        pairs = [pair for values in lines if values["valid_until"] is None for pair in self.open_pairs(values)]
        start = self.here.site.register_start
        self.spread = {pair: spread(start, index, len(pairs)) for index, pair in enumerate(pairs)}

    def open_pairs(self, values: Values) -> list[tuple[Any, int]]:
        """What the line says that is not carried over already from the same day."""
        person = self.people.find(values["staff_number"])
        if person is None:  # said when the line is recorded
            return []
        pairs = [(person.pk, self.procedures[code].pk) for code in values["procedure"]]
        return [
            pair for pair in pairs
            if pair not in self.there or self.there[pair].original_day != values["original_day"]
        ]  # fmt: skip

    def is_known(self, values: Values) -> bool:
        return self.people.find(values["staff_number"]) is not None and not self.open_pairs(values)

    def record(self, values: Values, id: UUID) -> None:
        person, open_ones = self.people.named(values["staff_number"]), self.open_pairs(values)
        found: list[Refusal] = []
        for code in values["procedure"]:
            procedure = self.procedures[code]
            pair = (person.pk, procedure.pk)
            if pair not in open_ones:
                continue
            paper = PaperRecord(
                person, procedure, values["original_day"], values["by_whom"], values["paper_place"],
                values["valid_until"] or self.spread[pair],
            )  # fmt: skip
            try:
                self.there[pair] = carry_over(paper, self.here.site, by=self.here.by, id=uuid5(id, code))
            except Refused as refused:  # all of them are said at once
                found += [Refusal(f"{code}: {each.says}", each.supply, each.field) for each in refused.refusals]
        if found:
            raise Refused(*found)

    def at_once(self) -> AbstractContextManager[None]:
        return many_facts()

    def warnings(self, lines: Sequence[Values]) -> list[str]:
        pairs = [(self.people.named(values["staff_number"]).pk, set(values["procedure"])) for values in lines]
        return held_at_once(self.here.site, self.here.today, pairs)

    def sample(self) -> list[TableLine]:
        examples = {each.name: each.example for each in self.columns}
        return [TableLine({**examples, "staff_number": line["staff_number"]}) for line in self.lines([])]

    def done(self, recorded: int) -> str:
        return f"{counted(recorded, 'line')} of records carried over."


def held_at_once(site: Site, today: date, pairs: Iterable[tuple[Any, Collection[str]]]) -> list[str]:
    """Of people and procedures that were just carried over, what will be on hold on the first day, and what it waits for."""
    carried: dict[Any, set[str]] = {}
    for person, codes in pairs:
        carried.setdefault(person, set()).update(codes)
    rows = StandingSpan.objects.on(max(today, site.register_start)).filter(person__in=carried, state=State.ON_HOLD)
    held: dict[tuple[str, str], list[str]] = {}
    for row in rows.select_related("person", "procedure").order_by("person", "procedure__code"):
        if row.procedure.code in carried[row.person_id]:
            held.setdefault((str(row.person), row.cause.rpartition(":")[2]), []).append(row.procedure.code)
    return [
        f"{who} will be on hold at once in {listed(codes)}: {cause} comes first."
        for (who, cause), codes in held.items()
    ]


def carry_over_seen(
    paper: PaperRecord, site: Site, today: date, *, by: Person, id: UUID, seen: bool
) -> tuple[CarriedOver, list[str]]:
    """One record, carried over; where it will be on hold at once and nobody saw that yet, it is taken back, and what it waits
    for is said."""
    with transaction.atomic():
        row = carry_over(paper, site, by=by, id=id)
        held = [] if seen else held_at_once(site, today, [(paper.person.pk, [paper.procedure.code])])
        if held:
            transaction.set_rollback(True)
    return row, held


def tried(papers: Sequence[PaperRecord], site: Site, today: date, *, by: Person) -> list[str]:
    """What would be on hold at once if these were carried over: they are, and all of it is taken back."""
    with transaction.atomic():
        carry_over_all(papers, site, by=by)
        found = held_at_once(site, today, [(paper.person.pk, [paper.procedure.code]) for paper in papers])
        transaction.set_rollback(True)
    return found
