"""A line of a binder says on which day it was written, wherever that is later than the day it was done."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest

from clinic.actions.tools import enter_tool
from clinic.models import (
    ChemicalGone,
    ChemicalListed,
    MillingTool,
    OutOfService,
    ReturnToService,
    ToolMounted,
    ToolRemoved,
)
from clinic.record import record
from tests.training.people_scene import TODAY, Scene, noon
from training.models import Authority
from training.reads.binder.asked import BinderAsked
from training.reads.binder.stock import scrapped
from training.reads.binder.tables import authorities
from training.reads.binder.tools import chemicals, stops, tools

pytestmark = pytest.mark.django_db
BEFORE = TODAY - timedelta(days=10)
LATE = "21 Feb 2025, written on 3 Mar 2025"


def mounted(scene: Scene, day: date) -> ToolMounted:
    tool = enter_tool(
        MillingTool(site=scene.cast.lane, code="F1", kind="fluted cutter", seat="hex"), by=scene.cast.owner.person
    )
    me = scene.cast.supervisor.person
    where = {"site": scene.cast.lane, "happened_on": day, "done_by": me}
    sat = record(ToolMounted(equipment=scene.cast.unit, tool=tool, position="1", **where), by=me)
    record(ToolRemoved(mounting=sat, why="chip", life_used=12, **where), by=me)
    return sat


def a_tool(scene: Scene, day: date) -> list[list[str]]:
    mounted(scene, day)
    return [[row[4], row[7]] for row in tools(asked(scene)).rows]


def a_scrapped_tool(scene: Scene, day: date) -> list[list[str]]:
    mounted(scene, day)
    return [row[:1] for row in scrapped(asked(scene)).rows]


def a_stop(scene: Scene, day: date) -> list[list[str]]:
    where = {"site": scene.cast.lane, "happened_on": day, "equipment": scene.cast.unit}
    record(OutOfService(reason="It leaked.", **where), by=scene.cast.supervisor.person)
    record(ReturnToService(check_done="Ran dry.", **where), by=scene.cast.supervisor.person)
    return [[row[1], row[3]] for row in stops(asked(scene)).rows]


def a_product(scene: Scene, day: date) -> list[list[str]]:
    where = {"site": scene.cast.lane, "happened_on": day}
    listed = ChemicalListed(product="Wipes", place="shelf 2", hazard_classes=[], sheet_revision=day, **where)
    record(listed, by=scene.cast.owner.person)
    record(ChemicalGone(listed=listed, **where), by=scene.cast.owner.person)
    return [[row[4], row[5]] for row in chemicals(asked(scene)).rows]


def asked(scene: Scene) -> BinderAsked:
    return BinderAsked(scene.cast.lane, BEFORE - timedelta(days=1), TODAY, TODAY)


MADE: list[Callable[[Scene, date], list[list[str]]]] = [a_tool, a_scrapped_tool, a_stop, a_product]


@pytest.mark.parametrize("made", MADE)
def test_what_was_written_later_says_when(scene: Scene, made: Any) -> None:
    with noon():
        [days] = made(scene, BEFORE)
    assert all(day.startswith(LATE) for day in days)


@pytest.mark.parametrize("made", MADE)
def test_what_was_written_on_its_day_does_not(scene: Scene, made: Any) -> None:
    with noon():
        [days] = made(scene, TODAY)
    assert not any("written" in day for day in days)


def test_so_does_what_somebody_may_observe_and_sign(scene: Scene) -> None:
    who = scene.cast.second.person
    with noon():
        record(
            Authority(
                site=scene.cast.lane, happened_on=BEFORE, person=who, procedures=["P01"], counts_because="Trained."
            ),
            by=scene.cast.owner.person,
        )
    assert [row.written for row in authorities(asked(scene)) if row.name == str(who)] == [TODAY.isoformat()]
