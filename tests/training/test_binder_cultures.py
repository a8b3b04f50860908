"""Spore tests and water in a binder: how a test was kept warm, who read it, and the number of a laboratory's report."""

from typing import Any
from uuid import uuid4

from clinic.actions.readings import DoneTask, LaterReading, log_work, read_result
from clinic.models import Equipment, UpkeepEntry, UpkeepTask
from clinic.rules.roles import TaskRole
from tests.cast import REGISTER_START
from tests.training.people_scene import TODAY, Scene
from training.reads.binder.asked import BinderAsked
from training.reads.binder.checks import spore_rows, spores, water, water_entries

CULTURE = {"test": "no growth", "control": "growth", "hours": "24", "warmth": "56"}


def logged(scene: Scene, kind: str, role: TaskRole, **readings: str) -> UpkeepEntry:
    unit = Equipment.objects.create(site=scene.cast.lane, kind=kind, label=kind, in_service_from=REGISTER_START)
    specs = [{"key": key, "label": key, "kind": "text", "later": True} for key in (*CULTURE, "cfu", "report")]
    task = UpkeepTask.objects.create(
        code="U10", title="Culture", equipment_kind=kind, every_days=7, readings=specs, stands_for=role
    )
    work = DoneTask(task, unit, scene.cast.lane, scene.cast.supervisor.person, TODAY, readings=readings, id=uuid4())
    return log_work(work, by=scene.cast.supervisor.person).entry


def asked(scene: Scene) -> BinderAsked:
    return BinderAsked(scene.cast.lane, REGISTER_START, TODAY, TODAY)


def told(scene: Scene) -> Any:
    line = asked(scene)
    (row,) = spores(line, spore_rows(line)).rows
    return row[7]


def test_a_spore_line_says_how_it_was_kept_warm_and_who_read_it(scene: Scene) -> None:
    logged(scene, "steriliser", TaskRole.SPORE_TEST, **CULTURE)
    assert told(scene) == f"Incubated 24 h at 56 °C. Read by {scene.cast.supervisor.person}."


def test_a_spore_line_names_whoever_read_it_later(scene: Scene) -> None:
    entry = logged(scene, "steriliser", TaskRole.SPORE_TEST)
    assert told(scene) == ""
    other = scene.cast.second.person
    read_result(LaterReading(entry, other, TODAY, CULTURE), by=other)
    assert told(scene).endswith(f"Incubated 24 h at 56 °C. Read by {other}.")


def test_a_water_line_carries_the_number_of_the_report(scene: Scene) -> None:
    logged(scene, "dental-unit water line", TaskRole.LINE_SAMPLE, cfu="40", report="26-0904")
    (table,) = water(asked(scene), water_entries(asked(scene)))
    assert "Report 26-0904." in table.rows[0]
