"""Whoever writes the stored timelines anew does so beside people who record, each change whole, on both databases."""

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from io import StringIO
from threading import Event
from typing import Any

import pytest
from django.core.management import call_command
from django.db import connection

from clinic.models import Person
from tests.cast import enter_practice
from tests.training.people_scene import Scene, noon, set_scene
from tests.training.test_two_sites_at_once import sign
from training import finding_spans, spans
from training.models import StandingSpan

pytestmark = pytest.mark.usefixtures("free_database")
A_WHILE = 0.5  # seconds in which whoever records would be done, if they did not wait


@pytest.fixture
def scene(free_database: None) -> Iterator[Scene]:
    with noon():
        scene = set_scene(enter_practice())
        sign(scene, "P01", scene.cast.lane)
        finding_spans.rebuild_waiting()
        yield scene


def test_the_command_puts_right_what_is_not_what_the_facts_say(scene: Scene) -> None:
    assert StandingSpan.stored.filter(usable=True).update(usable=False)
    said = StringIO()
    call_command("spans", "rebuild", stdout=said)
    assert "are what the facts say" in said.getvalue()


def test_what_is_recorded_while_timelines_are_written_anew_is_stored_once(
    scene: Scene, monkeypatch: pytest.MonkeyPatch
) -> None:
    has_read, may_go_on = Event(), Event()
    computed_in = spans.computed_in

    def told(*asked: Any, **more: Any) -> Any:
        found = computed_in(*asked, **more)
        has_read.set()
        may_go_on.wait(20)
        return found

    def writes_anew() -> None:
        try:
            with noon():
                spans.rebuild(Person.objects.select_related("organisation").order_by("pk"))
        finally:
            connection.close()

    def signs() -> None:
        try:
            with noon():
                sign(scene, "P04", scene.cast.lane)
        finally:
            connection.close()

    StandingSpan.stored.all().delete()
    monkeypatch.setattr(spans, "computed_in", told)
    with ThreadPoolExecutor(2) as pool:
        writing = pool.submit(writes_anew)
        assert has_read.wait(30)
        monkeypatch.undo()
        signing = pool.submit(signs)
        may_go_on.wait(A_WHILE)
        may_go_on.set()
        writing.result(30)
        signing.result(30)
    assert spans.differences(scene.cast.assistant.person.organisation) == []
