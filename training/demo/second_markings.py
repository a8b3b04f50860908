"""Now and then two supervisors watch the same work and mark it without each other's marks."""

from datetime import timedelta

from clinic import clock
from clinic.models import Person
from training.actions.second_marking import mark_too
from training.demo.scenario import key_of
from training.demo.setting_up import Cast
from training.models import Observation

EVERY = 8  # performances, about
STRICTER = 40  # of so many steps one is marked down a little
SITE = "high-street"  # where two supervise from the first day


def mark_some_too(cast: Cast, seen: Observation) -> None:
    """The second one is a little stricter: some of what was done alone is marked as prompted."""
    other = colleague(cast, seen)
    if other is None or int(key_of("watched by two", seen.pk)) % EVERY:
        return
    marks = {row["step"]: second_mark(seen, row) for row in seen.marks}
    with clock.standing_at(seen.finished_at + timedelta(minutes=4)):
        mark_too(seen, marks, by=other, id=key_of("second marks", seen.pk))


def second_mark(seen: Observation, row: dict[str, str]) -> str:
    down = row["mark"] == "alone" and int(key_of("stricter", seen.pk, row["step"])) % STRICTER == 0
    return "prompted" if down else row["mark"]


def colleague(cast: Cast, seen: Observation) -> Person | None:
    if seen.site != cast.sites[SITE]:
        return None
    return next(
        (
            person
            for person in cast.supervisors(SITE, seen.happened_on)
            if person not in (seen.person, seen.observer) and person.is_at_work_on(seen.happened_on)
        ),
        None,
    )
