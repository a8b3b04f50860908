"""Whether the words of a procedure can be used: its steps can be marked and its questions have one right answer.

Used for a draft before it is approved and for the files of the library. Each fault is a sentence with its remedy.
"""

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction

from clinic.rules.words import out_of
from training.rules.texts import Content, Question, Step

OPTIONS = 4
LONGEST_SHARE = Fraction(2, 5)
"""Share of questions whose right option may be the longest (own rule, D): above it, length gives the answer away."""


def step_faults(step: Step) -> Iterator[str]:
    first = step.do.split(maxsplit=1)[0].strip(",:;.").lower() if step.do.strip() else ""
    if not first:
        yield f"step {step.key} says nothing: write what is done."
    if first == "never":
        yield f"step {step.key} starts with “Never”: write what is done, and put what is not done into its caution."
    if first == "when":
        yield f"step {step.key} starts with “When”: put the case into when, and what is done into do."
    if step.when.lower().startswith("when "):
        yield f"when of step {step.key} starts with “when” itself: leave the word out."


def question_faults(question: Question) -> Iterator[str]:
    if len(question.options) != OPTIONS:
        yield f"question {question.key} has {len(question.options)} options: give it {OPTIONS}."
    if len({option.strip().casefold() for option in question.options}) < len(question.options):
        yield f"question {question.key} has two options that say the same: change one."
    if not 0 <= question.right_index < len(question.options):
        yield f"right of question {question.key} is none of its options: name one of them."


def content_faults(content: Content) -> list[str]:
    """Everything wrong with the words, at once. Without steps it is a taught topic, which is not watched."""
    found = [says for step in content.steps for says in step_faults(step)]
    found += [says for question in content.questions for says in question_faults(question)]
    found += twice("step", [step.key for step in content.steps])
    found += twice("question", [question.key for question in content.questions])
    return found + ([NO_CRITICAL] if content.steps and not has_critical(content.steps) else [])


NO_CRITICAL = "no step is critical: mark at least one, or ask whether this is a procedure at all."


def has_critical(steps: Iterable[Step]) -> bool:
    return any(step.critical for step in steps)


def twice(what: str, keys: Sequence[str]) -> list[str]:
    return [f"two {what}s have the key {key}: change one." for key in sorted({k for k in keys if keys.count(k) > 1})]


def right_is_longest(question: Question) -> bool:
    """Strictly longer than every other option, in characters; a tie does not give the answer away."""
    others = [len(option) for index, option in enumerate(question.options) if index != question.right_index]
    return 0 <= question.right_index < len(question.options) and len(question.right) > max(others, default=0)


def longest_faults(questions: Sequence[Question]) -> list[str]:
    """Over all questions of a library together."""
    longest = [question for question in questions if right_is_longest(question)]
    if not questions or Fraction(len(longest), len(questions)) <= LONGEST_SHARE:
        return []
    return [
        f"the right option is the longest in {out_of(len(longest), len(questions), 'question')}: shorten some, so that it is "
        f"in at most {float(LONGEST_SHARE):.0%}."
    ]
