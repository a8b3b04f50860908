"""Handbook section 5a, 5b, 5d (rows S-01 to S-29, S-50 to S-61): intervals, sample sizes and watch-keeping charts.

Marks: V read in the source, R recomputed from the formula, M from memory, C common practice, D own design.
"""

import re

import pytest

from tests.published.vectors import VECTORS
from training.rules.charts import (
    LEARNING_CHART,
    Chart,
    chance_of_signal,
    learning_picture,
    learning_weights,
    signal_at,
    slipping_weights,
    steps_of,
    trace,
)
from training.rules.learning import clean_sentence, counts_sentence, demonstrated_reliability, wilson, zero_failure_size

WILSON = [
    pytest.param(81, 263, 0.2553, 0.3662, id="S-01 R, Newcombe 1998 (table M)"),
    pytest.param(15, 148, 0.0624, 0.1605, id="S-02 R, Newcombe 1998 (table M)"),
    pytest.param(0, 20, 0.0000, 0.1611, id="S-03 R"),
    pytest.param(1, 29, 0.0061, 0.1718, id="S-04 R"),
    pytest.param(3, 3, 0.4385, 1.0000, id="S-05 R"),
    pytest.param(5, 5, 0.5655, 1.0000, id="S-06 R"),
    pytest.param(4, 5, 0.3755, 0.9638, id="S-07 R"),
    pytest.param(9, 10, 0.5958, 0.9821, id="S-08 R"),
    pytest.param(10, 10, 0.7225, 1.0000, id="S-09 R"),
    pytest.param(18, 20, 0.6990, 0.9721, id="S-10 R"),
    pytest.param(20, 20, 0.8389, 1.0000, id="S-11 R"),
    pytest.param(29, 29, 0.8830, 1.0000, id="S-12 R"),
    *(pytest.param(*row, id=f"vectors.json R {row[0]} of {row[1]}") for row in VECTORS["wilson95"]),
]


@pytest.mark.parametrize(("met", "n", "lower", "upper"), WILSON)
def test_wilson_limits_have_the_published_digits(met: int, n: int, lower: float, upper: float) -> None:
    interval = wilson(met, n)
    assert interval is not None
    assert interval.lower == pytest.approx(lower, abs=5.1e-5)
    assert interval.upper == pytest.approx(upper, abs=5.1e-5)


def test_wilson_agrees_with_a_public_test_list_at_its_own_quantile() -> None:
    """Section 5a, V: with z = 1.96, 10 of 100 gives 0.055229, 0.174367; 0 of 1 ends at 0.793457."""
    ten, none = wilson(10, 100, z=1.96), wilson(0, 1, z=1.96)
    assert (round(ten.lower, 6), round(ten.upper, 6)) == (0.055229, 0.174367)
    assert round(none.upper, 6) == 0.793457


def test_the_limits_at_nought_and_one_are_exact() -> None:
    """S-03, S-05, R: 0 and 1 themselves, not a hair beside them."""
    assert all(wilson(0, n).lower == 0.0 and wilson(n, n).upper == 1.0 for n in range(1, 200))


def test_the_lower_limit_of_all_of_n_has_its_closed_form() -> None:
    """S-11, R: n/(n + z²), for 20 of 20 it is 20/23.8415."""
    assert wilson(20, 20).lower == pytest.approx(20 / 23.8415, abs=1e-5)


def test_no_data_gives_no_interval() -> None:
    """S-13, R: n = 0 is "no data", never a division by zero."""
    assert wilson(0, 0) is None


RELIABILITIES = (0.80, 0.85, 0.90, 0.95, 0.97, 0.98, 0.99, 0.999)
ZERO_FAILURE = {
    "S-20 R": (0.80, (8, 10, 16, 32, 53, 80, 161, 1609)),
    "S-21 R": (0.90, (11, 15, 22, 45, 76, 114, 230, 2302)),
    "S-22 R, 2995 also V": (0.95, (14, 19, 29, 59, 99, 149, 299, 2995)),
    "S-23 R": (0.99, (21, 29, 44, 90, 152, 228, 459, 4603)),
}
SIZES = [
    pytest.param(reliability, confidence, n, id=f"{row} {reliability}")
    for row, (confidence, sizes) in ZERO_FAILURE.items()
    for reliability, n in zip(RELIABILITIES, sizes, strict=True)
] + [pytest.param(r, c, n, id=f"vectors.json R {c}/{r}") for c, r, n in VECTORS["zero_failure_n"]]


