"""Charts of a few performances, compared whole, and their limits: nobody there, no odds, a chart on the grid itself."""

import pytest

from training.rules.charts import (
    Chart,
    PerformanceChart,
    chance_of_signal,
    learning_picture,
    learning_weights,
    slipping_picture,
    slipping_weights,
    steps_of,
    trace,
)
from training.rules.learning import may_judge

SIX = [True, False, True, True, False, True]
WIDE = Chart(p0=0.1, p1=0.9, h=50.0)
CALM = "Advisory only: {found}; somebody who fails {rate} % of the time would have got one by now 0 % of the time."


def test_a_learning_chart_without_a_signal_in_full() -> None:
    scores = trace(steps_of(learning_weights(0.1, 0.9), SIX))
    says = CALM.format(found="no signal yet", rate=90)
    assert learning_picture(SIX, 10, WIDE) == PerformanceChart(WIDE, scores, None, 0.0, 0.0, False, says)


def test_a_slipping_chart_without_an_alarm_in_full() -> None:
    chart = Chart(p0=0.5, p1=0.6, h=50.0)
    scores = trace(steps_of(slipping_weights(0.5, 0.6), SIX))
    says = CALM.format(found="no alarm", rate=50)
    assert slipping_picture(SIX, 10, chart) == PerformanceChart(chart, scores, None, 0.0, 0.0, False, says)


@pytest.mark.parametrize(("people", "successes"), [(9, SIX), (10, SIX[:5]), (0, [])])
def test_a_quiet_chart_keeps_its_scores_and_says_no_odds(people: int, successes: list[bool]) -> None:
    found = slipping_picture(successes, people, WIDE)
    assert (found.quiet, found.says) == (True, "Too little to judge by.")
    assert (found.chart, len(found.scores)) == (WIDE, len(successes))


@pytest.mark.parametrize(("people", "performances"), [(0, 0), (0, 6), (10, 0)])
def test_where_nobody_is_nothing_is_judged_and_nothing_refused(people: int, performances: int) -> None:
    assert may_judge(people, performances) is False


def test_a_chance_of_certain_failure_is_one_and_none_before_the_first_performance() -> None:
    weights = slipping_weights(0.05, 0.2)
    assert [chance_of_signal(weights, 2.0, 1.0, n) for n in (0, 1, 2)] == [0.0, 0.0, 1.0]
