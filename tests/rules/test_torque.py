"""Torque: bad numbers are refused in words, and a verification names every reason at once."""

from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest

from clinic.rules.torque import (
    ROOM_SWAPPED,
    DriverClass,
    Reference,
    Room,
    TorquePoint,
    check_points,
    details_refusals,
    deviation_percent,
    permissible_percent,
    reading_refusal,
    reference_refusals,
    room_refusals,
    target_refusals,
    verify,
    window,
)
from clinic.rules.torque_units import Unit, convert, exact, rounded

DAY = date(2026, 3, 2)
REFERENCE = Reference(Decimal(1), DAY)
ROOM = Room(Decimal(20), Decimal(21))


@pytest.mark.parametrize("text", ["", "twenty", "1/0", "nan", Decimal("NaN"), Decimal("Infinity")])
def test_what_is_no_number_is_refused(text: str | Decimal) -> None:
    with pytest.raises(ValueError, match="is not a number"):
        exact(text)


def test_a_float_is_refused() -> None:
    with pytest.raises(TypeError, match="text or Decimal"):
        exact(0.1)


@pytest.mark.parametrize("bad", ["0", "-20"])
def test_torques_that_are_not_above_nought_are_refused(bad: str) -> None:
    for ask in (
        lambda: deviation_percent(bad, 20),
        lambda: deviation_percent(20, bad),
        lambda: window(bad, 6),
        lambda: check_points(bad),
        lambda: permissible_percent(DriverClass.D, bad),
        lambda: permissible_percent(DriverClass.D, 1, bad),
    ):
        with pytest.raises(ValueError, match="must be above 0"):
            ask()


def test_a_limit_of_a_hundred_per_cent_leaves_no_window() -> None:
    with pytest.raises(ValueError, match="leaves no window"):
        window(20, 100)


def test_a_lowest_mark_above_the_middle_point_is_refused() -> None:
    with pytest.raises(ValueError, match="below 60 %"):
        check_points(30, lowest_marked=18)


def test_conversions_undo_each_other_exactly() -> None:
    for unit in Unit:
        assert convert(convert("12.34", Unit.NEWTON_CENTIMETRE, unit), unit, Unit.NEWTON_CENTIMETRE) == Fraction(
            "12.34"
        )


@pytest.mark.parametrize(("value", "shown"), [("5/1000", "0.01"), ("-5/1000", "-0.01"), ("2", "2.00"), ("1/3", "0.33")])
def test_rounding_goes_half_away_from_nought(value: str, shown: str) -> None:
    assert str(rounded(Fraction(value), 2)) == shown


def scaled(*sets: int) -> list[TorquePoint]:
    return [TorquePoint(Decimal(value), (Decimal(value),) * 5) for value in sets]


def test_a_scaled_driver_is_read_at_three_different_torques() -> None:
    limit = Fraction(6)
    assert verify(DriverClass.D, scaled(6, 18, 30), limit, DAY, REFERENCE, ROOM).passed
    found = verify(DriverClass.D, scaled(6, 6, 30), limit, DAY, REFERENCE, ROOM)
    assert found.reasons == ("Class D is read at 3 test points, not 2.",)


def test_every_reason_is_named_at_once() -> None:
    late = Reference(Decimal(2), date(2026, 3, 1))
    points = [TorquePoint(Decimal(20), (Decimal(20), Decimal(25)))]
    found = verify(DriverClass.E, points, Fraction(6), DAY, late, Room(Decimal(17), Decimal(20)))
    assert len(found.reasons) == 6
    assert found.reasons[0] == "At 20: 2 of 10 readings."
    assert [rounded(off, 1) for off in found.deviations[0]] == [0, -20]


def test_no_readings_at_all_never_pass() -> None:
    assert not verify(DriverClass.E, [], Fraction(6), DAY, REFERENCE, ROOM).passed


def test_a_reading_exactly_at_the_limit_passes() -> None:
    low, high = (Fraction(20) / Fraction("1.25"), Fraction(20) / Fraction("0.8"))
    point = TorquePoint(Decimal(20), (Decimal(16), Decimal(25), *[Decimal(20)] * 8))
    assert (low, high) == (16, 25)
    assert verify(DriverClass.E, [point], Fraction(25), DAY, REFERENCE, ROOM).passed


def test_a_reference_is_in_date_through_its_last_good_day() -> None:
    assert reference_refusals(REFERENCE, DAY) == []
    assert "through 2026-03-02 only" in reference_refusals(REFERENCE, date(2026, 3, 3))[0]


@pytest.mark.parametrize(
    ("set_value", "most", "lowest", "wrong"),
    [
        ("20", "20", None, []),
        ("20.1", "20", None, ["set_torque"]),
        ("20", "20", "11.99", []),
        ("20", "20", "12", ["lowest_marked"]),
        ("30", "20", "20", ["set_torque", "lowest_marked"]),
    ],
)
def test_every_torque_of_the_papers_is_looked_at(
    set_value: str, most: str, lowest: str | None, wrong: list[str]
) -> None:
    assert list(details_refusals(set_value, most, lowest)) == wrong


@pytest.mark.parametrize(
    ("reading", "fine"), [("4", True), ("3.999", False), ("100", True), ("100.001", False), ("0", False), ("x", False)]
)
def test_a_slip_of_the_point_is_no_reading(reading: str, fine: bool) -> None:
    """Five times either way of 20 (common practice, no source)."""
    assert (reading_refusal("20", reading) is None) is fine


def test_a_room_cannot_be_colder_at_its_highest() -> None:
    assert room_refusals(Room(Decimal(25), Decimal(19))) == [ROOM_SWAPPED]
    assert room_refusals(Room(Decimal(21), Decimal(21))) == []


def test_the_driver_is_at_fault_only_where_a_reading_is_outside() -> None:
    warm = Room(Decimal(29), Decimal(29))
    good, bad = ([TorquePoint(Decimal(20), (Decimal(value),) * 10)] for value in ("20", "18.8"))
    said = [verify(DriverClass.E, points, Fraction(6), DAY, REFERENCE, warm) for points in (good, bad)]
    assert [(one.passed, one.outside) for one in said] == [(False, False), (False, True)]


def test_a_target_of_nought_is_refused() -> None:
    assert target_refusals("0", "page 3") == {"set_torque": "A target torque of 0 is not above 0."}


def test_nought_is_a_fair_answer_where_nothing_is_left_or_off() -> None:
    assert reference_refusals(Reference(Decimal(0), DAY), DAY) == []
