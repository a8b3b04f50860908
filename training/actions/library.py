"""Bringing the procedure library into a practice: texts become drafts, tasks and walk-round questions become rows."""

from dataclasses import asdict, dataclass
from typing import Any

from django.db import transaction

from clinic import clock
from clinic.models import Organisation, Person, SiteFact, UpkeepTask
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
    """Draft every procedure whose text differs from its newest version. An existing draft is left alone."""
    drafted: list[str] = []
    unchanged: list[str] = []
    for text in library.procedures:
        (drafted if draft_from(text, organisation, by) else unchanged).append(text.code)
    gone = Procedure.objects.of(organisation).exclude(code__in=[text.code for text in library.procedures])
    gone.update(stands_for="", returns=[])  # each role has one file, and that of the library counts
    return Loaded(tuple(drafted), tuple(unchanged), load_tasks(library), load_site_facts(library))


def draft_from(text: ProcedureText, organisation: Organisation, by: Person) -> bool:
    words = {"title": text.title, "area": text.area, "kind": text.kind, "equipment_kind": text.equipment_kind}
    procedure, _ = Procedure.objects.get_or_create(organisation=organisation, code=text.code, defaults=words)
    set_roles(procedure, text)
    content, policy = content_to_json(text.content), policy_to_json(text.policy)
    newest = Version.objects.live().filter(procedure=procedure).order_by("-number").first()
    same = newest is not None and (newest.content, newest.policy) == (content, policy)
    if same or Draft.objects.filter(procedure=procedure).exists():
        return False
    note = "From the library." if newest is None else "The library’s text has changed."
    Draft.objects.create(
        procedure=procedure, content=content, policy=policy, change_note=note, author=by, updated_at=clock.now()
    )
    return True


def set_roles(procedure: Procedure, text: ProcedureText) -> None:
    """What it is found by, which may move to another file of the library."""
    if (procedure.stands_for, procedure.returns) != (text.stands_for, list(text.returns)):
        procedure.stands_for, procedure.returns = text.stands_for, list(text.returns)
        procedure.save(update_fields=["stands_for", "returns"])


def load_tasks(library: Library) -> int:
    for task in library.upkeep_tasks:
        UpkeepTask.objects.update_or_create(code=task.code, defaults=task_columns(task))
    UpkeepTask.objects.exclude(code__in=[task.code for task in library.upkeep_tasks]).update(stands_for="")
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
    return {name: getattr(task, name) for name in names} | {"readings": [plain(asdict(r)) for r in task.readings]}


def load_site_facts(library: Library) -> int:
    for fact in library.site_facts:
        SiteFact.objects.update_or_create(
            name=fact.name, defaults={"of": fact.of, "ask": fact.write, "question": fact.question}
        )
    return len(library.site_facts)
