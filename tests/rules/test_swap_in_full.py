"""Everything in the way of a swap in full: its field, what was found, what is needed."""

from dataclasses import replace

import pytest

from clinic.rules.swap import InTheWay, badly_chosen, in_the_way
from tests.rules.test_swap import FORBIDS, GOOD, OLD, RIGHT, TOOL, WRONG


def only(swap, drivers=(RIGHT, WRONG, OLD), table=None) -> InTheWay:
    (one,) = in_the_way(swap, drivers, table or {})
    return one


@pytest.mark.parametrize(
    ("changed", "found"),
    [
        (
            {"still": False},
            InTheWay(
                "still",
                "Something may still move.",
                "Wait until every spindle stands still, and bring the unit to its park position.",
            ),
        ),
        (
            {"nobody_can_start": False},
            InTheWay(
                "nobody_can_start", "Somebody could start a job.", "Make sure that nobody can start one from elsewhere."
            ),
        ),
        (
            {"protected": False},
            InTheWay("protected", "Hands and eyes are not protected.", "Put on cut-resistant gloves and eyewear."),
        ),
        (
            {"position": "4"},
            InTheWay(
                "position",
                "T1 does not belong into position 4.",
                "It belongs into position 1 or 2: check the code and the job.",
            ),
        ),
        (
            {"tool": replace(TOOL, mounted_in="Mill 2, position 1")},
            InTheWay(
                "tool", "T1 already sits in Mill 2, position 1.", "Take it out there first, or choose another tool."
            ),
        ),
        (
            {"tool": replace(TOOL, gone="broken")},
            InTheWay("tool", "T1 was taken out for good: broken.", "It belongs into the tub. Take another tool."),
        ),
        (
            {"driver": WRONG},
            InTheWay("driver", "driver B fits star 6; T1 needs hex 1.3.", "Take driver A."),
        ),
        (
            {"driver": replace(WRONG, seat="")},
            InTheWay("driver", "driver B fits nothing that is written down; T1 needs hex 1.3.", "Take driver A."),
        ),
        (
            {"driver": OLD},
            InTheWay(
                "driver",
                "The check of driver C was good through 1 March 2026. It may not be used.",
                "Take driver A.",
            ),
        ),
        (
            {"clicked": False},
            InTheWay(
                "clicked",
                "The driver did not click.",
                "Loosen it, clean the seat, and try once with another driver in date. Still no click: stop the unit"
                " (stop rule 1).",
            ),
        ),
        (
            {"counted_in": 1, "counted_out": 2},
            InTheWay(
                "counted_in",
                "2 tools before, 1 tool after.",
                "Find the piece before the door closes, then count again, the tub included.",
            ),
        ),
    ],
)
def test_what_was_found_and_what_is_needed(changed, found):
    assert only(replace(GOOD, **changed)) == found


def test_several_fitting_drivers_are_offered_and_where_there_is_none_the_work_stops():
    other = replace(RIGHT, name="driver D")
    assert only(replace(GOOD, driver=WRONG), (RIGHT, other, WRONG, OLD)).needed == "Take driver A or driver D."
    assert only(replace(GOOD, driver=WRONG), (WRONG, OLD)).needed == (
        "No driver here that fits it may be used today: stop, and tell the supervisor."
    )


def test_a_pair_that_the_site_has_forbidden_names_tool_and_material():
    one = only(GOOD, table=FORBIDS)
    assert (one.field, one.needed) == ("material", f"Found: {TOOL.kind} for {GOOD.pair[0]}, {GOOD.pair[1]}.")


def test_a_tool_without_positions_sits_anywhere_and_nothing_stands_in_the_way_of_only_taking_one_out():
    assert in_the_way(replace(GOOD, position="9", tool=replace(TOOL, positions=())), [RIGHT], {}) == []
    assert in_the_way(replace(GOOD, tool=None, pair=None, clicked=None), [], FORBIDS) == []
    assert in_the_way(replace(GOOD, driver=None, clicked=None), [], {}) == []


def test_a_bad_choice_is_known_before_the_door_is_opened():
    bad = replace(GOOD, still=False, position="4", driver=WRONG, clicked=False, counted_in=1)
    assert [one.field for one in badly_chosen(bad, [RIGHT, WRONG], {})] == ["position", "driver"]
