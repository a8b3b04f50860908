"""Usage: bad counts are refused in words, and no data is no forecast."""

import pytest

from clinic.rules.usage import days_until, garwood, rate


def test_a_negative_count_is_refused() -> None:
    with pytest.raises(ValueError, match="count cannot be negative: -1"):
        garwood(-1)


@pytest.mark.parametrize("confidence", [0, 1, 1.5])
def test_a_confidence_outside_nought_and_one_is_refused(confidence: float) -> None:
    with pytest.raises(ValueError, match="confidence must lie between"):
        garwood(3, confidence)


def test_no_exposure_is_no_rate() -> None:
    assert rate(0, 0) is None
    with pytest.raises(ValueError, match="exposure cannot be negative"):
        rate(1, -1)


@pytest.mark.parametrize("left", [0, -4])
def test_a_reached_mark_is_reached_now(left: int) -> None:
    found = days_until(left, 24, 90)
    assert (found.earliest, found.latest, found.says) == (0, 0, "The mark is reached.")


def test_without_any_days_there_is_no_forecast() -> None:
    found = days_until(10, 0, 0)
    assert (found.likely, found.latest, found.says) == (None, None, "No use recorded yet: no forecast.")


def test_without_events_no_latest_day_is_named() -> None:
    assert "no latest day can be given" in days_until(100, 0, 30).says


def test_negative_events_or_days_are_refused() -> None:
    with pytest.raises(ValueError, match="number of events cannot be negative"):
        days_until(10, -1, 30)
    with pytest.raises(ValueError, match="number of days cannot be negative"):
        days_until(10, 1, -30)


def test_more_left_takes_longer() -> None:
    near, far = days_until(10, 24, 90), days_until(100, 24, 90)
    assert near.earliest < far.earliest
    assert near.latest < far.latest


def test_a_single_day_of_use_already_gives_a_range() -> None:
    found = days_until(2, 3, 1)
    assert found.likely == pytest.approx(2 / 3.5)
    assert found.latest is not None
