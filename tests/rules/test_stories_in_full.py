"""Where a steriliser stands, in one whole sentence."""

from datetime import date

import pytest

from clinic.rules.spores import SporeState, Status, SteriliserStory, story_sentence

OUT, BACK, LATER = date(2026, 3, 2), date(2026, 3, 9), date(2026, 3, 16)
SECOND = "Out of service since 2 March 2026: a second spore test failed;"


@pytest.mark.parametrize(
    ("story", "says"),
    [
        (SteriliserStory(), "In use; no spore test is logged yet."),
        (SteriliserStory(Status(last_pass=OUT)), "In use; last pass 2 March 2026."),
        (
            SteriliserStory(Status(SporeState.REPEAT)),
            "No load is released: the test proves nothing and is to be repeated.",
        ),
        (SteriliserStory(Status(SporeState.OUT), OUT), "Out of service since 2 March 2026: a spore test failed."),
        (SteriliserStory(Status(SporeState.REPAIR), OUT), f"{SECOND} not repaired yet."),
        (
            SteriliserStory(Status(SporeState.REPAIR, repaired=True), OUT, passes=1),
            f"{SECOND} 1 of 3 passes with an empty chamber.",
        ),
        (
            SteriliserStory(Status(last_pass=BACK), OUT, BACK, 1),
            "In use again since 9 March 2026, after 1 pass (out since 2 March 2026).",
        ),
        (
            SteriliserStory(Status(last_pass=LATER), OUT, BACK, 3),
            "In use; last pass 16 March 2026. It came back on 9 March 2026, after 3 passes (out since 2 March 2026).",
        ),
    ],
)
def test_where_a_steriliser_stands_is_one_whole_sentence(story: SteriliserStory, says: str) -> None:
    assert story_sentence(story) == says
