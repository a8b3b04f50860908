"""The steps of a text at one unit: steps about what is not used here are left out.

A step is about a site fact that its when names, or where what is done names no other. One that also does something whose
place matters (`Step.acts`) stays: nobody may lose "no start from elsewhere" with a place from which nothing can start.
Facts are filled in by `clinic.rules.site_text`.
"""

from collections.abc import Iterable

from clinic.rules.site_text import Answer, Answers, Words, filled, names_in, said, told_apart
from training.rules.texts import Step

__all__ = ["Answer", "Answers", "Words", "drops_out", "filled", "names_in", "said", "steps_here", "told_apart"]


def drops_out(step: Step, answers: Answers) -> bool:
    unused = {name for name, answer in answers.items() if answer.not_used}
    done = names_in(step.do)
    return bool(unused & set(names_in(step.when))) or (bool(done) and not step.acts and unused >= set(done))


def steps_here(steps: Iterable[Step], answers: Answers) -> tuple[Step, ...]:
    """The steps that apply at this unit, in order."""
    return tuple(step for step in steps if not drops_out(step, answers))