@pytest.mark.parametrize(("reliability", "confidence", "n"), SIZES)
def test_zero_failure_sizes_are_the_table_s(reliability: float, confidence: float, n: int) -> None:
    assert zero_failure_size(reliability, confidence) == n


DEMONSTRATED = [
    (1, 0.0500, 0.1000, 0.2000),
    (2, 0.2236, 0.3162, 0.4472),
    (3, 0.3684, 0.4642, 0.5848),
    (5, 0.5493, 0.6310, 0.7248),
    (8, 0.6877, 0.7499, 0.8178),
    (10, 0.7411, 0.7943, 0.8513),
    (20, 0.8609, 0.8913, 0.9227),
    (29, 0.9019, 0.9237, 0.9460),
    (59, 0.9505, 0.9617, 0.9731),
]


@pytest.mark.parametrize(("n", "at_95", "at_90", "at_80"), DEMONSTRATED, ids=[f"S-25 R n={d[0]}" for d in DEMONSTRATED])
def test_what_n_clean_runs_show(n: int, at_95: float, at_90: float, at_80: float) -> None:
    shown = [round(demonstrated_reliability(n, confidence), 4) for confidence in (0.95, 0.90, 0.80)]
    assert shown == [at_95, at_90, at_80]


@pytest.mark.parametrize("n", range(29), ids="S-26 D n={}".format)
def test_below_29_performances_a_sentence_has_counts_and_no_percentage(n: int) -> None:
    for met in range(n + 1):
        sentence = counts_sentence(met, n)
        assert not re.search(r"%|per ?cent|0\.\d|reliab|confiden", sentence)
        assert sentence.startswith(f"{met} of {n} observed performances" if n else "No performance")


def test_from_29_on_the_interval_stands_beside_the_counts() -> None:
    """S-26 (D), S-12 (R): never a bare percentage, the Wilson limits of 29 of 29 are 0.8830 and 1."""
    says = "29 of 29 observed performances met every critical step (95 % interval 88.3 % to 100.0 %)."
    assert counts_sentence(29, 29) == says


def test_the_sentence_of_a_clean_record_says_what_the_table_says() -> None:
    """S-25, R: 29 show .9019 and 59 show .9505 at 95 %; said as "at least", so rounded down."""
    assert "with 95 % confidence at least 90.1 % of" in clean_sentence(29, 29)
    assert "with 95 % confidence at least 95.0 % of" in clean_sentence(59, 59)


@pytest.mark.parametrize("n", range(1, 29), ids="S-26 D n={}".format)
def test_below_29_clean_performances_nothing_is_said_in_figures(n: int) -> None:
    assert not re.search(r"%|per ?cent|0\.\d", clean_sentence(n, n))


@pytest.mark.parametrize(
    ("reliability", "confidence", "n"),
    [(0.95, 0.95, 59), (0.90, 0.90, 22), (0.5, 0.75, 2), (0.5, 0.875, 3), (0.1, 0.99, 2), (0.1, 0.999, 3)],
)
def test_the_ceiling_is_guarded_against_rounding(reliability: float, confidence: float, n: int) -> None:
    """S-27, R: exact powers come out as themselves and not one more."""
    assert zero_failure_size(reliability, confidence) == n


LEARNING_WEIGHTS = [
    pytest.param(0.10, 0.40, 0.405465, 5, id="S-53 R"),
    pytest.param(0.05, 0.20, 0.171850, 12, id="S-55 R"),
]


