"""When the knowledge check is passed, and when it is talked through."""

from dataclasses import dataclass

import pytest

from training.rules.check import needs_talk, passed, wrong


@dataclass(frozen=True)
class Asked:
    key: str
    is_safety: bool
    right: str = "right"


QUESTIONS = [Asked("s1", True), Asked("s2", True), Asked("k1", False), Asked("k2", False), Asked("k3", False)]


def answers(*wrong_keys: str) -> dict[str, str]:
    return {each.key: "wrong" if each.key in wrong_keys else "right" for each in QUESTIONS}


@pytest.mark.parametrize("wrong_keys", [(), ("k1",), ("k3",)])
def test_passed_with_at_most_one_knowledge_question_wrong(wrong_keys: tuple[str, ...]) -> None:
    assert passed(QUESTIONS, answers(*wrong_keys))


@pytest.mark.parametrize("wrong_keys", [("s1",), ("s2", "k1"), ("k1", "k2")])
def test_not_passed_with_a_safety_question_or_two_knowledge_questions_wrong(wrong_keys: tuple[str, ...]) -> None:
    assert not passed(QUESTIONS, answers(*wrong_keys))


def test_a_question_without_an_answer_is_wrong() -> None:
    assert [each.key for each in wrong(QUESTIONS, {"s1": "right", "k1": "right"})] == ["s2", "k2", "k3"]


@pytest.mark.parametrize(("failed", "talk"), [(0, False), (1, False), (2, True), (3, True)])
def test_after_two_failed_tries_somebody_talks_it_through_before_the_third(failed: int, talk: bool) -> None:
    assert needs_talk(failed) is talk
