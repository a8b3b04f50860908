"""Where a step gives a value, or asks for the unit's own, it says that the maker's instructions win. Common practice, no
source; the rule is held over every step of the library by words alone."""

import re
from pathlib import Path

import pytest

from training.rules.library import read_library
from training.rules.maker_wins import gives_a_figure, maker_wins, makers_facts
from training.rules.texts import Step

LIBRARY = read_library(Path(__file__).parents[2] / "fixtures" / "library")
MAKERS = makers_facts(LIBRARY.site_facts)
STEPS = [(text.code, step) for text in LIBRARY.procedures for step in text.content.steps]
# Words of what a maker sets: held against the steps without the rule's own patterns.
TELLS = re.compile(r"torque|N·cm|\{(additive dose|settling time|drying time|tool tightening|filter direction)\}")


def step(do: str, caution: str = "", when: str = "") -> Step:
    return Step("s1", do, caution=caution, when=when)


@pytest.mark.parametrize(
    "figure", ["18–28 °C", "±6 %", "365 days", "5,000 cycles", "15 minutes", "25 N·cm", "0.5 bar", "90 seconds"]
)
def test_a_figure_with_its_unit_is_a_value(figure: str) -> None:
    assert gives_a_figure(f"Hold it at {figure}.")


@pytest.mark.parametrize("words", ["Do as P07 says (step 12).", "Rows 3 and 4 hold.", "Use 2 hands.", "Sign with S20."])
def test_a_number_of_a_step_or_of_a_procedure_is_none(words: str) -> None:
    assert not gives_a_figure(words)


@pytest.mark.parametrize("where", ["do", "caution", "when"])
def test_a_site_fact_that_the_maker_says_matters_wherever_it_stands(where: str) -> None:
    said = {"do": "Do it."} | {where: "as {settling time} says"}
    assert maker_wins(step(**said), MAKERS)


@pytest.mark.parametrize("name", ["tub", "eyewash", "service phone", "named clinician", "coolant disposal"])
def test_what_the_site_says_of_itself_is_its_own(name: str) -> None:
    assert name not in MAKERS and not maker_wins(step(f"Use the {{{name}}}."), MAKERS)


@pytest.mark.parametrize(
    "name", ["additive dose", "block torque", "filter direction", "surface disinfectant", "spore test steps"]
)
def test_settings_torque_intervals_and_chemicals_are_the_makers(name: str) -> None:
    assert name in MAKERS


def test_every_step_of_the_library_that_tells_of_a_setting_says_so() -> None:
    told = [(code, one.key) for code, one in STEPS if TELLS.search(f"{one.do} {one.caution}")]
    assert len(told) > 8
    silent = [
        (code, key)
        for (code, key) in told
        if not any(c == code and o.key == key and maker_wins(o, MAKERS) for c, o in STEPS)
    ]
    assert silent == []


def test_it_is_not_said_of_every_step() -> None:
    """Own choice (D): said of all it would be read at none."""
    share = sum(maker_wins(one, MAKERS) for _, one in STEPS) / len(STEPS)
    assert 0.2 < share < 0.5
