"""A swap names everything in its way at once, with what was found and what is needed."""

from dataclasses import replace

import pytest

from clinic.rules.swap import Driver, NewTool, Swap, in_the_way, warnings
from clinic.rules.tools import Material, MillingWay, Tool

TOOL = NewTool("T1", Tool.FLUTED, "hex 1.3", ("1", "2"))
RIGHT, WRONG = Driver("driver A", "hex 1.3"), Driver("driver B", "star 6")
OLD = Driver("driver C", "hex 1.3", "The check of driver C was good through 1 March 2026.")
ZIRCONIA = (Material.ZIRCONIA, MillingWay.DRY)
GOOD = Swap(True, True, True, "1", TOOL, RIGHT, True, 6, 6, ZIRCONIA)
FORBIDS = {(Tool.FLUTED, Material.ZIRCONIA, MillingWay.DRY): False}


def fields(swap: Swap, table: dict = {}) -> list[str]:  # noqa: B006 - never changed
    return [one.field for one in in_the_way(swap, [RIGHT, WRONG, OLD], table)]


def test_a_swap_in_order_goes_on() -> None:
    assert fields(GOOD) == []


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        (replace(GOOD, still=False), "still"),
        (replace(GOOD, nobody_can_start=False), "nobody_can_start"),
        (replace(GOOD, protected=False), "protected"),
        (replace(GOOD, position="4"), "position"),
        (replace(GOOD, tool=replace(TOOL, mounted_in="unit 2, position 1")), "tool"),
        (replace(GOOD, driver=WRONG), "driver"),
        (replace(GOOD, driver=OLD), "driver"),
        (replace(GOOD, clicked=False), "clicked"),
        (replace(GOOD, counted_in=5), "counted_in"),
    ],
)
def test_one_thing_in_the_way_is_named_by_its_field(wrong: Swap, field: str) -> None:
    assert fields(wrong) == [field]


def test_everything_in_the_way_is_named_at_once() -> None:
    worst = Swap(False, False, False, "4", TOOL, WRONG, False, 6, 5, ZIRCONIA)
    assert fields(worst, FORBIDS) == [
        "still",
        "nobody_can_start",
        "protected",
        "position",
        "material",
        "driver",
        "clicked",
        "counted_in",
    ]


def test_the_wrong_driver_is_named_with_what_is_needed_and_which_fits() -> None:
    (one,) = in_the_way(replace(GOOD, driver=WRONG), [RIGHT, WRONG, OLD], {})
    assert (one.found, one.needed) == ("driver B fits star 6; T1 needs hex 1.3.", "Take driver A.")


def test_an_out_of_date_driver_is_named_with_its_day_even_where_it_fits() -> None:
    (one,) = in_the_way(replace(GOOD, driver=OLD), [OLD], {})
    assert one.found == "The check of driver C was good through 1 March 2026. It may not be used."
    assert one.needed.startswith("No driver here that fits it may be used today")


def test_the_makers_table_blocks_and_the_default_only_warns() -> None:
    """Z-07, Z-08: forbidden in the maker's table → block; against the default only → warn (common practice, no source)."""
    odd = replace(GOOD, pair=(Material.GLASS_CERAMIC, MillingWay.WET))
    assert fields(GOOD, FORBIDS) == ["material"]
    assert fields(odd) == []
    assert warnings(odd, {})[0].startswith("Unusual: fluted cutter on glass-ceramic, wet")


def test_a_tool_held_in_another_way_needs_no_driver_and_no_click() -> None:
    assert fields(replace(GOOD, driver=None, clicked=None)) == []
