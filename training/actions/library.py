"""Bringing the procedure library into a practice: texts become drafts, tasks and walk-round questions become rows."""

from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.db.models import Model

from clinic import clock
from clinic.changes import change, make
from clinic.models import Organisation, Person, Site, SiteFact, UpkeepTask
from training.models import Draft, Procedure, Version
from training.rules.library import Library
from training.rules.texts import ProcedureText, UpkeepTaskText, content_to_json, plain, policy_to_json


@dataclass(frozen=True, slots=True)
class Loaded:
    """What a load changed: codes of procedures with a new draft, of those that stayed as they were, and counts."""

    drafted: tuple[str, ...]
    unchanged: tuple[str, ...]
    tasks: int
    site_facts: int


@transaction.atomic
def load_library(library: Library, organisation: Organisation, *, by: Person) -> Loaded:
    """Draft every procedure whose text differs from its newest version. An existing draft is left alone. What changes of
    procedures, tasks and questions stands in the chain of the oldest site."""
    entering = Entering(organisation.oldest_site, by)
    drafted: list[str] = []
    unchanged: list[str] = []
    for text in library.procedures:
        (drafted if draft_from(text, organisation, entering) else unchanged).append(text.code)
    gone = Procedure.objects.of(organisation).exclude(code__in=[text.code for text in library.procedures])
    for procedure in gone:  # each role has one file, and that of the library counts
        entering.row(procedure, stands_for="", returns=[])
    return Loaded(tuple(drafted), tuple(unchanged), load_tasks(library, entering), load_site_facts(library, entering))


@dataclass(frozen=True, slots=True)
class Entering:
    """In whose chain, and by whom, the library's rows are entered."""

    site: Site
    by: Person

    def row(self, row: Model, **columns: Any) -> None:
        """Make the row, or change it where it says something else."""
        for name, value in columns.items():
            setattr(row, name, value)
        what = str(row._meta.verbose_name)
        if row.pk is None:
            make(row, site=self.site, by=self.by, said=f"Library, {what}: {row} entered")
        else:
            change(row, site=self.site, by=self.by, said=f"Library, {what}: {row} changed", only=list(columns))


def draft_from(text: ProcedureText, organisation: Organisation, entering: Entering) -> bool:
    procedure = Procedure.objects.of(organisation).filter(code=text.code).first()
    if procedure is None:
        procedure = Procedure(organisation=organisation, code=text.code, title=text.title, area=text.area)
        procedure.kind, procedure.equipment_kind = text.kind, text.equipment_kind
    # what it is found by may move to another file of the library
    entering.row(procedure, stands_for=text.stands_for, returns=list(text.returns))
    content, policy = content_to_json(text.content), policy_to_json(text.policy)
    newest = Version.objects.live().filter(procedure=procedure).order_by("-number").first()
    same = newest is not None and (newest.content, newest.policy) == (content, policy)
    if same or Draft.objects.filter(procedure=procedure).exists():
        return False
    note = "From the library." if newest is None else "The library’s text has changed."
    Draft.objects.create(
        procedure=procedure,
        content=content,
        policy=policy,
        change_note=note,
        author=entering.by,
        updated_at=clock.now(),
    )
    return True


def load_tasks(library: Library, entering: Entering) -> int:
    known = {task.code: task for task in UpkeepTask.objects.all()}
    for task in library.upkeep_tasks:
        entering.row(known.pop(task.code, UpkeepTask(code=task.code)), **task_columns(task))
    for gone in known.values():
        entering.row(gone, stands_for="")
    return len(library.upkeep_tasks)


def task_columns(task: UpkeepTaskText) -> dict[str, Any]:
    names = (
        "title",
        "equipment_kind",
        "every_days",
        "every_units",
        "warn_days",
        "plan_units",
        "unit_word",
        "covered_by",
        "source",
        "only_a_pass",
        "closer_days",
        "stands_for",
    )
    return {name: getattr(task, name) for name in names} | {"readings": [plain(reading) for reading in task.readings]}


def load_site_facts(library: Library, entering: Entering) -> int:
    known = {fact.name: fact for fact in SiteFact.objects.all()}
    for fact in library.site_facts:
        row = known.get(fact.name, SiteFact(name=fact.name))
        entering.row(row, of=fact.of, ask=fact.write, question=fact.question)
    return len(library.site_facts)
