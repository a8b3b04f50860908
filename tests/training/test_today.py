"""Today says what needs whoever looks, and nothing that is not theirs."""

from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from clinic.models import JobRole, Person, RoleHeld, UpkeepTask
from tests.cast import REGISTER_START
from tests.training.people_scene import TODAY, Scene, carried, founded, noon, watched

PAGE = "/millbrook-lane/today/"


@pytest.fixture
def scene(scene: Scene) -> Scene:
    UpkeepTask.objects.all().delete()  # nothing but training needs anybody here
    return scene


def page(signed_in: Any, scene: Scene, who: str) -> str:
    answer = signed_in(getattr(scene.cast, who)).get(PAGE)
    assert answer.status_code == 200
    return answer.content.decode()


def test_a_new_assistant_reads_what_to_learn_next(signed_in: Any, scene: Scene) -> None:
    text = page(signed_in, scene, "assistant")
    assert "Learn next: Hand care (P01), by 6 April 2025." in text
    assert "Whom to watch" not in text


def test_past_the_due_day_it_needs_her(signed_in: Any, scene: Scene) -> None:
    with noon(REGISTER_START + timedelta(days=91)):
        assert "Three things need you today: three procedures you should have learnt." in page(
            signed_in, scene, "assistant"
        )


def test_a_supervisor_signs_what_is_ready_and_watches_who_is_learning(signed_in: Any, scene: Scene) -> None:
    founded(scene, scene.cast.supervisor.person, "P01", "P04")
    watched(scene, scene.cast.assistant.person, "P01", TODAY)
    watched(scene, scene.cast.assistant.person, "P04", TODAY, outcome="not met")
    text = page(signed_in, scene, "supervisor")
    assert "Wren Adeyemi is ready to be signed: Hand care (P01)" in text
    assert "Wren Adeyemi, Clamping a block (P04)" in text


def test_what_the_signer_may_not_do_alone_is_not_hers_to_sign(signed_in: Any, scene: Scene) -> None:
    watched(scene, scene.cast.assistant.person, "P01", TODAY)
    assert "ready to be signed" not in page(signed_in, scene, "supervisor")


@pytest.mark.parametrize(("days", "shown"), [(60, True), (61, False)])
def test_what_lapses_within_sixty_days_is_shown(signed_in: Any, scene: Scene, days: int, shown: bool) -> None:
    carried(scene, scene.cast.assistant.person, "P01", TODAY + timedelta(days=days))
    assert ("Ends or falls due next" in page(signed_in, scene, "coordinator")) == shown


def test_whoever_shares_the_day_with_the_one_who_is_named_is_counted(signed_in: Any, scene: Scene) -> None:
    for member in (scene.cast.assistant, scene.cast.second):
        carried(scene, member.person, "P01", TODAY + timedelta(days=30))
    text = page(signed_in, scene, "coordinator")
    assert " and 1 more, good through 2 April 2025." in text
    assert ", P01 and 1 more</text>" in text


def test_others_see_only_their_own_endings(signed_in: Any, scene: Scene) -> None:
    carried(scene, scene.cast.assistant.person, "P01", TODAY + timedelta(days=9))
    assert "Ends or falls due next" in page(signed_in, scene, "assistant")
    assert "Ends or falls due next" not in page(signed_in, scene, "second")


def test_another_site_does_not_exist(signed_in: Any, scene: Scene) -> None:
    assert signed_in(scene.cast.elsewhere).get(PAGE).status_code == 404


def crowd(scene: Scene, size: int) -> None:
    lane, role = scene.cast.lane, JobRole.objects.get(title="Dental assistant")
    people = [
        Person(organisation=lane.organisation, home_site=lane, given_name=f"G{n}", family_name=f"F{size}")
        for n in range(size)
    ]
    Person.objects.bulk_create(people)
    RoleHeld.objects.bulk_create(RoleHeld(person=p, site=lane, job_role=role, from_day=REGISTER_START) for p in people)
    for person in people:
        carried(scene, person, "P01", TODAY + timedelta(days=30))


@pytest.mark.parametrize("path", [PAGE, f"{PAGE}who-may/?procedure=P01", "/millbrook-lane/people/matrix/"])
@pytest.mark.parametrize("who", ["owner", "supervisor"])
def test_thirty_people_cost_no_more_queries_than_three(signed_in: Any, scene: Scene, who: str, path: str) -> None:
    client, counts = signed_in(getattr(scene.cast, who)), []
    for size in (3, 27):
        crowd(scene, size)
        client.get(path)
        with CaptureQueriesContext(connection) as seen:
            assert client.get(path).status_code == 200
        counts.append(len(seen))
    assert counts[0] == counts[1]
