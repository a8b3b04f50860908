"""Where a steriliser stands, in one whole sentence, and what a forecast refuses."""

from collections.abc import Callable
from datetime import date

import pytest

from clinic.rules.spores import State, Status, Story, story_sentence
from clinic.rules.usage import forecast

OUT, BACK, LATER = date(2026, 3, 2), date(2026, 3, 9), date(2026, 3, 16)
SECOND = "Out of service since 2 March 2026: a second spore test failed;"


@pytest.mark.parametrize(
    ("story", "says"),
    [
        (Story(), "In use; no spore test is logged yet."),
        (Story(Status(last_pass=OUT)), "In use; last pass 2 March 2026."),
        (Story(Status(State.REPEAT)), "No load is released: the test proves nothing and is to be repeated."),
        (Story(Status(State.OUT), OUT), "Out of service since 2 March 2026: a spore test failed."),
        (Story(Status(State.REPAIR), OUT), f"{SECOND} not repaired yet."),
        (Story(Status(State.REPAIR, repaired=True), OUT, passes=1), f"{SECOND} 1 of 3 passes with an empty chamber."),
        (
            Story(Status(last_pass=BACK), OUT, BACK, 1),
            "In use again since 9 March 2026, after 1 pass (out since 2 March 2026).",
        ),
        (
            Story(Status(last_pass=LATER), OUT, BACK, 3),
            "In use; last pass 16 March 2026. It came back on 9 March 2026, after 3 passes (out since 2 March 2026).",
        ),
    ],
)
def test_where_a_steriliser_stands_is_one_whole_sentence(story: Story, says: str) -> None:
    assert story_sentence(story) == says


@pytest.mark.parametrize(
    ("ask", "says"),
    [
        (lambda: forecast(-1, 30, 7), "The number of events cannot be negative: -1."),
        (lambda: forecast(1, 0, 7), "The exposure must be above 0, not 0."),
        (lambda: forecast(1, 30, 0), "The time ahead must be above 0, not 0."),
        (lambda: forecast(1, 30, 7).quantile(0), "The share must lie between 0 and 1, not 0."),
        (lambda: forecast(1, 30, 7).quantile(1), "The share must lie between 0 and 1, not 1."),
    ],
)
def test_a_refused_forecast_names_what_is_wrong(ask: Callable[[], object], says: str) -> None:
    with pytest.raises(ValueError) as refused:
        ask()
    assert str(refused.value) == says
