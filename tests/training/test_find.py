"""Found from every page: a person, procedure, unit or certificate, and never what somebody may not read."""

from typing import Any

import pytest

from tests.training.people_scene import Scene
from training.rules.find import is_found

PAGE = "/millbrook-lane/today/find/"


def titles(signed_in: Any, scene: Scene, who: str, words: str) -> set[str]:
    answer = signed_in(getattr(scene.cast, who)).get(PAGE, {"words": words})
    return {one.title for one in answer.context["found"]} if answer.status_code == 200 else {answer.url}


def test_it_stands_on_every_page_for_whoever_works_here(signed_in: Any, scene: Scene) -> None:
    assert f'action="{PAGE}"' in signed_in(scene.cast.assistant).get("/millbrook-lane/today/").content.decode()


def test_one_thing_is_opened_at_once(signed_in: Any, scene: Scene) -> None:
    assert titles(signed_in, scene, "coordinator", "tool sw") == {"/millbrook-lane/procedures/P03/"}


def test_people_are_found_by_who_reads_the_site_and_oneself_by_anybody(signed_in: Any, scene: Scene) -> None:
    me, other = scene.cast.assistant.person, scene.cast.second.person
    assert titles(signed_in, scene, "coordinator", other.family_name) == {f"/millbrook-lane/people/{other.pk}/"}
    assert titles(signed_in, scene, "assistant", me.family_name) == {f"/millbrook-lane/people/{me.pk}/"}
    assert titles(signed_in, scene, "assistant", other.family_name) == set()


@pytest.mark.parametrize("words", ["", "   ", "qqqq", "²", "%", "_"])
def test_what_is_nowhere_is_said_and_nothing_is_guessed(signed_in: Any, scene: Scene, words: str) -> None:
    assert titles(signed_in, scene, "coordinator", words) == set()


def test_everything_that_is_found_holds_the_letters(scene: Scene, signed_in: Any) -> None:
    answer = signed_in(scene.cast.coordinator).get(PAGE, {"words": "t"})
    assert len(answer.context["found"]) > 1
    assert all(is_found("t", (one.title, one.says)) for one in answer.context["found"])


def test_another_site_has_no_such_page(signed_in: Any, scene: Scene) -> None:
    assert signed_in(scene.cast.elsewhere).get(PAGE, {"words": "tool"}).status_code == 404
