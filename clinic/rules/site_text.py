"""Words with {site facts} in them, with the answers of the walk round in their places."""

import re
from collections.abc import Mapping

NAME = re.compile(r"\{([^{}]+)\}")
STAND_IN = "as this unit’s instructions say"
NUMBER = re.compile(r"\d+(?:[.,]\d+)?")


def with_answers(text: str, answers: Mapping[str, str]) -> str:
    """The text with each {name} replaced by its answer, or by words that send to the instructions where there is none."""
    return NAME.sub(lambda found: answers.get(found[1]) or STAND_IN, text)


def first_number(answer: str) -> float | None:
    """The first number an answer names ("6 jets, all at the tip" is 6); None where it names none."""
    found = NUMBER.search(answer)
    return float(found[0].replace(",", ".")) if found else None
