"""When a paper was last reviewed: the day noted beside it, or a later one logged as the upkeep task of its review."""

from collections.abc import Mapping
from datetime import date, timedelta

# A paper not reviewed for a year is named. For the exposure control plan: 29 CFR 1910.1030(c)(1)(iv) (row O-08); for other
# papers common practice, no source.
REVIEW_DAYS = 365


def paper_reviewed(task: str) -> str:
    """The paper, in small letters, that a task such as "Exposure control plan review" is the review of."""
    return task.casefold().removesuffix(" review")


def last_review(paper: str, noted: date | None, logged: Mapping[str, date]) -> date | None:
    """The later of the review noted and the one logged; None where neither is."""
    return max(filter(None, (noted, logged.get(paper.casefold()))), default=None)


def review_is_late(reviewed: date | None, day: date) -> bool:
    """The last good day is 365 days after the review. What was never reviewed has no day to be late from."""
    return reviewed is not None and reviewed + timedelta(days=REVIEW_DAYS) < day
