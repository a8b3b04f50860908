"""Workers that store what waits while people record, on whichever database the run uses."""

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection, transaction

from clinic.models import Person, Site
from clinic.record import record
from tests.cast import enter_practice
from tests.training.people_scene import TODAY, Scene, noon, set_scene
from training import spans, storing, waiting
from training.models import SignOff, SpansWaiting, StandingSpan

pytestmark = pytest.mark.usefixtures("free_database")


@pytest.fixture
def scene(free_database: None, monkeypatch: pytest.MonkeyPatch) -> Iterator[Scene]:
    with noon():
        scene = set_scene(enter_practice())
        monkeypatch.setattr(waiting, "AT_ONCE", 0)
        monkeypatch.setattr(storing, "BATCH", 1)
        yield scene


def sign(scene: Scene, person: Person, code: str) -> Any:
    row = SignOff(
        id=uuid4(), site=scene.cast.lane, happened_on=TODAY, person=person, version=scene.versions[code], signer=scene.cast.owner.person,
        signer_name="Hester Vane", meaning="May do it.", statement="", evidence=[], reidentified="passphrase",
        reidentified_at="2025-03-03T12:00:00Z",
    )  # fmt: skip
    return record(row, by=None)


def together(*acts: Callable[[], object]) -> None:
    barrier = Barrier(len(acts))

    def one(act: Callable[[], object]) -> None:
        try:
            barrier.wait(30)
            with noon():
                act()
        finally:
            connection.close()

    with ThreadPoolExecutor(len(acts)) as pool:
        list(pool.map(one, acts))


def test_two_workers_and_people_who_record_leave_what_the_facts_say(scene: Scene) -> None:
    people = [scene.cast.assistant.person, scene.cast.second.person, scene.cast.supervisor.person]
    sign(scene, people[0], "P01")
    waiting.mark({one.pk: set(scene.procedures) for one in Person.objects.all()})
    recording = [lambda one=one: [sign(scene, one, code) for code in ("P04", "P03")] for one in people]
    together(storing.store_waiting, storing.store_waiting, *recording)
    storing.store_waiting()
    assert not SpansWaiting.objects.exists()
    assert spans.differences(scene.cast.organisation) == []
    assert StandingSpan.stored.filter(person__in=people, usable=True).count() >= len(people)


def test_a_worker_waits_for_nobody_who_records(scene: Scene) -> None:
    """Where rows can be locked one by one it stores nothing just now, at whichever site somebody records."""
    if not connection.features.has_select_for_update_skip_locked:
        pytest.skip("This database lets one connection write at a time.")
    sign(scene, scene.cast.assistant.person, "P01")
    with transaction.atomic():
        Site.objects.select_for_update().get(pk=scene.cast.court.pk)
        with ThreadPoolExecutor(1) as pool:
            assert pool.submit(stored_elsewhere).result(30) == 0
    assert storing.store_some() == 1


def stored_elsewhere() -> int:
    try:
        return storing.store_some()
    finally:
        connection.close()
