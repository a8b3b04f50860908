"""My record: everything about one's own training, read and taken away without asking anybody.

Row O-07 of the handbook (29 CFR 1910.1030(h)(3), V): training records open to employees; each person can export their own
records without an admin. What a session's record says is row O-05.
"""

import csv
import io
import json
from datetime import date
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from clinic.models import Seal
from clinic.record import void
from tests.training.people_scene import TODAY, Scene, carried, watched
from training.actions.teach import record_session
from training.models import Attendance, Observation, TaughtSession
from training.reads.own_record import DETAILS
from training.reads.person_facts import facts_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def scene(scene: Scene) -> Scene:
    carried(scene, scene.cast.assistant.person, "P01", date(2025, 6, 1))
    watched(scene, scene.cast.assistant.person, "P03", TODAY)
    return scene


def get(signed_in: Any, scene: Scene, tail: str, who: str = "assistant", whose: str = "assistant") -> Any:
    person = getattr(scene.cast, whose).person
    return signed_in(getattr(scene.cast, who)).get(f"/millbrook-lane/people/{person.pk}/{tail}")


def as_json(signed_in: Any, scene: Scene, **more: str) -> Any:
    return json.loads(get(signed_in, scene, "record.json", **more).content)


def as_csv(signed_in: Any, scene: Scene) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(get(signed_in, scene, "record.csv").content.decode(), newline="")))


def test_everybody_takes_their_own_record_away_by_themselves(signed_in: Any, scene: Scene) -> None:
    mine = {str(line.id) for line in facts_of(scene.cast.assistant.person)}
    assert (
        {row["id"] for row in as_json(signed_in, scene)["facts"]}
        == mine
        == {r["fact"] for r in as_csv(signed_in, scene)}
    )
    assert len(mine) == 2


@pytest.mark.parametrize("tail", ["", "record/", "record.csv", "record.json"])
@pytest.mark.parametrize(
    ("who", "status"), [("assistant", 200), ("coordinator", 200), ("owner", 200), ("second", 404), ("elsewhere", 404)]
)
def test_anothers_record_is_read_by_whoever_reads_their_page(
    signed_in: Any, scene: Scene, tail: str, who: str, status: int
) -> None:
    assert get(signed_in, scene, tail, who=who).status_code == status


def test_each_line_carries_the_seal_of_its_fact(signed_in: Any, scene: Scene) -> None:
    for row in as_json(signed_in, scene)["facts"]:
        assert Seal.objects.get(fact=row["id"]).digest == row["seal"]


def test_an_observation_is_told_with_the_words_of_its_steps(signed_in: Any, scene: Scene) -> None:
    told = next(row for row in as_json(signed_in, scene)["facts"] if row["kind"] == "observation")
    seen = Observation.objects.get(pk=told["id"])
    assert told["details"]["outcome"] == seen.outcome and told["details"]["version"] == 1
    assert [each["mark"] for each in told["details"]["marks"]] == [each["mark"] for each in seen.marks]
    assert told["details"]["marks"][0]["step"] == "Put the guard on"


def test_what_was_taken_back_stays_and_says_so(signed_in: Any, scene: Scene) -> None:
    seen = Observation.objects.get(person=scene.cast.assistant.person)
    void(seen, by=scene.cast.supervisor.person, reason="Somebody else was meant.")
    told = {row["id"]: row["stands"] for row in as_json(signed_in, scene)["facts"]}
    assert told[str(seen.pk)] is False and sum(told.values()) == 1
    assert "Put right by a later record." in get(signed_in, scene, "record/").content.decode()


def test_a_session_is_told_with_its_record_and_without_the_others(signed_in: Any, scene: Scene) -> None:
    """O-05: dates, contents, trainer with qualification, and one's own job title of that day."""
    row = TaughtSession(
        site=scene.cast.lane, happened_on=TODAY, days=[TODAY.isoformat()], summary="Hands and sleeves.",
        trainer_name="Ines Pellow", trainer_qualification="Infection control course", live_questions=True, language="English",
    )  # fmt: skip
    people = [scene.cast.assistant.person, scene.cast.second.person]
    record_session(row, [scene.versions["P01"]], people, by=scene.cast.coordinator.person)
    assert Attendance.objects.count() == 2
    text = get(signed_in, scene, "record.json").content.decode()
    told = next(each for each in json.loads(text)["facts"] if each["id"] == str(row.pk))
    assert told["details"]["trainer_qualification"] == "Infection control course"
    assert told["details"]["summary"] == "Hands and sleeves." and "Dental assistant" in told["says"]
    assert "Rask" not in text and str(scene.cast.second.person.pk) not in text


def test_roles_and_standings_stand_beside_the_facts(signed_in: Any, scene: Scene) -> None:
    told = as_json(signed_in, scene)
    assert told["roles"] == [{"from": "2025-01-06", "to": None, "what": "Dental assistant", "where": "Millbrook Lane"}]
    held = {row["code"]: (row["state"], row["through"]) for row in told["standings"]}
    assert held["P01"] == ("current", "2025-06-01") and held["P04"][0] == "untrained"


def test_the_page_counts_what_it_lists(signed_in: Any, scene: Scene) -> None:
    page = get(signed_in, scene, "record/").content.decode()
    assert 'data-counts="recorded">2</span> records are kept about your training.' in " ".join(page.split())
    assert page.count('data-row="recorded"') == 2


def test_whoever_has_none_is_told_so_and_still_gets_a_file(signed_in: Any, scene: Scene) -> None:
    page = get(signed_in, scene, "record/", who="second", whose="second").content.decode()
    assert "Nothing is recorded about your training yet." in page
    assert as_json(signed_in, scene, who="second", whose="second")["facts"] == []


def test_no_cell_is_taken_for_a_formula(signed_in: Any, scene: Scene) -> None:
    """F-28: text that begins with = + - @ gets a single quote before it."""
    rows = as_csv(signed_in, scene)
    assert all(not value.startswith(("=", "+", "-", "@")) for row in rows for value in row.values())


def test_the_own_page_leads_to_it(signed_in: Any, scene: Scene) -> None:
    assert f"/people/{scene.cast.assistant.person.pk}/record/" in get(signed_in, scene, "").content.decode()


def test_every_kind_that_is_listed_is_told_in_full(signed_in: Any, scene: Scene) -> None:
    """A column that is renamed is found here, and not by whoever asks for their record."""
    for model, names in DETAILS.items():
        list(model.objects.values(*names))
    assert all(row["details"] for row in as_json(signed_in, scene)["facts"])


def test_ten_times_the_record_takes_the_same_queries(
    signed_in: Any, scene: Scene, django_assert_max_num_queries: Any
) -> None:
    client, path = (
        signed_in(scene.cast.assistant),
        f"/millbrook-lane/people/{scene.cast.assistant.person.pk}/record.json",
    )
    client.get(path)
    with CaptureQueriesContext(connection) as before:
        client.get(path)
    for _ in range(10):
        watched(scene, scene.cast.assistant.person, "P03", TODAY)
    with django_assert_max_num_queries(len(before)):
        client.get(path)