@pytest.mark.parametrize(("p0", "p1", "success", "straight"), LEARNING_WEIGHTS)
def test_learning_weights_and_the_straight_successes_they_need(
    p0: float, p1: float, success: float, straight: int
) -> None:
    """Biau and others 2008 (formula V on a later methods page)."""
    weights = learning_weights(p0, p1)
    assert (round(weights.success, 6), round(weights.failure, 6)) == (success, -1.386294)
    assert signal_at(trace(steps_of(weights, [True] * 20)), 2.0) == straight


def successes(text: str) -> list[bool]:
    return [letter == "S" for letter in text]


def test_the_published_learning_trace_signals_at_the_eighth_attempt() -> None:
    """S-54 and vectors.json lc_cusum, R."""
    row = VECTORS["lc_cusum"]
    scores = trace(steps_of(learning_weights(row["p0"], row["p1"]), successes(row["seq"])))
    assert [round(score, 6) for score in scores] == row["trace"]
    assert signal_at(scores, row["h"]) == row["signal_at"] == 8


def test_the_stricter_learning_trace_signals_at_the_seventeenth() -> None:
    """S-55, R: SSSS F then twelve S."""
    scores = trace(steps_of(learning_weights(0.05, 0.20), successes("SSSSF" + 12 * "S")))
    assert [round(scores[place], 6) for place in (3, 4, 16)] == [0.687401, 0.0, 2.062203]
    assert signal_at(scores, 2.0) == 17


def test_the_published_slipping_trace_alarms_at_the_seventh() -> None:
    """S-58 and vectors.json cusum, R; Page, Steiner and others 2000 (abstract V)."""
    row = VECTORS["cusum"]
    weights = slipping_weights(row["p0"], row["p1"])
    assert (round(weights.failure, 6), round(weights.success, 6)) == (1.386294, -0.171850)
    scores = trace(steps_of(weights, successes(row["seq"])))
    assert [round(score, 6) for score in scores] == row["trace"]
    assert signal_at(scores, row["h"]) == row["signal_at"] == 7


SIGNALS = [  # chart, chances at 10, 20, 30, 60 for somebody truly good (p0) and truly bad (p1)
    pytest.param(
        Chart(0.10, 0.40, 2.0),
        [0.8857, 0.9936, 0.9997, 1.0000],
        [0.2333, 0.4782, 0.6450, 0.8883],
        id="S-56 R .10/.40 h=2",
    ),
    pytest.param(
        Chart(0.10, 0.40, 3.0),
        [0.5166, 0.9232, 0.9888, 1.0000],
        [0.0302, 0.1150, 0.1921, 0.3851],
        id="S-56 R .10/.40 h=3",
    ),
    pytest.param(
        Chart(0.05, 0.20, 2.0),
        [0.0000, 0.7565, 0.9458, 0.9988],
        [0.0000, 0.1787, 0.3167, 0.6001],
        id="S-56 R .05/.20 h=2",
    ),
]


@pytest.mark.parametrize(("chart", "good", "bad"), SIGNALS)
def test_exact_chances_of_having_signalled(chart: Chart, good: list[float], bad: list[float]) -> None:
    weights = learning_weights(chart.p0, chart.p1)
    for rate, expected in ((chart.p0, good), (chart.p1, bad)):
        assert [round(chance_of_signal(weights, chart.h, rate, n), 4) for n in (10, 20, 30, 60)] == expected


def test_the_default_advisory_chart_shows_its_false_signal_rate_beside_it() -> None:
    """S-52 (V), S-57 (D): advisory, p0 = .10, p1 = .40, h = 2, and a chance of .2333 to mislead at ten performances."""
    assert Chart(0.10, 0.40, 2.0) == LEARNING_CHART
    picture = learning_picture([True] * 10, people=12)
    assert round(picture.chance_if_bad, 4) == 0.2333
    assert picture.says.startswith("Advisory only")
    assert "23 %" in picture.says


@pytest.mark.parametrize("n", range(6), ids="S-57 D n={}".format)
def test_up_to_five_performances_stay_quiet(n: int) -> None:
    assert learning_picture([True] * n, people=12).quiet
