"""The second supervisor's marks of one performance."""

from dataclasses import replace

from clinic.forms.base import SubmissionForm
from training.forms.observe import StepMarks
from training.models import Observation
from training.reads.bench import BenchProcedure


class SecondMarksForm(StepMarks, SubmissionForm):
    """The steps that the first supervisor marked, with none of the marks."""

    def given(self) -> dict[str, str]:
        return next(iter(self.marks().values()))


def marked_steps(seen: Observation, procedure: BenchProcedure) -> BenchProcedure:
    """The procedure with the steps that were marked, and no others."""
    keys = {row["step"] for row in seen.marks}
    return replace(procedure, steps=tuple(step for step in procedure.steps if step.key in keys))
