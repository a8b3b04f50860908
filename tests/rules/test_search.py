"""Words are found wherever a procedure says them, with the answers of the walk round in their place."""

import pytest

from training.rules.place import Answer
from training.rules.search import FoundWords, found_in
from training.rules.texts import Content, Step

ANSWERS = {"tub": Answer("the red tub"), "vacuum": Answer("", not_used=True)}
CONTENT = Content(
    purpose="To fill {tub} safely.",
    hazards=("Edges near {tub}",),
    protective_equipment=("Gloves beside {tub}",),
    contents=("What {tub} is for",),
    note="Ask who empties {tub}.",
    steps=(
        Step("a", "Vacuum with {vacuum}.", when="{vacuum} is here"),
        Step("b", "Lift it into {tub}.", when="it is near {tub}", caution="Never press into {tub}."),
        Step("c", "Wipe the seat."),
    ),
)


def test_every_place_that_says_it_is_found_in_the_order_of_the_page() -> None:
    assert found_in("red TUB", "P03", "Tool swap", CONTENT, ANSWERS) == [
        FoundWords("purpose", "To fill the red tub safely."),
        FoundWords("what can hurt", "Edges near the red tub"),
        FoundWords("what is put on", "Gloves beside the red tub"),
        FoundWords("what is taught", "What the red tub is for"),
        FoundWords("note", "Ask who empties the red tub."),
        FoundWords("step 1", "When it is near the red tub: Lift it into the red tub."),
        FoundWords("caution of step 1", "Never press into the red tub."),
    ]


@pytest.mark.parametrize(
    ("words", "places"),
    [
        ("", []),
        ("tool p03", [FoundWords("title", "Tool swap (P03)")]),
        ("seat", [FoundWords("step 2", "Wipe the seat.")]),
        ("vacuum", []),
        ("seat tub", []),
    ],
)
def test_all_words_stand_in_one_place(words: str, places: list[FoundWords]) -> None:
    assert found_in(words, "P03", "Tool swap", CONTENT, ANSWERS) == places
