"""What cannot be is refused with words that name it, whichever rule is asked."""

from collections.abc import Callable
from datetime import date

import pytest

from clinic.rules import drawing, water
from clinic.rules.upkeep import upkeep_timeline
from clinic.rules.upkeep_facts import EquipmentLife
from training.rules import agreement, charts, learning

DAY = date(2026, 3, 2)


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
        (lambda: learning.zero_failure_size(1, 0.9), "The reliability must lie between 0 and 1, not 1."),
        (lambda: learning.zero_failure_size(0.9, 1), "The confidence must lie between 0 and 1, not 1."),
        (lambda: learning.demonstrated_reliability(3, 0), "The confidence must lie between 0 and 1, not 0."),
    ],
)
def test_what_cannot_be_is_named(ask: Callable[[], object], says: str) -> None:
    with pytest.raises(ValueError) as refused:
        ask()
    assert str(refused.value) == says
