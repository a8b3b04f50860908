"""What is on the shelf: a count says it, what came and went is added, and what the register knows takes one each."""

from datetime import UTC, date, datetime

import pytest

from clinic.rules.stock import Moved, OnShelf, Shelf, StockSays, left, named_in

MONDAY, TUESDAY = date(2026, 3, 2), date(2026, 3, 3)
EIGHT, NINE, TEN = (datetime(2026, 3, 2, hour, tzinfo=UTC) for hour in (8, 9, 10))


def moved(what: StockSays, number: int, day: date = MONDAY, at: datetime = NINE) -> Moved:
    return Moved(what, number, day, at)


@pytest.mark.parametrize(
    ("moves", "number"),
    [
        ([], 0),
        ([moved(StockSays.COUNTED, 5), moved(StockSays.USED, 2), moved(StockSays.CAME, 6)], 9),
        (
            [moved(StockSays.CAME, 4), moved(StockSays.COUNTED, 3)],
            3,
        ),  # what was counted is true, whatever was added up before
        ([moved(StockSays.COUNTED, 1), moved(StockSays.USED, 4)], 0),
    ],
)
def test_the_number_on_the_shelf(moves: list[Moved], number: int) -> None:
    assert left(moves) == number


def test_a_use_that_the_register_knows_takes_one_where_it_came_after_the_count() -> None:
    counted = [moved(StockSays.COUNTED, 5)]
    assert left(counted, [(MONDAY, EIGHT), (MONDAY, TEN), (TUESDAY, TEN)]) == 3
    assert left(counted, [(date(2026, 3, 1), TEN)]) == 5  # done before, written down after: the count saw it
    assert left([], [(MONDAY, TEN)]) == 0


@pytest.mark.parametrize(("number", "low", "order"), [(3, False, 0), (2, True, 4), (0, True, 6)])
def test_at_its_line_or_below_it_is_ordered_up_to_full(number: int, low: bool, order: int) -> None:
    one = OnShelf("Filters", Shelf.FILTER, number, 2, 6)
    assert (one.is_low, one.order) == (low, order)


@pytest.mark.parametrize(
    ("code", "number"), [("W-12", 2), ("w-12", 2), ("W-1", 0), ("12", 0), ("D-03", 1), ("", 0), ("(E)", 1)]
)
def test_a_message_is_named_as_a_word_by_itself(code: str, number: int) -> None:
    texts = ["It showed W-12, again.", "w-12", "D-03; then W-123.", "AW-12 (E)"]
    assert named_in(code, texts) == number
