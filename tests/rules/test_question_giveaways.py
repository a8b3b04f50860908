"""No option of a question stands out by its length, its tone or its words, so that whoever passes knows the work.

Each way of guessing without knowing is a strategy that singles out one option, or none. Own measures (D), after the usual
faults of such questions: the longest option, absolute words, words that the question has too, the careful one.
"""

import re
from collections.abc import Callable, Sequence
from fractions import Fraction
from pathlib import Path

import pytest

from training.rules.library import read_library
from training.rules.texts import Question, QuestionWeight

LIBRARY = read_library(Path(__file__).parents[2] / "fixtures" / "library")
QUESTIONS = [question for text in LIBRARY.procedures for question in text.content.questions]
LONGEST_APART = 20  # characters between the longest and the shortest option of one question

ABSOLUTE = re.compile(r"\b(never|always|all|every|none|nothing|nobody|only|any|simply|quickly)\b", re.I)
CAREFUL = re.compile(r"\b(stop|call|service|ask|check|out of service|before|first)\b", re.I)

Pick = Callable[[Question], Sequence[int]]
"""How much each option stands out; the one with strictly most is picked."""


def words(text: str) -> set[str]:
    """Those of four letters and more; the short ones are in every sentence."""
    return set(re.findall(r"[a-zà-ž]{4,}", text.lower()))


STRATEGIES: dict[str, Pick] = {
    "the longest": lambda asked: [len(option) for option in asked.options],
    "the shortest": lambda asked: [-len(option) for option in asked.options],
    "the careful one": lambda asked: [len(CAREFUL.findall(option)) for option in asked.options],
    "the one without absolute words": lambda asked: [-len(ABSOLUTE.findall(option)) for option in asked.options],
    "the one with words of the question": lambda asked: [len(words(option) & words(asked.ask)) for option in asked.options],
    "the one with words of the others": lambda asked: [
        sum(len(words(option) & words(other)) for other in asked.options if other != option) for option in asked.options
    ],
}  # fmt: skip


def picked(pick: Pick, asked: Question) -> int | None:
    marks = pick(asked)
    best = [index for index, mark in enumerate(marks) if mark == max(marks)]
    return best[0] if len(best) == 1 else None


def share_by(pick: Pick, questions: Sequence[Question]) -> Fraction:
    """How many would be right by the strategy, and by a throw among four where it singles out none."""
    right = [
        Fraction(1, 4) if (n := picked(pick, each)) is None else Fraction(n == each.right_index) for each in questions
    ]
    return sum(right, Fraction(0)) / len(questions)


@pytest.mark.parametrize("name", STRATEGIES)
def test_nobody_who_knows_nothing_gets_more_than_a_third(name: str) -> None:
    assert share_by(STRATEGIES[name], QUESTIONS) < Fraction(1, 3)


@pytest.mark.parametrize("question", QUESTIONS, ids=lambda each: each.ask[:40])
def test_the_options_of_a_question_are_of_about_one_length(question: Question) -> None:
    lengths = [len(option) for option in question.options]
    assert max(lengths) - min(lengths) <= LONGEST_APART


def test_no_question_is_asked_twice() -> None:
    asked = [question.ask.casefold() for question in QUESTIONS]
    assert sorted(asked) == sorted(set(asked))


def test_no_right_answer_is_given_twice() -> None:
    said = [question.right.casefold() for question in QUESTIONS]
    assert sorted(said) == sorted(set(said))


@pytest.mark.parametrize(
    "about",
    [
        "the fit of that shank",  # which driver for which tool
        "a blank, a dash or a point",  # the short code of a block
        "Pump off again",  # when the pump goes off
        "Vacuum, wipe, wash, dry",
        "Bar a start from elsewhere",
    ],
)
def test_what_hurts_most_is_asked(about: str) -> None:
    assert any(about in question.right for question in QUESTIONS)


# -- each measure, seen to find something -----------------------------------------------------------------------------


def asked(right: str, *wrong: str, ask: str = "What now?") -> Question:
    return Question("q1", QuestionWeight.SAFETY, ask, (right, *wrong), 0)


@pytest.mark.parametrize(
    ("name", "question"),
    [
        ("the longest", asked("Stop it and wait for the others.", "Go on.", "Run.", "Sit.")),
        ("the shortest", asked("Stop.", "Go on now.", "Run away.", "Sit down.")),
        ("the careful one", asked("Stop and call.", "Go on now.", "Run away.", "Sit down.")),
        ("the one without absolute words", asked("It may.", "It always may.", "It never may.", "Nobody may.")),
        ("the one with words of the question", asked("Take the tool.", "Go on.", "Run.", "Sit.", ask="Which tool?")),
        ("the one with words of the others", asked("Open door slowly.", "Open lid.", "Shut door.", "Wait slowly.")),
    ],
)
def test_each_strategy_finds_its_giveaway(name: str, question: Question) -> None:
    assert picked(STRATEGIES[name], question) == 0
    assert share_by(STRATEGIES[name], [question]) == 1
