"""What follows an event, and whether a text names somebody. Rows O-09, O-10 and O-19 of the handbook."""

import pytest

from clinic.rules import incident_path as path
from clinic.rules.no_names import names_within


def test_a_near_miss_is_made_safe_and_looked_at() -> None:
    assert path.path_of("near miss", "yes") == path.Path((path.MAKE_SAFE, path.REVIEW), in_log=False)


@pytest.mark.parametrize("contaminated", ["yes", "unsure"])
def test_a_contaminated_sharp_is_an_exposure_and_stands_in_the_log(contaminated: str) -> None:
    found = path.path_of("sharps injury", contaminated)
    acts = (path.FIRST_AID, path.AT_ONCE, path.URGENT, path.TELL, path.MAKE_SAFE, path.REVIEW)
    assert found == path.Path(acts, in_log=True)


@pytest.mark.parametrize(("kind", "contaminated"), [("sharps injury", "no"), ("slip or fall", "yes")])
def test_a_clean_sharp_and_another_injury_are_no_exposure(kind: str, contaminated: str) -> None:
    acts = (path.FIRST_AID, path.URGENT, path.TELL, path.MAKE_SAFE, path.REVIEW)
    assert path.path_of(kind, contaminated) == path.Path(acts, in_log=False)


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("Grace dropped it.", ["Grace"]),
        ("by the grace of a glove", []),
        ("Wilczek and Grace, then Grace again", ["Wilczek", "Grace"]),
        ("GRACE dropped it", ["GRACE"]),
        ("Zoë Ångström-Łuczak fell", ["Zoë", "Ångström-Łuczak"]),
        ("Ed and Bo stood there", []),
        ("O’Neill’s glove", []),
        ("O’Neill wore it", ["O’Neill"]),
        ("Ann wore it", ["Ann"]),
    ],
)
def test_names_are_found_as_words_with_a_capital_each_once(text: str, found: list[str]) -> None:
    names = ["Grace Adeyemi", "Tomasz Wilczek", "Zoë Ångström-Łuczak", "Ed Bo", "Una O’Neill", "Ann"]
    assert names_within(text, names) == found
