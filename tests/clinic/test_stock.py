"""The shelf with its list to order, messages of units with the site's own remedy, and tools that are offered no more."""

from datetime import date
from typing import Any
from uuid import uuid4

import pytest

from clinic.actions.stock import keep_in_stock, keep_message, move_stock
from clinic.actions.tools import enter_tool
from clinic.actions.upkeep import log_entry
from clinic.models import Equipment, MillingTool, StockMoved, ToolMounted, ToolRemoved, UnitMessage, UpkeepTask
from clinic.reads.stock import messages_of, on_shelf
from clinic.record import Refused, record
from clinic.rules.stock import StockSays
from tests.cast import REGISTER_START, Cast

pytestmark = pytest.mark.django_db
TODAY = date.today()


def kept(cast: Cast, name: str, shelf: str = "additive", **more: Any) -> None:
    keep_in_stock(cast.lane, TODAY, by=cast.owner.person, **{"name": name, "shelf": shelf, "line": 2, "full": 6} | more)


def tool(cast: Cast, code: str, out: str = "") -> MillingTool:
    made = enter_tool(
        MillingTool(site=cast.lane, code=code, kind="fluted cutter", size="2.0 mm", seat="hex"), by=cast.owner.person
    )
    if out:
        me, where = cast.supervisor.person, {"site": cast.lane, "happened_on": TODAY, "done_by": cast.supervisor.person}
        sat = record(ToolMounted(equipment=cast.unit, tool=made, position=code, **where), by=me)
        record(ToolRemoved(mounting=sat, why=out, **where), by=me)
    return made


def numbers(cast: Cast) -> dict[str, tuple[int, bool]]:
    return {one.name: (one.number, one.is_low) for one in on_shelf(cast.lane, TODAY)}


def test_what_is_counted_and_used_stands_on_the_list_to_order(cast: Cast, signed_in: Any) -> None:
    kept(cast, "Additive, litres")
    client, page = signed_in(cast.assistant), f"/{cast.lane.code}/upkeep/stock/"
    for what, number in (("counted", "4"), ("used", "2")):
        client.post(page, {"submission": str(uuid4()), "name": "Additive, litres", "what": what, "number": number})
    assert numbers(cast) == {"Additive, litres": (2, True)}
    said = client.get(page).content.decode()
    assert "1 thing to order." in said and "2 there; order 4, at 2 or below." in said


def test_spare_tools_count_themselves_without_the_scrapped(cast: Cast) -> None:
    kept(cast, "Cutters 2.0", "milling tool", tool="fluted cutter", size="2.0 mm")
    for code, out in (("A", ""), ("B", "chip"), ("C", "another job"), ("D", "")):
        tool(cast, code, out)
    assert numbers(cast) == {"Cutters 2.0": (3, False)}


def test_each_filter_change_uses_a_filter(cast: Cast) -> None:
    kept(cast, "Filters", "coolant filter")
    move_stock(cast.lane, "Filters", StockSays.COUNTED, 4, by=cast.assistant.person)
    task = UpkeepTask.objects.create(
        code="U71", title="Filter", equipment_kind="coolant filter", stands_for="filter change"
    )
    part = Equipment.objects.create(
        site=cast.lane, kind="coolant filter", label="filter 1", in_service_from=REGISTER_START
    )
    log_entry(task, part, cast.supervisor.person, site=cast.lane, by=cast.supervisor.person, day=TODAY)
    assert numbers(cast) == {"Filters": (3, False)}


def test_the_newest_line_counts_and_one_of_nothing_is_kept_no_more(cast: Cast) -> None:
    kept(cast, "Discs", "blocks and discs")
    kept(cast, "Discs", "blocks and discs", line=5, full=9)
    assert [(one.line, one.order) for one in on_shelf(cast.lane, TODAY)] == [(5, 9)]
    kept(cast, "Discs", "blocks and discs", line=0, full=0)
    assert numbers(cast) == {}


@pytest.mark.parametrize("changes", [{"line": 6}, {"shelf": "milling tool"}])
def test_a_line_that_says_nothing_is_refused(cast: Cast, changes: dict[str, Any]) -> None:
    with pytest.raises(Refused):
        kept(cast, "X", **changes)


def test_what_is_not_kept_and_what_cannot_be_counted_are_refused(cast: Cast) -> None:
    with pytest.raises(Refused, match="not kept in stock"):
        move_stock(cast.lane, "Nothing", StockSays.CAME, 1, by=cast.assistant.person)
    assert not StockMoved.objects.exists()


def test_a_scrapped_tool_is_offered_for_no_swap(cast: Cast, signed_in: Any) -> None:
    for code, out in (("A", ""), ("B", "chip"), ("C", "another job")):
        tool(cast, code, out)
    page = signed_in(cast.assistant).get(f"/{cast.lane.code}/upkeep/unit/{cast.unit.pk}/swap/").content.decode()
    assert [code for code in "ABC" if f">{code}: fluted cutter" in page] == ["A", "C"]


def test_a_message_is_found_by_a_few_letters_with_what_we_do(cast: Cast, signed_in: Any) -> None:
    client, page = signed_in(cast.assistant), f"/{cast.lane.code}/upkeep/messages/"
    form = {
        "code": "E-17",
        "shown": "Door not closed",
        "remedy": "Wipe the switch, shut the door once.",
        "equipment": "",
        "source": "",
    }
    client.post(page, form | {"submission": str(uuid4())})
    keep_message(cast.lane, cast.unit, "E-18", "Call service.", by=cast.assistant.person)
    assert "Wipe the switch, shut the door once." in client.get(f"{page}?words=DOOR+17").content.decode()
    assert "No message here has these letters." in client.get(f"{page}?words=spindle").content.decode()


def test_the_newest_remedy_of_a_message_counts_and_the_older_stays_on_record(cast: Cast) -> None:
    for remedy in ("Restart it.", "Never restart it: call."):
        keep_message(cast.lane, None, "E-17", remedy, by=cast.assistant.person)
    assert [row.remedy for row in messages_of(cast.lane, "e-17")] == ["Never restart it: call."]
    assert UnitMessage.objects.count() == 2
    assert messages_of(cast.court) == []
