"""Who may observe and sign what: everybody of a site in one table, each procedure a box, or all of them."""

from collections.abc import Sequence
from functools import cached_property
from types import MappingProxyType
from uuid import UUID

from clinic.models import Person
from clinic.named_people import NamedPeople
from clinic.record import Refusal, refuse_if
from clinic.rules.words import counted
from clinic.tables import Table, TableColumn, TableLine, Values, column, day_text, laid_over, words_column
from training.actions.grants import found, grant_authority, not_usable_in
from training.forms.grants import CodesField, FoundingForm, GrantAuthority
from training.models import Authority, FoundingGrant, Procedure
from training.rules.grants import last_founding_day
from training.rules.watchers import watching_counts_words


class SignerTable(Table):
    """A line for each person. With what it rests on it is a founding grant, which lets work alone too; without, authority."""

    title = "Who may sign"
    nothing = "Nobody else works here yet: enter people first. A lone owner is the first signer by a command on the register’s computer: manage.py found_owner."
    next_words, next_page = "Enter people", "clinic:roster_import"
    lead = (
        "Tick what each may observe and sign, or all of it, topics that come later too. The first signers of a new register "
        "need a founding grant: say what it rests on. Without that it is authority alone. You sign for it, and never for "
        "yourself."
    )
    in_blocks = True
    refusals_at = MappingProxyType({"procedures": "procedure"})

    def asks(self) -> tuple[TableColumn, ...]:
        codes = tuple((row.code, row.code) for row in self.procedures)
        today = day_text(self.here.today)
        last = day_text(last_founding_day(self.here.today, side_by_side=True))
        return (
            words_column("person", "Person", "Name the person.", most=160),
            TableColumn("procedure", CodesField("May observe and sign"), "Tick what it covers.", several=True, codes=codes, example="all"),
            column("rests_on", FoundingForm, optional=True, label="A founding grant, resting on", shared=True),
            column("detail", FoundingForm, optional=True, label="In words: which visit or course, by whom, when", shared=True),
            column("from_day", GrantAuthority, shared=True, first=today, example=today),
            column("to_day", GrantAuthority, shared=True, example=last),
        )  # fmt: skip

    @cached_property
    def procedures(self) -> list[Procedure]:
        return list(Procedure.objects.of(self.here.site.organisation))

    @cached_property
    def people(self) -> NamedPeople:
        day = max(self.here.today, self.here.site.register_start)
        return NamedPeople(list(Person.objects.at_site(self.here.site, day).by_name()), "person")

    @cached_property
    def held(self) -> list[Authority | FoundingGrant]:
        rows = (model.objects.live().filter(site=self.here.site) for model in (Authority, FoundingGrant))
        return [row for each in rows for row in each]

    def lines(self, typed: Sequence[TableLine]) -> list[TableLine]:
        others = [each for each in self.people.people if each != self.here.by]
        known = [TableLine({"person": self.people.called(each)}, frozenset({"person"})) for each in others]
        said = [line for line in typed if line["procedure"] or line["rests_on"] or line["detail"]]
        return laid_over(known, said, lambda line: self.people.key(line["person"]))

    def asks_more(self) -> bool:
        return False

    def covered(self, values: Values) -> tuple[list[str], list[str]]:
        """Procedures and areas. All of it is every area, as single grants have it; a founding grant names procedures."""
        codes = list(values["procedure"])
        whole = len(codes) == len(self.procedures)
        if values["rests_on"]:
            practice = {row.code for row in self.procedures if row.kind == Procedure.Kind.PRACTICE}
            return sorted(practice if whole else codes), []
        return ([], sorted({row.area for row in self.procedures})) if whole else (sorted(codes), [])

    def is_known(self, values: Values) -> bool:
        person = self.people.find(values["person"])
        if person is None:
            return False
        procedures, areas = self.covered(values)
        said = (person.pk, values["from_day"], values["to_day"], procedures, areas, values["rests_on"] or "")
        return any(
            (row.person_id, row.happened_on, row.to_day, row.procedures, row.areas, getattr(row, "rests_on", ""))
            == said
            for row in self.held
        )

    def record(self, values: Values, id: UUID) -> None:
        person, (procedures, areas) = self.people.named(values["person"]), self.covered(values)
        first, last, site = values["from_day"], values["to_day"], self.here.site
        if not values["rests_on"]:
            grant_authority(person, site, first, last, by=self.here.by, procedures=procedures, areas=areas, id=id)
            return
        refuse_if(Refusal("A founding grant ends.", "Write its last day.", "to_day") if last is None else None)
        found(
            person, site, first, last, by=self.here.by, procedures=procedures, rests_on=values["rests_on"],
            detail=values["detail"], proved=self.proof, id=id,
        )  # fmt: skip

    def warnings(self, lines: Sequence[Values]) -> list[str]:
        """Whose watching will not count as evidence until they may work alone themselves."""
        said = []
        for values in lines:
            person, (procedures, areas) = self.people.named(values["person"]), self.covered(values)
            lacking = not_usable_in(person, max(values["from_day"], self.here.today), procedures, areas)
            said.append(watching_counts_words(str(person), [each.code for each in lacking], ""))
        return [each for each in said if each]

    def sample(self) -> list[TableLine]:
        examples = {each.name: each.example for each in self.columns}
        return [TableLine({**examples, "person": line["person"]}) for line in self.lines([])]

    def done(self, recorded: int) -> str:
        return f"{counted(recorded, 'grant')} recorded; nobody signs for themselves."
