"""The commands of people: the roster from a file, standing as JSON, spans, seals; with what they print and how they fail."""

import json
from datetime import date
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import connection

from clinic import clock
from clinic.actions.people import change_person
from clinic.models import Change, Person
from tests.fixtures import lift_refusals
from tests.training.people_scene import TODAY, Scene, carried
from training.models import StandingSpan
from training.reads.findings.records import last_check

pytestmark = pytest.mark.django_db
HEADS = "given_name,family_name,staff_number,email,job_role,from_day,to_day,language\n"
NELL = "Nell,Achterberg,S20,,Dental assistant,2025-03-03,,\n"


@pytest.fixture
def scene(scene: Scene) -> Scene:
    for who, number in ((scene.cast.coordinator.person, "S1"), (scene.cast.assistant.person, "S2")):
        who.staff_number = number
        change_person(who, by=scene.cast.owner.person)
    return scene


def run(*words: str) -> str:
    out = StringIO()
    call_command(*words, stdout=out)
    return out.getvalue()


def roster(tmp_path: Path, text: str, *more: str, by: str = "S1") -> str:
    file = tmp_path / "staff.csv"
    file.write_text(text, encoding="utf-8-sig")
    return run("import_roster", str(file), "--site", "millbrook-lane", "--by", by, *more)


def test_a_roster_is_entered_under_the_name_of_who_did(scene: Scene, tmp_path: Path) -> None:
    assert roster(tmp_path, HEADS + NELL) == "Entered 1 person and 1 job role; 0 lines were here already.\n"
    change = Change.objects.get(about_id=str(Person.objects.get(staff_number="S20").pk))
    assert change.recorded_by == scene.cast.coordinator.person


def test_a_dry_run_enters_nothing(scene: Scene, tmp_path: Path) -> None:
    assert roster(tmp_path, HEADS + NELL, "--dry-run").startswith("Would enter 1 person and 1 job role")
    assert not Person.objects.filter(staff_number="S20").exists()


def test_every_fault_of_a_roster_is_printed_by_line_and_column(scene: Scene, tmp_path: Path) -> None:
    with pytest.raises(CommandError, match=r"line 2, given_name: .*\nline 3, from_day: ") as refused:
        roster(tmp_path, HEADS + NELL.replace("Nell", "") + NELL.replace("2025-03-03", "soon"))
    assert refused.value.returncode == 1


@pytest.mark.parametrize("by", ["S2", "S99"])
def test_only_a_roster_keeper_enters_a_roster(scene: Scene, tmp_path: Path, by: str) -> None:
    with pytest.raises(CommandError, match="Name a coordinator or owner"):
        roster(tmp_path, HEADS + NELL, by=by)


def test_a_file_that_is_not_there_or_no_table_is_refused(scene: Scene, tmp_path: Path) -> None:
    (tmp_path / "book.xlsx").write_bytes(b"PK\x03\x04")
    for name, says in (("none.csv", "cannot be read"), ("book.xlsx", "broken and cannot be opened")):
        with pytest.raises(CommandError, match=says):
            run("import_roster", str(tmp_path / name), "--site", "millbrook-lane", "--by", "S1")


def standing(*more: str, on: date = TODAY) -> dict[str, Any]:
    found = json.loads(run("standing", "--site", "millbrook-lane", "--on", on.isoformat(), *more))
    return next(person for person in found["people"] if person["staff_number"] == "S2")


def test_standing_of_a_day_is_printed_as_json(scene: Scene) -> None:
    fact = carried(scene, scene.cast.assistant.person, "P01", date(2025, 6, 1))
    wren = standing()
    assert (wren["name"], wren["asked"]) == ("Wren Adeyemi", ["P01", "P03", "P04"])
    assert wren["standing"] == {
        "P01": {
            "state": "current", "may_work_alone": True, "basis": "carried over", "since": "2025-01-06",
            "ends_on": "2025-06-01", "cause": str(fact.pk),
            "says": "Yes, through 1 June 2025; then lapsed, because its validity ends.", "from_paper": [],
        }
    }  # fmt: skip


def test_standing_as_known_before_the_record_knows_nothing_of_it(scene: Scene) -> None:
    carried(scene, scene.cast.assistant.person, "P01", date(2025, 6, 1))
    assert standing("--known-by", "2025-03-03T11:00:00+00:00")["standing"] == {}


def test_an_instant_without_its_offset_is_refused() -> None:
    with pytest.raises(CommandError, match="give the offset too"):
        run("standing", "--site", "x", "--on", "2025-03-03", "--known-by", "2025-03-03T11:00:00")


def test_a_site_that_is_not_there_is_refused_with_those_that_are(scene: Scene) -> None:
    with pytest.raises(CommandError, match="Sites: millbrook-lane, sandbar-court"):
        run("standing", "--site", "elsewhere", "--on", "2025-03-03")


def test_spans_are_proved_and_rebuilt(scene: Scene) -> None:
    carried(scene, scene.cast.assistant.person, "P01", date(2025, 6, 1))
    assert "are what the facts say" in run("spans", "check")
    StandingSpan.objects.filter(person=scene.cast.assistant.person).update(state="lapsed")
    with pytest.raises(CommandError, match=r"differs? from the facts"):
        run("spans", "check")
    assert "are what the facts say" in run("spans", "rebuild")


def test_a_broken_seal_is_named_and_fails_the_check(scene: Scene) -> None:
    assert "seals hold" in run("seals", "check", "--site", "millbrook-lane")
    fact = carried(scene, scene.cast.assistant.person, "P01", date(2025, 6, 1))
    lift_refusals()
    with connection.cursor() as cursor:
        cursor.execute("UPDATE training_carriedover SET by_whom = 'somebody else'")
    out = StringIO()
    with pytest.raises(CommandError, match="1 break"):
        call_command("seals", "check", record=True, stdout=out)
    assert f"training.carriedover {fact.pk}: the fact is not what was sealed" in out.getvalue()
    assert last_check(scene.cast.lane).breaks == 1


def test_a_recorded_check_of_the_seals_stands_in_audit(scene: Scene) -> None:
    assert last_check(scene.cast.lane).day is None
    run("seals", "check", "--site", "millbrook-lane")
    assert last_check(scene.cast.lane).day is None
    assert "seals hold" in run("seals", "check", "--site", "millbrook-lane", "--record")
    found = last_check(scene.cast.lane)
    assert (found.day, found.breaks, found.differences) == (clock.today(scene.cast.lane.time_zone), 0, 0)
