"""The people of a site: what matters first, searching, and who sees whom."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from clinic.actions.people import leave
from clinic.models import JobRole, Person, RoleHeld
from tests.cast import REGISTER_START
from tests.training.people_scene import TODAY, Scene, carried, noon, watched

pytestmark = pytest.mark.django_db


def page(signed_in: Any, scene: Scene, query: str = "", who: str = "coordinator") -> str:
    answer = signed_in(getattr(scene.cast, who)).get(f"/millbrook-lane/people/{query}")
    assert answer.status_code == 200, answer
    return str(answer.content.decode())


def test_whoever_reads_the_site_sees_everybody(signed_in: Any, scene: Scene) -> None:
    html = page(signed_in, scene, who="supervisor")
    assert all(name in html for name in ("Wren Adeyemi", "Ines Pellow", "Hester Vane"))
    assert "Corin Sable" not in html


def test_others_are_sent_to_their_own_page(signed_in: Any, scene: Scene) -> None:
    answer = signed_in(scene.cast.assistant).get("/millbrook-lane/people/")
    assert (answer.status_code, answer.url) == (302, f"/millbrook-lane/people/{scene.cast.assistant.person.pk}/")


def test_what_ends_within_sixty_days_is_said_with_its_last_good_day(signed_in: Any, scene: Scene) -> None:
    carried(scene, scene.cast.assistant.person, "P01", TODAY + timedelta(days=20))
    html = page(signed_in, scene)
    assert (
        "Hand care (p01) holds through 23 March 2025" in html or "Hand care (P01) holds through 23 March 2025" in html
    )


def test_what_does_not_hold_any_more_stands_first(signed_in: Any, scene: Scene) -> None:
    carried(scene, scene.cast.assistant.person, "P01", TODAY - timedelta(days=1))
    html = page(signed_in, scene)
    assert "Does not hold: hand care (P01)." in html
    assert html.index("Wren Adeyemi") < html.index("Hester Vane", html.index("Who needs somebody soonest"))


def test_what_was_to_be_learnt_by_now_is_overdue(signed_in: Any, scene: Scene) -> None:
    with noon(date(2025, 5, 1)):
        assert "Overdue to learn: hand care (P01), tool swap (P03) and 1 more." in page(signed_in, scene)


def test_on_the_last_good_day_nothing_is_overdue(signed_in: Any, scene: Scene) -> None:
    with noon(REGISTER_START + timedelta(days=90)):
        assert "Overdue" not in page(signed_in, scene)


def test_evidence_that_is_enough_is_ready_to_be_signed(signed_in: Any, scene: Scene) -> None:
    watched(scene, scene.cast.assistant.person, "P01", date(2025, 2, 3))
    html = page(signed_in, scene, "?show=ready")
    assert "Ready to be signed: hand care (P01)." in html
    assert "Hester Vane" not in html


@pytest.mark.parametrize(("query", "there"), [("?q=wren+ade", True), ("?q=nobody", False), ("?role=Dentist", False)])
def test_searching_narrows_by_name_and_job_role(signed_in: Any, scene: Scene, query: str, there: bool) -> None:
    assert ("Wren Adeyemi" in page(signed_in, scene, query)) is there


def test_an_empty_search_says_what_it_means(signed_in: Any, scene: Scene) -> None:
    assert "Nobody at this site fits what you chose." in page(signed_in, scene, "?q=zebra")


def test_whoever_left_is_shown_only_when_asked_for(signed_in: Any, scene: Scene) -> None:
    leave(scene.cast.assistant.person, TODAY - timedelta(days=1), by=scene.cast.coordinator.person)
    assert "Wren Adeyemi" not in page(signed_in, scene)
    assert "Wren Adeyemi" in page(signed_in, scene, "?show=left")


def crowd(scene: Scene, size: int) -> None:
    role = JobRole.objects.get(title="Dental assistant")
    people = Person.objects.bulk_create(
        Person(
            organisation=scene.cast.organisation, home_site=scene.cast.lane, given_name=f"G{n}", family_name=f"F{size}"
        )
        for n in range(size)
    )
    RoleHeld.objects.bulk_create(
        RoleHeld(person=person, site=scene.cast.lane, job_role=role, from_day=REGISTER_START) for person in people
    )


def test_thirty_people_cost_no_more_queries_than_three(signed_in: Any, scene: Scene) -> None:
    client, counts = signed_in(scene.cast.coordinator), []
    for size in (3, 27):
        crowd(scene, size)
        client.get("/millbrook-lane/people/")
        with CaptureQueriesContext(connection) as seen:
            client.get("/millbrook-lane/people/")
        counts.append(len(seen))
    assert counts[0] == counts[1]
