"""Learning: bad counts and settings are refused in words, and too little data stays quiet."""

import pytest

from training.rules.charts import (
    chance_of_signal,
    learning_picture,
    learning_weights,
    signal_at,
    slipping_picture,
    slipping_weights,
    trace,
)
from training.rules.learning import (
    clean_sentence,
    counts_sentence,
    demonstrated_reliability,
    may_judge,
    wilson,
    zero_failure_size,
)


@pytest.mark.parametrize(("met", "n"), [(-1, 3), (0, -1)])
def test_negative_counts_are_refused(met: int, n: int) -> None:
    with pytest.raises(ValueError, match="cannot be negative"):
        wilson(met, n)


def test_more_met_than_observed_is_refused() -> None:
    with pytest.raises(ValueError, match="More met than observed: 4 of 3"):
        counts_sentence(4, 3)


@pytest.mark.parametrize("share", [0.0, 1.0, -0.1, 1.1])
def test_shares_outside_nought_and_one_are_refused(share: float) -> None:
    for ask in (lambda: zero_failure_size(share, 0.9), lambda: zero_failure_size(0.9, share)):
        with pytest.raises(ValueError, match="must lie between 0 and 1"):
            ask()


def test_no_run_shows_no_reliability() -> None:
    assert demonstrated_reliability(0, 0.95) == 0.0


def test_a_tiny_confidence_still_asks_one_performance() -> None:
    assert zero_failure_size(0.5, 0.1) == 1


@pytest.mark.parametrize(("p0", "p1"), [(0.4, 0.1), (0.2, 0.2)])
def test_the_acceptable_rate_must_be_the_smaller(p0: float, p1: float) -> None:
    for weights in (learning_weights, slipping_weights):
        with pytest.raises(ValueError, match="must be below"):
            weights(p0, p1)


def test_an_empty_history_has_no_trace_and_no_signal() -> None:
    assert trace([]) == ()
    assert signal_at((), 2.0) is None


def test_a_score_exactly_at_the_limit_signals() -> None:
    assert signal_at((1.0, 2.0), 2.0) == 2
    assert signal_at((1.0, 1.999), 2.0) is None


def test_without_performances_nothing_can_have_signalled() -> None:
    assert chance_of_signal(learning_weights(0.1, 0.4), 2.0, 0.1, 0) == 0.0


@pytest.mark.parametrize(("rate", "expected"), [(0.0, 1.0), (1.0, 0.0)])
def test_certain_success_signals_and_certain_failure_never_does(rate: float, expected: float) -> None:
    assert chance_of_signal(learning_weights(0.1, 0.4), 2.0, rate, 9) == expected


def test_impossible_chart_settings_are_refused() -> None:
    weights = learning_weights(0.1, 0.4)
    with pytest.raises(ValueError, match="limit must be above 0"):
        chance_of_signal(weights, 0.0, 0.1, 3)
    with pytest.raises(ValueError, match="failure rate must lie between"):
        chance_of_signal(weights, 2.0, 1.5, 3)


@pytest.mark.parametrize(("people", "performances", "may"), [(10, 6, True), (9, 6, False), (10, 5, False)])
def test_judging_needs_ten_people_and_six_performances(people: int, performances: int, may: bool) -> None:
    assert may_judge(people, performances) is may


def test_a_quiet_picture_says_only_that_it_is_too_little() -> None:
    assert learning_picture([True] * 20, people=9).says == "Too little to judge by."
    assert slipping_picture([], people=50).says == "Too little to judge by."


def test_a_picture_says_its_signal_and_how_often_it_misleads() -> None:
    learning, slipping = learning_picture([True] * 7, 12), slipping_picture([True] * 4 + [False] * 2, 12)
    assert (learning.signal, slipping.signal) == (5, 6)
    assert "signal at performance 5; somebody who fails 40 % of the time" in learning.says
    assert "alarm at performance 6; somebody who fails 5 % of the time" in slipping.says


def test_a_picture_without_a_signal_says_so() -> None:
    assert "no signal yet" in learning_picture([False] * 8, 12).says
    assert "no alarm" in slipping_picture([True] * 8, 12).says


def test_both_limits_of_a_sentence_are_percentages() -> None:
    interval = wilson(27, 30)
    limits = f"{100 * interval.lower:.1f} % to {100 * interval.upper:.1f} %"
    assert limits == "74.4 % to 96.5 %"
    assert limits in counts_sentence(27, 30)


@pytest.mark.parametrize(("clean", "n"), [(0, 0), (28, 29), (58, 59)])
def test_one_miss_or_nothing_seen_leaves_the_clean_sentence_out(clean: int, n: int) -> None:
    assert clean_sentence(clean, n) == ""


def test_a_short_clean_record_says_that_it_is_short() -> None:
    says = "No critical miss so far. From 29 performances on that says something in figures; 28 are too few."
    assert clean_sentence(28, 28) == says
