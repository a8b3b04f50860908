"""When a paper was last reviewed: the day noted beside it, or a later one logged as the upkeep task of its review."""

from collections.abc import Mapping
from datetime import date

from clinic.rules.retention import yearly_due


def paper_reviewed(task: str) -> str:
    """The paper, in small letters, that a task such as "Exposure control plan review" is the review of."""
    return task.casefold().removesuffix(" review")


def last_review(paper: str, noted: date | None, logged: Mapping[str, date]) -> date | None:
    """The later of the review noted and the one logged; None where neither is."""
    return max(filter(None, (noted, logged.get(paper.casefold()))), default=None)


def review_is_late(reviewed: date | None, day: date) -> bool:
    """The day is past the last good day of the yearly review. What was never reviewed has no day to be late from."""
    return reviewed is not None and yearly_due(reviewed) < day
