"""What is read when a fact is recorded comes to the same as all facts, where who watched is in doubt."""

from collections.abc import Iterator
from datetime import UTC, datetime, time, timedelta
from typing import Any
from uuid import uuid4

import pytest

from clinic.models import Person
from clinic.record import record
from tests.cast import Cast
from tests.training.people_scene import TODAY, Scene, founded, noon, set_scene
from training import spans
from training.models import EvidenceSpan, Observation, SignOff, Withdrawal

DAY = TODAY - timedelta(days=3)


@pytest.fixture
def scene(cast: Cast) -> Iterator[Scene]:
    with noon():
        yield set_scene(cast)


def put(scene: Scene, model: Any, /, **more: Any) -> Any:
    return record(model(id=uuid4(), site=scene.cast.lane, **{"happened_on": DAY} | more), by=None)


def sign(scene: Scene, person: Person, at: time) -> None:
    put(
        scene, SignOff, happened_at=at, person=person, version=scene.versions["P01"], signer=scene.cast.owner.person,
        signer_name="Hester Vane", meaning="May do it.", statement="", evidence=[], reidentified="passphrase",
        reidentified_at="2025-03-03T12:00:00Z",
    )  # fmt: skip


def watch(scene: Scene, observer: Person, at: time) -> None:
    seen = datetime.combine(DAY, at, UTC)
    put(
        scene, Observation, happened_at=at, performance=uuid4(), version=scene.versions["P01"],
        person=scene.cast.assistant.person, observer=observer, purpose="assessment", method="real", started_at=seen,
        finished_at=seen, outcome="met", marks=[{"step": "s1", "mark": "alone"}, {"step": "s2", "mark": "alone"}],
    )  # fmt: skip


def evidence(scene: Scene) -> str:
    """Of the assistant at the end of the day; all that is stored is what all facts say."""
    assert spans.differences(scene.cast.organisation) == []
    mine = EvidenceSpan.objects.on(DAY).filter(person=scene.cast.assistant.person)
    return mine.get(procedure=scene.procedures["P01"]).evidence


@pytest.mark.parametrize(("signed_at", "comes_to"), [(time(9), "enough"), (time(15), "some")])
def test_who_is_signed_later_that_day_could_not_be_relied_on_before(
    scene: Scene, signed_at: time, comes_to: str
) -> None:
    watcher = scene.cast.second.person
    sign(scene, watcher, signed_at)
    watch(scene, watcher, time(11))
    assert evidence(scene) == comes_to


@pytest.mark.parametrize(("is_withdrawn", "comes_to"), [(False, "enough"), (True, "some")])
def test_a_founder_who_was_withdrawn_in_it_watches_for_nothing(scene: Scene, is_withdrawn: bool, comes_to: str) -> None:
    watcher = scene.cast.second.person
    founded(scene, watcher, "P01")
    if is_withdrawn:
        before = DAY - timedelta(days=9)
        procedure = scene.procedures["P01"]
        put(
            scene,
            Withdrawal,
            happened_on=before,
            person=watcher,
            procedure=procedure,
            signer_name="H. Vane",
            reason="No.",
        )
    watch(scene, watcher, time(11))
    assert evidence(scene) == comes_to


def test_a_sign_off_that_comes_to_be_recorded_later_is_read_for_whom_they_watched(scene: Scene) -> None:
    watcher = scene.cast.second.person
    watch(scene, watcher, time(11))
    assert evidence(scene) == "some"
    sign(scene, watcher, time(9))
    assert evidence(scene) == "enough"
