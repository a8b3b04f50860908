"""Held against scipy, scikit-learn and statsmodels on random data: independent code for the same published formulas."""

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import betaprime, binomtest, chi2, multinomial, nbinom, poisson
from sklearn.metrics import cohen_kappa_score
from statsmodels.stats.inter_rater import cohens_kappa
from statsmodels.stats.proportion import proportion_confint

from clinic.rules.usage import beta_prime, days_until, garwood
from tests.rules.amount import examples
from training.rules.agreement import Weighting, agreement, table_of
from training.rules.charts import (
    chance_of_signal,
    learning_weights,
    signal_at,
    steps_of,
    trace,
)
from training.rules.learning import wilson

SOME = settings(max_examples=examples(60), deadline=None)


@SOME
@given(st.integers(1, 5000), st.data())
def test_wilson_is_statsmodels_and_scipys(n: int, data: st.DataObject) -> None:
    """Against statsmodels proportion_confint and scipy binomtest, method Wilson without correction."""
    met = data.draw(st.integers(0, n))
    found = wilson(met, n)
    scipys = binomtest(met, n).proportion_ci(method="wilson")
    assert (found.lower, found.upper) == pytest.approx(proportion_confint(met, n, method="wilson"), abs=1e-12)
    assert (found.lower, found.upper) == pytest.approx((scipys.low, scipys.high), abs=1e-12)


@SOME
@given(st.floats(0.001, 0.999), st.integers(1, 2000), st.floats(0.5, 2000))
def test_the_wait_for_a_counter_is_scipys_beta_prime(p: float, a: int, b: float) -> None:
    assert beta_prime(p, a, b) == pytest.approx(betaprime.ppf(p, a, b), rel=1e-9)


PAIRS = st.lists(st.tuples(st.sampled_from("abcd"), st.sampled_from("abcd")), min_size=2, max_size=80)
SKLEARN = {Weighting.NONE: None, Weighting.LINEAR: "linear", Weighting.QUADRATIC: "quadratic"}


@SOME
@given(PAIRS, st.sampled_from(Weighting))
def test_kappa_is_scikit_learns(pairs: list[tuple[str, str]], weighting: Weighting) -> None:
    found = agreement(table_of(pairs, "abcd"), weighting)
    if found.kappa is None:
        assert {mark for pair in pairs for mark in pair} == {pairs[0][0]}
        return
    first, second = zip(*pairs, strict=True)
    theirs = cohen_kappa_score(first, second, labels=list("abcd"), weights=SKLEARN[weighting])
    assert found.kappa == pytest.approx(theirs, abs=1e-12)


TABLES = st.lists(st.lists(st.integers(1, 40), min_size=3, max_size=3), min_size=3, max_size=3)


@SOME
@given(TABLES)
def test_unweighted_kappa_is_statsmodels(table: list[list[int]]) -> None:
    assert agreement(table).kappa == pytest.approx(cohens_kappa(table).kappa, abs=1e-12)


@SOME
@given(TABLES, st.sampled_from(Weighting))
def test_the_simple_error_is_that_of_a_multinomial_mean(table: list[list[int]], weighting: Weighting) -> None:
    """The variance of the observed agreement from scipy's multinomial covariance, the expected one taken as known."""
    found = agreement(table, weighting)
    counts = [count for row in table for count in row]
    weights = [float(weighting.of(i, j, 3)) for i in range(3) for j in range(3)]
    covariance = multinomial.cov(found.n, [count / found.n for count in counts])
    spread = sum(a * b * covariance[i][j] for i, a in enumerate(weights) for j, b in enumerate(weights)) ** 0.5
    assert found.error == pytest.approx(spread / found.n / (1 - found.expected), abs=1e-9)


@SOME
@given(st.integers(0, 3000), st.sampled_from([0.80, 0.90, 0.95, 0.99]))
def test_garwood_limits_leave_half_the_doubt_on_each_side(count: int, confidence: float) -> None:
    """Against scipy's Poisson and chi-squared tails."""
    found, tail = garwood(count, confidence), (1 - confidence) / 2
    assert poisson.cdf(count, found.upper) == pytest.approx(tail, rel=1e-6)
    assert found.lower == (0 if count == 0 else pytest.approx(chi2.isf(1 - tail, 2 * count) / 2, rel=1e-9))


@SOME
@given(st.integers(1, 150), st.integers(1, 200), st.integers(5, 400))
def test_the_days_until_are_the_forecast_read_along_the_days(left: int, events: int, days: int) -> None:
    """The counter reaches its mark within the range with 90 %: scipy's negative binomial at both ends."""
    found = days_until(left, events, days)
    reached = {
        ahead: nbinom.sf(left - 1, events + 0.5, days / (days + ahead)) for ahead in (found.earliest, found.latest)
    }
    assert reached[found.earliest] <= 0.05 + 1e-9
    assert reached[found.latest] >= 0.95 - 1e-9


def test_exact_chances_match_a_simulation() -> None:
    """S-56 in another way: 20 000 seeded random histories, within four standard errors."""
    draw, weights, runs = random.Random(8), learning_weights(0.10, 0.40), 20_000
    hits = sum(
        signal_at(trace(steps_of(weights, [draw.random() >= 0.40 for _ in range(20)])), 2.0) is not None
        for _ in range(runs)
    )
    exact = chance_of_signal(weights, 2.0, 0.40, 20)
    assert hits / runs == pytest.approx(exact, abs=4 * (exact * (1 - exact) / runs) ** 0.5)


def run_length(draw: random.Random, success: float, failure: float) -> int:
    score, length = 0.0, 0
    while score < 2.0:
        score, length = max(0.0, score + (failure if draw.random() < 0.20 else success)), length + 1
    return length
