"""The steps of a text at one unit: steps about what is not used here are left out.

A step is for a case, and drops out where its when names something that is not used here. What is done may name it too, and
stays: nobody may lose the gloves with the respirator, or "no start from elsewhere" where nothing can start from elsewhere.
Facts are filled in by `clinic.rules.site_text`.
"""

from collections.abc import Iterable

from clinic.rules.site_text import Answer, Answers, Words, filled, names_in, said, told_apart
from training.rules.texts import Step

__all__ = ["Answer", "Answers", "Words", "drops_out", "filled", "names_in", "said", "steps_here", "told_apart"]


def drops_out(step: Step, answers: Answers) -> bool:
    return any(name in answers and answers[name].not_used for name in names_in(step.when))


def steps_here(steps: Iterable[Step], answers: Answers) -> tuple[Step, ...]:
    """The steps that apply at this unit, in order."""
    return tuple(step for step in steps if not drops_out(step, answers))
