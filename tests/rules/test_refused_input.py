"""What cannot be is refused with words that name it, whichever rule is asked."""

from collections.abc import Callable
from datetime import date

import pytest

from clinic.rules import drawing, water
from clinic.rules.upkeep import upkeep_timeline
from clinic.rules.upkeep_facts import EquipmentLife
from training.rules import agreement, charts, learning, runs
from training.rules.charts import Weights

DAY = date(2026, 3, 2)
FAILS = Weights(success=-1.0, failure=2.0)


@pytest.mark.parametrize(
    ("ask", "says"),
    [
        (lambda: drawing.at(DAY, DAY, DAY), "A picture of days needs at least one day."),
        (lambda: upkeep_timeline([], EquipmentLife(DAY)), "An upkeep timeline needs at least one rule."),
        (lambda: water.Edges("x", 10, 10), "The bands need 0 < reasonable from < poor from."),
        (lambda: water.Edges("x", 0, 10), "The bands need 0 < reasonable from < poor from."),
        (lambda: agreement.agreement([[1]]), "An agreement table is square and has at least two marks."),
        (lambda: agreement.agreement([[1, -1], [0, 0]]), "Counts of marks cannot be negative."),
        (lambda: charts.slipping_weights(0, 0.2), "The acceptable failure rate must lie between 0 and 1, not 0."),
        (lambda: charts.slipping_weights(0.1, 1), "The unacceptable failure rate must lie between 0 and 1, not 1."),
        (lambda: charts.risk_adjusted_weights(1.5), "The risk of the case must lie between 0 and 1, not 1.5."),
        (lambda: learning.zero_failure_size(1, 0.9), "The reliability must lie between 0 and 1, not 1."),
        (lambda: learning.zero_failure_size(0.9, 1), "The confidence must lie between 0 and 1, not 1."),
        (lambda: learning.demonstrated_reliability(3, 0), "The confidence must lie between 0 and 1, not 0."),
        (lambda: runs.lattice_run_length(1, 2, 0), "The failure rate must lie between 0 and 1, not 0."),
        (lambda: runs.average_run_length(FAILS, 2.0, 1), "The failure rate must lie between 0 and 1, not 1."),
    ],
)
def test_what_cannot_be_is_named(ask: Callable[[], object], says: str) -> None:
    with pytest.raises(ValueError) as refused:
        ask()
    assert str(refused.value) == says


@pytest.mark.parametrize(
    ("weights", "limit"),
    [
        (Weights(success=-1.0, failure=2.0), 0),
        (Weights(success=-1.0, failure=2.0), -1),
        (Weights(success=-1.0, failure=0.0), 2),
        (Weights(success=0.0, failure=2.0), 2),
        (Weights(success=1.0, failure=2.0), 2),
        (Weights(success=-1.0, failure=-2.0), 2),
    ],
)
def test_a_slipping_chart_needs_a_limit_and_weights_of_both_signs(weights: Weights, limit: float) -> None:
    says = "A slipping chart needs a positive limit, a failure that adds and a success that takes away."
    with pytest.raises(ValueError) as refused:
        runs.average_run_length(weights, limit, 0.1)
    assert str(refused.value) == says


def test_a_slipping_chart_may_have_a_small_limit_and_small_weights() -> None:
    """With a failure that reaches the limit by itself the run length is one over the failure rate: a geometric wait."""
    assert runs.average_run_length(Weights(success=-0.5, failure=0.75), 0.5, 0.25) == pytest.approx(4, rel=0.01)


@pytest.mark.parametrize(("ratio", "base"), [(0.5, 1.0), (1.0, 0.5), (0.25, 0.5)])
def test_an_odds_ratio_below_one_may_be_tested(ratio: float, base: float) -> None:
    """A ratio below the base looks for somebody who got better: a failure then takes away."""
    weights = charts.risk_adjusted_weights(0.2, ratio, base)
    assert (weights.failure > 0) == (ratio > base)
