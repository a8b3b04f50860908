"""Who may do this now: for everybody on duty, by people at work, with the last good day."""

from datetime import timedelta
from typing import Any

import pytest

from clinic.models import Absence
from tests.training.people_scene import TODAY, Scene, carried, noon
from training.reads.who_may import who_may_do

PAGE = "/millbrook-lane/today/who-may/"


@pytest.fixture
def scene(scene: Scene) -> Scene:
    carried(scene, scene.cast.second.person, "P01", TODAY + timedelta(days=9))
    return scene


def text(signed_in: Any, scene: Scene, query: str = "?procedure=P01") -> str:
    return signed_in(scene.cast.assistant).get(PAGE + query).content.decode()


def test_whoever_may_is_named_with_the_last_good_day(signed_in: Any, scene: Scene) -> None:
    said = text(signed_in, scene)
    assert "1 person at work may do this alone</span>: Hand care (P01)." in said
    assert "Yes, through 12 March 2025; then lapsed" in said


def test_somebody_away_is_said_to_be_away(signed_in: Any, scene: Scene) -> None:
    Absence.objects.create(person=scene.cast.second.person, from_day=TODAY, to_day=TODAY)
    said = text(signed_in, scene)
    assert "Nobody at work may do this alone" in said
    assert "Not at work today" in said


def test_nobody_is_said_plainly_with_what_to_do(signed_in: Any, scene: Scene) -> None:
    assert "Leave it until somebody who may is here, to do it or to stand by." in text(
        signed_in, scene, "?procedure=P03"
    )


def test_a_day_on_which_nobody_works_names_nobody_as_here(signed_in: Any, scene: Scene) -> None:
    with noon(TODAY + timedelta(days=5)):  # a Saturday
        assert "Nobody at work may do this alone" in text(signed_in, scene)


@pytest.mark.parametrize("query", ["", "?procedure=P99"])
def test_the_first_tap_answers_for_every_procedure_those_that_nobody_may_do_first(
    signed_in: Any, scene: Scene, query: str
) -> None:
    page = signed_in(scene.cast.assistant).get(PAGE + query)
    each, day = page.context["each"], TODAY
    nobody = [one for one in each if not one.people]
    assert page.context["nobody"] == nobody == each[: len(nobody)]
    for one in each:  # slow twin: the page of one procedure
        assert one.people == [
            usable.person for usable in who_may_do(scene.cast.lane, one.procedure, day) if usable.here
        ]
    assert f"{len(nobody)} procedures that nobody at work may do alone" in page.content.decode()
    assert any(scene.cast.second.person in one.people for one in each)


def test_it_is_one_tap_from_every_page(signed_in: Any, scene: Scene) -> None:
    assert f'href="{PAGE}"' in signed_in(scene.cast.assistant).get("/millbrook-lane/today/").content.decode()
