"""Handbook section 5e (Garwood's table, rows S-70 to S-74): counts, rates and the forecast of a counter.

Marks: V read in the source, R recomputed from the formula, D own design.
"""

import pytest

from clinic.rules.usage import days_until, garwood, rate
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


def test_a_filter_s_life_is_a_range_around_the_plug_in() -> None:
    """S-74, R for the 367.3 days of the plug-in; D for the range, which is what is shown."""
    found = days_until(100, 24, 90)
    assert round(found.likely, 1) == 367.3
    assert found.earliest < 367 < found.latest
    assert found.says == f"Between {found.earliest} and {found.latest} days from now (90 % range)."


FORECASTS = [  # events in days, the 5th and 95th percentile of what comes in 30 days
    pytest.param(24, 90, 3, 14, id="S-71 R"),
    pytest.param(8, 30, 3, 16, id="S-72 R"),
    pytest.param(
        *(VECTORS["gamma_poisson"][name] for name in ("y", "T", "q05", "q95")), id="vectors.json gamma_poisson R"
    ),
]


@pytest.mark.parametrize(("events", "days", "few", "many"), FORECASTS)
def test_the_range_of_days_is_the_forecast_of_thirty_days_read_along_the_days(
    events: int, days: int, few: int, many: int
) -> None:
    """So many are used within the 30 days with more than 5 %, one more with no more than that; and so at the other end."""
    assert days_until(many, events, days).earliest <= 30 <= days_until(many + 1, events, days).earliest
    assert days_until(few, events, days).latest <= 30 < days_until(few + 1, events, days).latest


def test_no_events_yet_is_not_a_forecast_of_none() -> None:
    """S-73, R: nothing in 30 days, and yet two are the 95th percentile of the next 30; no latest day (D)."""
    assert days_until(2, 0, 30).earliest <= 30 <= days_until(3, 0, 30).earliest
    assert days_until(100, 0, 30).latest is None
