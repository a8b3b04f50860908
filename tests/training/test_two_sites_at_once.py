"""Two sites record about one person at the same instant: what is stored is what both facts say."""

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from threading import Event
from uuid import uuid4

import pytest
from django.db import connection, transaction

from clinic.models import Site
from clinic.record import holding, record
from tests.cast import enter_practice
from tests.training.people_scene import TODAY, Scene, noon, set_scene
from training import finding_spans, spans
from training.models import FindingsKept, SignOff
from training.reads.ground import ground

pytestmark = pytest.mark.usefixtures("free_database")
A_WHILE = 0.5  # seconds in which the second would be done, if it did not wait for the first


@pytest.fixture
def scene(free_database: None) -> Iterator[Scene]:
    with noon():
        scene = set_scene(enter_practice())
        finding_spans.rebuild_waiting()
        yield scene


def sign(scene: Scene, code: str, site: Site) -> None:
    row = SignOff(
        id=uuid4(), site=site, happened_on=TODAY, person=scene.cast.assistant.person, version=scene.versions[code],
        signer=scene.cast.owner.person, signer_name="Hester Vane", meaning="May do it.", statement="", evidence=[],
        reidentified="passphrase", reidentified_at="2025-03-03T12:00:00Z",
    )  # fmt: skip
    record(row, by=None)


def signed_on_its_ground(scene: Scene) -> None:
    """As the page of a sign-off does it: what it rests on is read before anything is recorded."""
    person, procedure, court = scene.cast.assistant.person, scene.procedures["P04"], scene.cast.court
    with transaction.atomic(), holding(court):
        ground(person, procedure, scene.cast.owner.person, court, TODAY)
        sign(scene, "P04", court)


def signed_at_once(scene: Scene) -> None:
    sign(scene, "P04", scene.cast.court)


@pytest.mark.parametrize("way", [signed_at_once, signed_on_its_ground])
def test_what_rests_on_the_other_fact_is_stored_with_it(scene: Scene, way: Callable[[Scene], None]) -> None:
    begun, done = Event(), Event()

    def first() -> None:
        try:
            with noon(), transaction.atomic():
                sign(scene, "P01", scene.cast.lane)
                begun.set()
                done.wait(A_WHILE)
        finally:
            begun.set()
            connection.close()

    def second() -> None:
        try:
            assert begun.wait(30)
            with noon():
                way(scene)
            done.set()
        finally:
            connection.close()

    with ThreadPoolExecutor(2) as pool:
        for each in [pool.submit(first), pool.submit(second)]:
            each.result(60)
    assert SignOff.objects.count() == 2
    assert spans.differences(scene.cast.organisation) == []
    assert FindingsKept.objects.count() == 2
    assert [finding_spans.differences(site) for site in Site.objects.all()] == [[], []]
