"""Handbook section 5e (Garwood's table, rows S-70 to S-74): counts, rates and the forecast of a counter.

Marks: V read in the source, R recomputed from the formula, D own design.
"""

import pytest

from clinic.rules.usage import days_until, forecast, garwood, rate
from tests.published.vectors import VECTORS

GARWOOD = [  # Garwood 1936; V for the upper limit of 0 and for 10, the rest R
    (0, 0.0, 3.6889),
    (1, 0.0253, 5.5716),
    (2, 0.2422, 7.2247),
    (3, 0.6187, 8.7673),
    (4, 1.0899, 10.2416),
    (5, 1.6235, 11.6683),
    (6, 2.2019, 13.0595),
    (7, 2.8144, 14.4227),
    (8, 3.4538, 15.7632),
    (10, 4.7954, 18.3904),
    (12, 6.2006, 20.9616),
    (15, 8.3954, 24.7402),
    (20, 12.2165, 30.8884),
    (30, 20.2409, 42.8269),
    (100, 81.3640, 121.6268),
]


@pytest.mark.parametrize(("count", "lower", "upper"), GARWOOD + VECTORS["garwood95"])
def test_exact_limits_of_a_count(count: int, lower: float, upper: float) -> None:
    """Garwood 1936 (k = 0 and 10 V, the rest R), and vectors.json garwood95 (R)."""
    limits = garwood(count)
    assert (round(limits.lower, 4), round(limits.upper, 4)) == (lower, upper)


def test_a_rate_and_its_limits_are_divided_by_the_exposure() -> None:
    """S-70, R: ten broken tools in 200 jobs."""
    found = rate(10, 200)
    assert found.value == 0.05
    assert (round(found.limits.lower, 4), round(found.limits.upper, 4)) == (0.0240, 0.0920)


FORECASTS = [
    pytest.param(24, 90, 8.1667, 10.8889, [3, 8, 14], [3, 15], id="S-71 R"),
    pytest.param(8, 30, 8.5, 17.0, [3, 8, 16], [2, 18], id="S-72 R"),
]


@pytest.mark.parametrize(("events", "days", "mean", "variance", "five_half_95", "middle_95"), FORECASTS)
def test_the_forecast_of_thirty_days(
    events: int, days: float, mean: float, variance: float, five_half_95: list[int], middle_95: list[int]
) -> None:
    found = forecast(events, days, ahead=30)
    assert (round(found.mean, 4), round(found.variance, 4)) == (mean, variance)
    assert [found.quantile(share) for share in (0.05, 0.50, 0.95)] == five_half_95
    assert [found.quantile(share) for share in (0.025, 0.975)] == middle_95


def test_the_published_vector_of_the_forecast() -> None:
    """vectors.json gamma_poisson, R (row S-71)."""
    row = VECTORS["gamma_poisson"]
    found = forecast(row["y"], row["T"], row["t"], prior=(row["a"], row["b"]))
    assert (round(found.mean, 4), round(found.variance, 4)) == (row["mean"], row["var"])
    assert [found.quantile(q) for q in (0.05, 0.50, 0.95)] == [row["q05"], row["q50"], row["q95"]]


def test_no_events_yet_is_not_a_forecast_of_none() -> None:
    """S-73, R: mean .5, 95th percentile 2; and no latest day (D)."""
    found = forecast(0, 30, 30)
    assert (found.mean, found.quantile(0.95)) == (0.5, 2)
    assert days_until(100, 0, 30).latest is None


def test_a_filter_s_life_is_a_range_around_the_plug_in() -> None:
    """S-74, R for the 367.3 days of the plug-in; D for the range, which is what is shown."""
    found = days_until(100, 24, 90)
    assert round(found.likely, 1) == 367.3
    assert found.earliest < 367 < found.latest
    assert found.says == f"Between {found.earliest} and {found.latest} days from now (90 % range)."
