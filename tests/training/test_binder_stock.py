"""Stock, scrapped tools and messages of units in a binder: as they stood on its last day, each with its fact."""

from datetime import timedelta
from typing import Any

import pytest

from clinic.actions.stock import keep_in_stock, keep_message, move_stock
from clinic.actions.tools import enter_tool
from clinic.actions.upkeep import stop_unit
from clinic.models import MillingTool, ToolMounted, ToolRemoved
from clinic.record import record
from clinic.rules.stock import StockSays
from tests.training.people_scene import TODAY, Scene, noon
from training.documents.binder.content import Extra
from training.reads.binder.asked import BinderAsked
from training.reads.binder.checks import doubted
from training.reads.binder.extras import tables
from training.reads.binder.stock import messages, scrapped, stock

pytestmark = pytest.mark.django_db
BEFORE = TODAY - timedelta(days=10)


def asked(scene: Scene, first: Any = TODAY, last: Any = TODAY) -> BinderAsked:
    return BinderAsked(scene.cast.lane, first, last, last)


def cells(extra: Extra) -> list[list[str]]:
    """Without the fact."""
    return [row[:-1] for row in extra.rows]


def kept(scene: Scene, name: str = "Filters", **more: Any) -> None:
    said = {"name": name, "shelf": "additive", "line": 2, "full": 6} | more
    keep_in_stock(scene.cast.lane, BEFORE, by=scene.cast.owner.person, **said)


def moved(scene: Scene, what: StockSays, number: int) -> None:
    move_stock(scene.cast.lane, "Filters", what, number, by=scene.cast.owner.person)


def removed(scene: Scene, code: str, why: str) -> None:
    tool = enter_tool(
        MillingTool(site=scene.cast.lane, code=code, kind="fluted cutter", seat="hex"), by=scene.cast.owner.person
    )
    me, where = (
        scene.cast.supervisor.person,
        {"site": scene.cast.lane, "happened_on": TODAY, "done_by": scene.cast.supervisor.person},
    )
    sat = record(ToolMounted(equipment=scene.cast.unit, tool=tool, position=code, **where), by=me)
    record(ToolRemoved(mounting=sat, why=why, life_used=12, **where), by=me)


def test_each_line_says_where_it_is_ordered_and_what_came_and_went(scene: Scene) -> None:
    with noon():
        kept(scene, "No more", full=0, line=0)
        kept(scene)
        for what, number in ((StockSays.COUNTED, 5), (StockSays.CAME, 4), (StockSays.USED, 3)):
            moved(scene, what, number)
    assert cells(stock(asked(scene))) == [["Filters", "Additive", "2", "6", "5 on 3 Mar 2025", "4", "3"]]
    early = stock(asked(scene, BEFORE, BEFORE))
    assert cells(early) == [["Filters", "Additive", "2", "6", "never by hand", "0", "0"]]


def test_only_what_went_for_good_is_scrapped(scene: Scene) -> None:
    with noon():
        removed(scene, "F1", "chip")
        removed(scene, "F2", "another job")
    (row,) = cells(scrapped(asked(scene)))
    assert row[:5] == ["2025-03-03", "F1", "Fluted cutter", "unit 1", "chipped"]
    assert cells(scrapped(asked(scene, BEFORE, BEFORE))) == []


def test_a_message_stands_with_its_newest_remedy_and_how_often_it_is_named(scene: Scene) -> None:
    with noon():
        for remedy in ("wait.", "look at the level first."):
            keep_message(scene.cast.lane, scene.cast.unit, "W-12", remedy, by=scene.cast.owner.person, shown="flow low")
        stop_unit(scene.cast.unit, "It showed W-12 twice.", site=scene.cast.lane, by=scene.cast.assistant.person)
    found = cells(messages(asked(scene)))
    assert found == [["W-12", "flow low", "unit 1", "Look at the level first.", "2025-03-03", "1"]]


def test_every_line_leads_to_its_fact(scene: Scene) -> None:
    with noon():
        kept(scene)
    binder = asked(scene)
    made = {table.key: table for table in tables(binder, [], doubted(binder), [])}
    assert {"stock", "scrapped", "messages"} <= set(made)
    assert made["stock"].rows[0][-1] in binder.facts
