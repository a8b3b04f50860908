"""Site facts on paper that speaks of a whole site: nothing that one unit says is lost, and nothing is said twice."""

from types import SimpleNamespace
from typing import Any

from clinic.reads.site_answers import Stored
from training.reads.binder.places import shared
from training.rules.place import Answer


def row(value: str, unit: Any) -> Stored:
    return Stored(unit.pk, unit.label, Answer(value))


class Unit(SimpleNamespace):
    def __str__(self) -> str:
        return str(self.label)


ONE, TWO = Unit(pk=1, label="unit 1", part_of_id=None), Unit(pk=2, label="unit 2", part_of_id=None)
TANK = Unit(pk=3, label="tank", part_of_id=1)
UNITS: dict[Any, Any] = {unit.pk: unit for unit in (ONE, TWO, TANK)}


def test_a_tank_takes_the_answers_of_its_unit() -> None:
    rows = {"drain": [row("page 44", ONE), row("page 9", TWO)]}
    assert shared(rows, [TANK], UNITS)["drain"] == Answer("page 44")


def test_what_no_such_place_has_is_said_as_it_was_answered_elsewhere() -> None:
    rows = {"drain": [row("page 44", ONE), row("page 9", TWO)]}
    assert shared(rows, [None], UNITS)["drain"].value == "page 44 (unit 1) or page 9 (unit 2)"
