"""Found from every page: a person, procedure, unit, certificate or record, and never what somebody may not read."""

from typing import Any
from uuid import UUID

import pytest

from clinic.models import Seal
from tests.training.people_scene import Scene
from training.models import Version
from training.rules.find import is_found, records_named

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


def test_the_eight_letters_of_a_line_open_its_record(signed_in: Any, scene: Scene) -> None:
    row = Version.objects.first()
    for letters in (str(row.pk)[:8], str(row.pk)[:8].upper(), f" {str(row.pk)[:4]} {str(row.pk)[4:8]}", str(row.pk)):
        assert titles(signed_in, scene, "coordinator", letters) == {f"/millbrook-lane/facts/{row.pk}/"}, letters


def test_seven_letters_and_what_no_record_begins_with_open_none(signed_in: Any, scene: Scene) -> None:
    first = str(Version.objects.first().pk)
    assert titles(signed_in, scene, "coordinator", first[:7]) == set()
    assert titles(signed_in, scene, "coordinator", "g" + first[1:8]) == set()


def test_a_record_is_found_by_whoever_may_read_it_and_by_nobody_else(signed_in: Any, scene: Scene) -> None:
    row = Version.objects.first()
    assert titles(signed_in, scene, "assistant", str(row.pk)[:8]) == set()
    assert titles(signed_in, scene, "coordinator", str(row.pk)[:8]) == {f"/millbrook-lane/facts/{row.pk}/"}


def test_a_record_of_another_site_is_not_found_here(signed_in: Any, scene: Scene) -> None:
    elsewhere = Seal.objects.filter(site=scene.cast.court).first()
    assert titles(signed_in, scene, "owner", str(elsewhere.fact)[:8]) == set()


def test_every_id_that_begins_so_is_meant_and_no_other() -> None:
    first, last = records_named("3f9a c01b")  # type: ignore[misc]
    assert (str(first)[:8], str(last)[:8]) == ("3f9ac01b", "3f9ac01b")
    assert first < UUID("3f9ac01b-0000-4000-8000-000000000000") < last
    assert last.int - first.int == 2**96 - 1
