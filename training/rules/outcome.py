"""The outcome of an observation: computed from its marks, never chosen, and always with the reason.

Not met, if it was stopped as unsafe, or any critical step is prompted, helped or wrong (left out or done wrong), or fewer
than four fifths of the non-critical steps that were seen are alone. Otherwise incomplete, if a critical step was not seen, or
fewer than four fifths of the steps that applied were seen, or of the non-critical ones that applied were alone. Otherwise met.
So "not seen" never makes an assessment met that another mark would not.

Readings of the text:

1. A step without a mark was not seen.
2. A critical miss is an assessment's; "stop: unsafe" counts whichever it was. With `assessment` left at True the
   result says what the marks would mean in an assessment.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from clinic.rules.words import counted
from training.rules.facts import Mark, Outcome

NOT_RIGHT = (Mark.PROMPTED, Mark.HELPED, Mark.WRONG)
RIGHT = (Mark.ALONE, Mark.ASKED)
ENOUGH_OF_FIVE = 4  # in five: 80 %


@dataclass(frozen=True, slots=True)
class StepShape:
    """What the outcome needs to know of a step: a conditional one carries a *when*."""

    key: str
    critical: bool = False
    conditional: bool = False


@dataclass(frozen=True, slots=True)
class OutcomeResult:
    """`because`: each reason as a sentence. Counts of steps: applied (not "not needed"), seen of these, alone of
    those."""

    outcome: Outcome
    critical_miss: bool
    because: tuple[str, ...]
    applied: int
    seen: int
    alone: int


def outcome(
    steps: Sequence[StepShape], marks: Mapping[str, Mark], stopped: bool = False, *, assessment: bool = True
) -> OutcomeResult:
    """What these marks amount to. `marks` by step key."""
    given = [(number, step, marks.get(step.key, Mark.NOT_SEEN)) for number, step in enumerate(steps, start=1)]
    applied = [row for row in given if row[2] is not Mark.NOT_NEEDED]
    seen = [row for row in applied if row[2] is not Mark.NOT_SEEN]
    failed, unseen = tuple(reasons_against(seen, stopped)), tuple(reasons_open(applied, len(seen)))
    missed = any(step.critical and mark in NOT_RIGHT for _, step, mark in seen)
    return OutcomeResult(
        outcome=Outcome.NOT_MET if failed else Outcome.INCOMPLETE if unseen else Outcome.MET,
        critical_miss=stopped or (missed and assessment),
        because=failed or unseen or ("met: every critical step was right, and enough of the others.",),
        applied=len(applied),
        seen=len(seen),
        alone=sum(mark in RIGHT for _, _, mark in seen),
    )


Row = tuple[int, StepShape, Mark]


def reasons_against(seen: Sequence[Row], stopped: bool) -> Iterable[str]:
    """Why it is not met."""
    if stopped:
        yield "not met: it was stopped as unsafe."
    for number, step, mark in seen:
        if step.critical and mark in NOT_RIGHT:
            yield f"not met: step {number} is critical and was {mark}."
    others = [mark for _, step, mark in seen if not step.critical]
    alone = sum(mark in RIGHT for mark in others)
    if alone < (wanted := enough_of(len(others))):
        yield f"not met: {alone} of the {len(others)} other steps seen were alone, and it takes {wanted}."


def reasons_open(applied: Sequence[Row], seen: int) -> Iterable[str]:
    """Why it is incomplete."""
    for number, step, mark in applied:
        if step.critical and mark is Mark.NOT_SEEN:
            yield f"incomplete: step {number} is critical and was not seen."
    others = [mark for _, step, mark in applied if not step.critical]
    alone = sum(mark in RIGHT for mark in others)
    if seen < (wanted := enough_of(len(applied))):
        yield f"incomplete: {seen} of the {counted(len(applied), 'step')} that applied {'was' if seen == 1 else 'were'} seen, and it takes {wanted}."
    elif alone < (wanted := enough_of(len(others))):
        yield f"incomplete: {alone} of the {counted(len(others), 'other step')} that applied {'was' if alone == 1 else 'were'} seen and alone, and it takes {wanted}."


def enough_of(steps: int) -> int:
    """Four fifths, rounded up."""
    return -(-ENOUGH_OF_FIVE * steps // 5)
