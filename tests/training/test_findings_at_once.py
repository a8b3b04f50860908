"""A fact at one site, while somebody stores the findings of another at which its person works, too: what is stored is found by
both, or computed until it is."""

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from threading import Event
from time import sleep
from typing import Any

import pytest
from django.db import connection

from clinic.models import RoleHeld, Site
from tests.cast import REGISTER_START, enter_practice
from tests.training.people_scene import Scene, noon, set_scene
from tests.training.test_two_sites_at_once import sign
from training import finding_spans
from training.models import FindingsKept, SignOff
from training.reads.findings.stored import all_told

pytestmark = pytest.mark.usefixtures("free_database")
A_WHILE = 20  # seconds after which whoever stores goes on in any case


@pytest.fixture
def scene(free_database: None) -> Iterator[Scene]:
    """The assistant works at both sites."""
    with noon():
        scene = set_scene(enter_practice())
        role = RoleHeld.objects.get(person=scene.cast.assistant.person)
        RoleHeld.objects.create(
            person=role.person, site=scene.cast.court, job_role=role.job_role, from_day=REGISTER_START
        )
        finding_spans.rebuild_waiting()
        yield scene


@pytest.fixture
def reading(monkeypatch: pytest.MonkeyPatch) -> tuple[Event, Event]:
    """Whoever stores all findings of a site has read the facts, and goes on when told to."""
    has_read, may_go_on = Event(), Event()

    def told(site: Site) -> list[Any]:
        found = list(all_told(site))
        has_read.set()
        may_go_on.wait(A_WHILE)
        return found

    monkeypatch.setattr(finding_spans, "all_told", told)
    return has_read, may_go_on


@pytest.mark.parametrize("is_kept", [True, False], ids=["stored before", "not stored before"])
def test_a_fact_elsewhere_while_findings_are_stored_is_missed_by_nobody(
    scene: Scene, reading: tuple[Event, Event], is_kept: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    if not connection.features.has_select_for_update_skip_locked:
        pytest.skip("This database lets one connection write at a time.")
    has_read, may_go_on = reading
    court = scene.cast.court
    if not is_kept:
        finding_spans.wait([court.pk])

    def stores() -> None:
        try:
            with noon():
                finding_spans.rebuild(court)
        finally:
            connection.close()

    def signs() -> None:
        try:
            with noon():
                sign(scene, "P01", scene.cast.lane)
        finally:
            connection.close()

    with ThreadPoolExecutor(2) as pool:
        storing = pool.submit(stores)
        assert has_read.wait(30)
        signed = pool.submit(signs)
        assert is_soon(SignOff.objects.exists), "whoever records waits for nobody who stores"
        may_go_on.set()
        storing.result(30)
        signed.result(30)
    monkeypatch.undo()
    with noon():
        assert finding_spans.differences(court) == []
        finding_spans.rebuild_waiting()
        assert FindingsKept.objects.count() == 2 and finding_spans.differences(court) == []


def is_soon(true: Callable[[], bool]) -> bool:
    return any(true() or sleep(0.05) for _ in range(200))
