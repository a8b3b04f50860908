"""What is asked next in whole sentences: of a steriliser, of a driver's figures, of a task's next day."""

from collections.abc import Callable
from datetime import date

import pytest

from clinic.rules.spores import SporeState, Status, what_to_do
from clinic.rules.torque import DriverClass, deviation_percent, permissible_percent, window

DAY = date(2026, 3, 2)
OUT = [
    "Take the steriliser out of service.",
    "Review how it was loaded and run.",
    "Repeat the test at once with mechanical, chemical and biological monitors.",
]
REPEAT = ["Repeat the spore test with a control of the same lot before anything is released."]


@pytest.mark.parametrize(
    ("status", "steps"),
    [
        (Status(), []),
        (Status(SporeState.REPEAT), REPEAT),
        (
            Status(SporeState.REPEAT, DAY, hold=True, since=DAY),
            [*REPEAT, "Hold every unused pack since the pass of 2 March 2026."],
        ),
        (Status(SporeState.OUT, hold=True), [*OUT, "Hold every unused pack since the last pass on paper."]),
        (
            Status(SporeState.OUT, DAY, hold=True, recall=True, since=DAY),
            [*OUT, "Recall and reprocess every pack since the pass of 2 March 2026."],
        ),
        (Status(SporeState.REPAIR), ["Do not use it until it has been inspected and repaired."]),
        (
            Status(SporeState.REPAIR, repaired=True, clean_runs=1),
            ["Challenge it with the chamber empty: 2 more passes in a row."],
        ),
        (
            Status(SporeState.REPAIR, repaired=True, clean_runs=2),
            ["Challenge it with the chamber empty: 1 more pass in a row."],
        ),
    ],
)
def test_every_state_of_a_steriliser_says_what_is_asked_next(status: Status, steps: list[str]) -> None:
    """CDC 2003 (W-16 to W-19); the three runs from memory."""
    assert what_to_do(status) == steps


@pytest.mark.parametrize(
    ("ask", "says"),
    [
        (lambda: permissible_percent(DriverClass.A, 0), "The largest torque must be above 0, not 0."),
        (lambda: permissible_percent(DriverClass.A, 5, 0), "The declared limit must be above 0, not 0."),
        (lambda: window(0, 6), "The set torque must be above 0, not 0."),
        (lambda: window(20, 0), "The limit must be above 0, not 0."),
        (lambda: window(20, 100), "A limit of 100 % leaves no window."),
        (lambda: deviation_percent(0, 20), "The set torque must be above 0, not 0."),
        (lambda: deviation_percent(20, 0), "The reference reading must be above 0, not 0."),
    ],
)
def test_a_refused_torque_is_named(ask: Callable[[], object], says: str) -> None:
    with pytest.raises(ValueError) as refused:
        ask()
    assert str(refused.value) == says
