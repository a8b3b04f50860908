"""Water: bad numbers are refused in words, and what is unknown never passes."""

from datetime import date

import pytest

from clinic.rules.water import (
    HSE_CURRENT,
    LINE_OUT,
    Count,
    Edges,
    edges_on,
    geometric_mean,
    judge_line,
    judge_tank,
    line_limit,
    log_reduction,
)


def test_a_negative_count_is_refused() -> None:
    with pytest.raises(ValueError, match="cannot be negative: -1"):
        Count(-1)


def test_a_negative_makers_limit_is_refused() -> None:
    with pytest.raises(ValueError, match="maker’s limit cannot be negative"):
        line_limit(-5)


def test_a_makers_limit_of_nought_is_a_limit() -> None:
    assert line_limit(0) == 0


def test_too_numerous_to_count_never_passes_a_line() -> None:
    assert not judge_line(Count(300, too_many=True)).passed


def test_a_failed_line_says_what_to_do_and_a_passed_one_does_not() -> None:
    assert judge_line(Count(501)).says == f"501 CFU/mL, limit 500: fail. {LINE_OUT}"
    assert judge_line(Count(0)).says == "0 CFU/mL, limit 500: pass."


def test_a_tank_result_says_its_band_and_what_to_do() -> None:
    assert judge_tank(Count(10**6)).says.startswith("1,000,000 CFU/mL: poor. Drain")


@pytest.mark.parametrize(("lower", "upper"), [(0, 10), (10, 10), (10, 5)])
def test_band_edges_out_of_order_are_refused(lower: int, upper: int) -> None:
    with pytest.raises(ValueError, match="bands need"):
        Edges("ours", lower, upper)


def test_before_any_dated_setting_the_current_edges_count() -> None:
    assert edges_on([], date(2026, 1, 1)) is HSE_CURRENT
    assert edges_on([(date(2026, 1, 2), Edges("ours", 1, 2))], date(2026, 1, 1)) is HSE_CURRENT


def test_no_values_have_no_mean() -> None:
    assert geometric_mean([]) is None


@pytest.mark.parametrize("limit", [None, 0, -1])
def test_a_zero_needs_its_detection_limit(limit: float | None) -> None:
    with pytest.raises(ValueError, match="needs that limit"):
        geometric_mean([0, 10], limit)


def test_a_mean_of_negative_counts_is_refused() -> None:
    with pytest.raises(ValueError, match="cannot be negative"):
        geometric_mean([-1, 10])


def test_a_mean_says_how_many_it_replaced() -> None:
    assert geometric_mean([0, 0, 8], detection_limit=2).replaced == 2
    assert geometric_mean([0, 4], detection_limit=2).value == pytest.approx(2)


def test_growth_is_a_negative_reduction() -> None:
    assert log_reduction(10, 1000) == pytest.approx(-2)


def test_a_reduction_to_nought_is_refused() -> None:
    with pytest.raises(ValueError, match="must be above 0"):
        log_reduction(0, 1)


def test_a_mean_takes_anything_above_nought() -> None:
    assert geometric_mean([0.5, 0.0], detection_limit=0.5).value == pytest.approx(0.125**0.5)
