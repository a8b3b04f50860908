"""A set of tools: what is right, what is to be changed, which spare serves, and what two materials share."""

from clinic.rules.tool_sets import PositionWants, Sits, also_for, first_wrong, places
from clinic.rules.tools import Tool

ONE, TWO = PositionWants("1", Tool.FLUTED, "2.0 mm"), PositionWants("2", Tool.FLUTED_COATED)


def sits(name: str, kind: Tool = Tool.FLUTED, size: str = "2.0 mm", **more: object) -> Sits:
    return Sits(name, kind, size, **more)  # type: ignore[arg-type]


def test_a_position_is_right_where_kind_and_size_are_those_wanted() -> None:
    found = places([TWO, ONE], [sits("A", position="1"), sits("B", Tool.GRIT, position="2")])
    assert [(one.wanted.position, one.is_right) for one in found] == [("1", True), ("2", False)]
    assert first_wrong(found) is found[1]
    assert found[1].says == "B sits there; it is to hold fluted cutter, coated."


def test_a_worn_tool_is_not_right_and_a_worn_spare_is_no_spare() -> None:
    (found,) = places([ONE], [sits("A", position="1", worn=True), sits("B"), sits("C", worn=True)])
    assert (found.is_right, found.spares) == (False, ("B",))
    assert found.says == "A sits there, past its life; it is to hold fluted cutter, 2.0 mm."


def test_a_spare_serves_only_where_it_may_sit() -> None:
    (found,) = places([ONE], [sits("A", positions=("2",)), sits("B", positions=("1", "2")), sits("C", size="1.0 mm")])
    assert found.spares == ("B",)
    assert found.says == "Nothing sits there; it is to hold fluted cutter, 2.0 mm."


def test_a_complete_set_asks_for_no_swap() -> None:
    assert first_wrong(places([ONE], [sits("A", position="1")])) is None


def test_a_tool_that_two_materials_share_is_named_for_both() -> None:
    sets = {"polymer dry": [ONE], "glass-ceramic wet": [PositionWants("1", Tool.GRIT)]}
    assert also_for("1", sets, ONE) == ["polymer dry"]
