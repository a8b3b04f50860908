"""The words of a step at one unit: site facts filled in, and steps about what is not used here left out.

A site fact is written {name} in a text. A step "bound" to a fact names it in what is done or in its when.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from clinic.rules.site_text import NAME, STAND_IN
from training.rules.texts import Step


@dataclass(frozen=True, slots=True)
class Answer:
    """What the walk round found: a value, or that it is not used here."""

    value: str
    not_used: bool = False


Answers = Mapping[str, Answer]


def told_apart(answers: Sequence[tuple[str, Answer]]) -> Answer:
    """One answer of several units where none is chosen, as (label, answer): what all that use it say, or each with its
    unit."""
    said: dict[str, list[str]] = {}
    for label, answer in answers:
        if not answer.not_used:
            said.setdefault(answer.value, []).append(label)
    if len(said) < 2:
        return Answer(next(iter(said), ""), not_used=not said)
    return Answer(" or ".join(f"{value} ({' and '.join(labels)})" for value, labels in said.items()))


@dataclass(frozen=True, slots=True)
class Words:
    """A stretch of a text. `fact` names the site fact it stands for, where it stands for one; `missing`: not filled in yet."""

    says: str
    fact: str = ""
    missing: bool = False


def names_in(text: str) -> list[str]:
    return NAME.findall(text)


def filled(text: str, answers: Answers) -> tuple[Words, ...]:
    """The text in stretches, with each {fact} replaced by its answer here, or by words that send to the instructions."""
    pieces = NAME.split(text)  # text, name, text, name, text
    return tuple(
        fact_words(piece, answers) if index % 2 else Words(piece) for index, piece in enumerate(pieces) if piece
    )


def fact_words(name: str, answers: Answers) -> Words:
    answer = answers.get(name)
    if answer is None:
        return Words(STAND_IN, name, missing=True)
    return Words("not used here" if answer.not_used else answer.value, name)


def said(text: str, answers: Answers) -> str:
    """The same as one plain sentence."""
    return "".join(words.says for words in filled(text, answers))


def drops_out(step: Step, answers: Answers) -> bool:
    return any(name in answers and answers[name].not_used for name in names_in(f"{step.when} {step.do}"))


def steps_here(steps: Iterable[Step], answers: Answers) -> tuple[Step, ...]:
    """The steps that apply at this unit, in order."""
    return tuple(step for step in steps if not drops_out(step, answers))
