"""Watch-keeping charts: learning (LC-CUSUM) and slipping after sign-off (CUSUM), with the chance that they mislead.

Advisory only: a picture beside the record, never a decision and never on paper for a single person. p0 is the failure
rate that would be acceptable, p1 the one that would not; a "success" is a performance that met its standard.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from math import log

from training.rules.learning import ROUNDING, may_judge, refuse_bad_counts, refuse_bad_share


@dataclass(frozen=True, slots=True)
class Weights:
    """What one success and one failure add to a chart (log likelihood ratios, no unit)."""

    success: float
    failure: float

    def of(self, success: bool) -> float:
        return self.success if success else self.failure


@dataclass(frozen=True, slots=True)
class Chart:
    """A chart's setting: acceptable and unacceptable failure rate, and the limit h at which it signals."""

    p0: float
    p1: float
    h: float


LEARNING_CHART = Chart(p0=0.10, p1=0.40, h=2.0)
"""The default advisory learning chart (S-57, own choice, D)."""

SLIPPING_CHART = Chart(p0=0.05, p1=0.20, h=2.0)
"""The default advisory chart for slipping after sign-off (S-58, own choice, D)."""


def learning_weights(p0: float, p1: float) -> Weights:
    """LC-CUSUM weights: success ln((1 − p0)/(1 − p1)) > 0, failure ln(p0/p1) < 0.

    ValueError unless 0 < p0 < p1 < 1. Source: Biau and others 2008, Biau and Porcher 2010; S-53, S-55.
    """
    slipping = slipping_weights(p0, p1)
    return Weights(-slipping.success, -slipping.failure)


def slipping_weights(p0: float, p1: float) -> Weights:
    """CUSUM weights: failure ln(p1/p0) > 0, success ln((1 − p1)/(1 − p0)) < 0.

    ValueError unless 0 < p0 < p1 < 1. Source: Page 1954; Steiner and others 2000; S-58.
    """
    refuse_bad_share("acceptable failure rate", p0)
    refuse_bad_share("unacceptable failure rate", p1)
    if p0 >= p1:
        raise ValueError(f"The acceptable failure rate {p0} must be below the unacceptable one {p1}.")
    return Weights(success=log((1 - p1) / (1 - p0)), failure=log(p1 / p0))


def steps_of(weights: Weights, successes: Iterable[bool]) -> tuple[float, ...]:
    """What each performance adds to the chart, in order."""
    return tuple(weights.of(success) for success in successes)


def trace(steps: Iterable[float]) -> tuple[float, ...]:
    """The chart after each performance: S_0 = 0, S_t = max(0, S_(t−1) + W_t).

    Source: Page 1954; Biau and others 2008, where a page that prints "min(0, …)" for a rising score is a misprint;
    S-54, S-55, S-58. For risk-adjusted charts the steps come from different weights.
    """
    scores: list[float] = []
    for step in steps:
        scores.append(max(0.0, (scores[-1] if scores else 0.0) + step))
    return tuple(scores)


def signal_at(scores: Sequence[float], h: float) -> int | None:
    """The first performance, counted from 1, at which the chart reaches h; None where it has not. S-54, S-58."""
    return next((number for number, score in enumerate(scores, 1) if score >= h - ROUNDING), None)


def chance_of_signal(weights: Weights, h: float, failure_rate: float, n: int) -> float:
    """The exact chance that the chart has reached h within n performances, failures independent at the given rate.

    Carries the distribution of scores forward one performance at a time; no simulation, no grid. ValueError for a
    negative n, an h that is not positive, or a rate outside 0 to 1. Source: recursion over Page's chart; S-56.
    """
    refuse_bad_counts(0, n)
    _refuse_bad_limit(h)
    if not 0 <= failure_rate <= 1:
        raise ValueError(f"The failure rate must lie between 0 and 1, not {failure_rate}.")
    chances = {0.0: 1.0}
    for _ in range(n):
        chances = _one_on(chances, weights, h, failure_rate)
    return max(0.0, 1.0 - sum(chances.values()))


def _one_on(chances: dict[float, float], weights: Weights, h: float, failure_rate: float) -> dict[float, float]:
    """The chances of each score below h after one more performance. Scores that differ by rounding alone are one."""
    after: dict[float, float] = {}
    for score, chance in chances.items():
        for step, share in ((weights.success, 1 - failure_rate), (weights.failure, failure_rate)):
            reached = round(max(0.0, score + step), 9)
            if reached < h - 1e-9:
                after[reached] = after.get(reached, 0.0) + chance * share
    return after


def _refuse_bad_limit(h: float) -> None:
    if h <= 0:
        raise ValueError(f"A chart's limit must be above 0, not {h}.")


@dataclass(frozen=True, slots=True)
class PerformanceChart:
    """A chart of one person's performances, with what it is worth.

    `quiet` where there is too little to show; `chance_if_good` and `chance_if_bad`: how often a chart of this length
    would have signalled for somebody whose failure rate is p0, and for somebody whose rate is p1.
    """

    chart: Chart
    scores: tuple[float, ...]
    signal: int | None
    chance_if_good: float
    chance_if_bad: float
    quiet: bool
    says: str


def learning_picture(successes: Sequence[bool], people: int, chart: Chart = LEARNING_CHART) -> PerformanceChart:
    """LC-CUSUM of the performances in order, with its false-signal rate beside it (S-52, S-54, S-56, S-57)."""
    picture = _picture(successes, people, chart, learning_weights(chart.p0, chart.p1))
    found = f"signal at performance {picture.signal}" if picture.signal else "no signal yet"
    return _with_words(picture, found, chart.p1, picture.chance_if_bad)


def slipping_picture(successes: Sequence[bool], people: int, chart: Chart = SLIPPING_CHART) -> PerformanceChart:
    """CUSUM of the performances since sign-off, with its false-alarm rate beside it (S-58)."""
    picture = _picture(successes, people, chart, slipping_weights(chart.p0, chart.p1))
    found = f"alarm at performance {picture.signal}" if picture.signal else "no alarm"
    return _with_words(picture, found, chart.p0, picture.chance_if_good)


def _picture(successes: Sequence[bool], people: int, chart: Chart, weights: Weights) -> PerformanceChart:
    scores = trace(steps_of(weights, successes))
    good, bad = (chance_of_signal(weights, chart.h, rate, len(scores)) for rate in (chart.p0, chart.p1))
    quiet = not may_judge(people, len(scores))
    return PerformanceChart(chart, scores, signal_at(scores, chart.h), good, bad, quiet, says="Too little to judge by.")


def _with_words(picture: PerformanceChart, found: str, rate: float, misled: float) -> PerformanceChart:
    if picture.quiet:
        return picture
    odds = (
        f"somebody who fails {100 * rate:.0f} % of the time would have got one by now {100 * misled:.0f} % of the time"
    )
    return replace(picture, says=f"Advisory only: {found}; {odds}.")
