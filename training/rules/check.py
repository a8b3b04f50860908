"""The knowledge check: when it is passed, and when somebody talks it through before the next try.

Passed when every safety question is right and at most one knowledge question is wrong. A question without an answer
is wrong.
"""

from collections.abc import Iterable, Mapping
from typing import Protocol

KNOWLEDGE_WRONG_ALLOWED = 1
TRIES_BEFORE_TALK = 2  # failed, on one day


class QuestionRule(Protocol):
    """What the pass rule needs to know of a question."""

    @property
    def key(self) -> str: ...
    @property
    def is_safety(self) -> bool: ...
    @property
    def right(self) -> str: ...


def wrong(questions: Iterable[QuestionRule], answers: Mapping[str, str]) -> tuple[QuestionRule, ...]:
    """The questions not answered rightly. `answers`: the option chosen, in its words, by question key."""
    return tuple(question for question in questions if answers.get(question.key) != question.right)


def passed(questions: Iterable[QuestionRule], answers: Mapping[str, str]) -> bool:
    """Every safety question right and at most one knowledge question wrong."""
    missed = wrong(questions, answers)
    return not any(question.is_safety for question in missed) and len(missed) <= KNOWLEDGE_WRONG_ALLOWED


def needs_talk(failed_since_talk: int) -> bool:
    """After two failed tries on one day somebody with authority talks it through before the next one.

    `failed_since_talk`: failed tries of the day, counted from the last talk of that day.
    """
    return failed_since_talk >= TRIES_BEFORE_TALK
