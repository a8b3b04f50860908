"""Whether work that was logged can change where somebody stands: most cannot, and then nothing needs to be computed.

Work is a performance, by which the idle days begin anew, and nothing else (`training.rules.life`); and so it is for whoever
watched it. So it changes nothing

1. where no version ever had an idle limit, or nothing was signed by then: no life runs that it could prolong;
2. where other work of that day counts already and nothing was decided on that day: the idle days run from it;
3. where the life that runs ends by the calendar or a deadline before its idle days are over: later ones do not prolong it.

What was decided on a usable day is seen in the stretches, as each decision is the cause of what it begins. What was decided
later while on hold is not; until then the life ran, however long its idle days are, so they still decide nothing. While nothing
was signed, a state that began on that very day is named after the last fact of the day, which the work may be.
"""

from collections.abc import Sequence
from datetime import date
from typing import NamedTuple

from training.rules.facts import Ending, ProcedureFacts, State


class Stood(NamedTuple):
    """A stretch of a standing, as far as it bears on this."""

    first: date
    state: State
    cause: str


def has_idle_limit(procedure: ProcedureFacts) -> bool:
    """Whether any version ever had one."""
    return any(version.policy.idle_days is not None for version in procedure.versions)


def may_change(day: date, stood: Sequence[Stood], *, has_limit: bool, done_already: bool) -> bool:
    """Whether the standing on any day may be another once work of that day is known. `stood`: before it was known, the stretch
    of that day (where one was) and all later ones, in order. `has_limit`: the procedure has or had an idle limit.
    `done_already`: other work of that day counts."""
    now = stood[0] if stood and stood[0].first <= day else None
    if now is None:
        return False
    if now.state in (State.LEARNING, State.READY, State.WITHDRAWN):
        return now.first == day
    if not has_limit:
        return False
    if not now.state.is_usable or now.first == day:
        return True
    return not (done_already or ends_before_idle_days(stood))


def ends_before_idle_days(stood: Sequence[Stood]) -> bool:
    """One life to its end, on hold or not, and not by standing idle."""
    *life, end = stood
    runs = all(each.state.is_usable or each.state is State.ON_HOLD for each in life)
    is_one = len({each.cause for each in life if each.state.is_usable}) == 1
    return runs and is_one and end.state is State.LAPSED and end.cause != Ending.IDLE
