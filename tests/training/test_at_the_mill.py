"""Who is at the mill today, with no procedure chosen: people at work, and what each unit is at."""

from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from clinic.actions.upkeep import stop_unit
from clinic.models import Absence, BlockLot, JobStarted
from clinic.record import record
from tests.training.people_scene import TODAY, Scene, carried, noon
from tests.training.test_today import crowd
from training.models import Procedure
from training.reads.at_the_mill import at_the_mill

PAGE = "/millbrook-lane/today/at-the-mill/"


@pytest.fixture
def scene(scene: Scene) -> Scene:
    """The second dentist holds two procedures, of which one stands for a milling job."""
    Procedure.objects.filter(code="P04").update(stands_for="milling job")
    for code in ("P01", "P04"):
        carried(scene, scene.cast.second.person, code, TODAY + timedelta(days=9))
    return scene


def text(signed_in: Any, scene: Scene) -> str:
    return signed_in(scene.cast.assistant).get(PAGE).content.decode()


def test_whoever_may_mill_is_named_with_all_they_may_do_there(signed_in: Any, scene: Scene) -> None:
    said = text(signed_in, scene)
    assert "1 person at work may mill alone today" in said
    assert "Hand care (P01), Clamping a block (P04)" in said
    assert "Nothing alone at the mill; with somebody standing by." in said


def test_whoever_is_away_is_not_at_the_mill(signed_in: Any, scene: Scene) -> None:
    Absence.objects.create(person=scene.cast.second.person, from_day=TODAY, to_day=TODAY)
    assert "Nobody at work may mill alone today" in text(signed_in, scene)


def test_each_unit_says_what_runs_there_and_whether_it_is_stopped(signed_in: Any, scene: Scene) -> None:
    cast = scene.cast
    lot = BlockLot.objects.create(site=cast.lane, lot="L1", material="polymer or wax", received_on=TODAY)
    row = JobStarted(
        site=cast.lane,
        happened_on=TODAY,
        equipment=cast.unit,
        lot=lot,
        case="26-7",
        wet=False,
        done_by=cast.second.person,
    )
    record(row, by=cast.second.person)
    assert "case 26-7, started by Tobias Rask" in text(signed_in, scene)
    stop_unit(cast.unit, "A noise.", site=cast.lane, by=cast.assistant.person)
    assert "out of service since 3 March 2025" in text(signed_in, scene)


def test_many_people_cost_no_more_queries_than_few(scene: Scene) -> None:
    def asked() -> int:
        with noon(), CaptureQueriesContext(connection) as caught:
            at_the_mill(scene.cast.lane, TODAY)
        return len(caught)

    asked()  # the site’s organisation is read once
    before = asked()
    crowd(scene, 20)
    assert asked() == before
