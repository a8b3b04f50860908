"""Site facts on paper that speaks of a whole site: nothing that one unit says is lost, and nothing is said twice."""

from types import SimpleNamespace
from typing import Any

from training.reads.binder_places import joined, shared
from training.rules.place import Answer


def row(value: str, equipment: Any = None, not_used: bool = False) -> Any:
    return SimpleNamespace(value=value, not_used=not_used, equipment_id=equipment and equipment.pk)


class Unit(SimpleNamespace):
    def __str__(self) -> str:
        return str(self.label)


ONE, TWO = Unit(pk=1, label="unit 1", part_of_id=None), Unit(pk=2, label="unit 2", part_of_id=None)
TANK = Unit(pk=3, label="tank", part_of_id=1)
UNITS: dict[Any, Any] = {unit.pk: unit for unit in (ONE, TWO, TANK)}


def test_units_that_agree_say_it_once() -> None:
    assert joined([(ONE, row("page 31")), (TWO, row("page 31"))]) == Answer("page 31")


def test_units_that_differ_are_each_named() -> None:
    assert joined([(ONE, row("page 31")), (TWO, row("page 8"))]).value == "page 31 (unit 1) or page 8 (unit 2)"


def test_not_used_is_said_only_where_no_unit_uses_it() -> None:
    assert joined([(ONE, row("", not_used=True))]).not_used
    assert joined([(ONE, row("", not_used=True)), (TWO, row("page 8"))]) == Answer("page 8")


def test_a_tank_takes_the_answers_of_its_unit() -> None:
    rows = {"drain": [row("page 44", ONE), row("page 9", TWO)]}
    assert shared(rows, [TANK], UNITS)["drain"] == Answer("page 44")


def test_what_no_such_place_has_is_said_as_it_was_answered_elsewhere() -> None:
    rows = {"drain": [row("page 44", ONE), row("page 9", TWO)]}
    assert shared(rows, [None], UNITS)["drain"].value == "page 44 (unit 1) or page 9 (unit 2)"
