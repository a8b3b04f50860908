"""Limits of what starts the chain of signing: founding grants and carried-over records. All are design choices (D)."""

from datetime import date, timedelta

from clinic.rules.days import plus_months

FOUNDING_MONTHS = 12
SIDE_BY_SIDE_DAYS = 90
CARRIED_OVER_DAYS = 180
LEAST_CARRIED_OVER_DAYS = 60


def last_founding_day(first: date, *, side_by_side: bool) -> date:
    """The latest last day that a founding grant may have: twelve months on, or 90 days for two people's first
    performances together."""
    return first + timedelta(days=SIDE_BY_SIDE_DAYS) if side_by_side else plus_months(first, FOUNDING_MONTHS)


def last_carried_over_day(register_start: date) -> date:
    return register_start + timedelta(days=CARRIED_OVER_DAYS)


def spread(register_start: date, index: int, count: int) -> date:
    """Where the `index`-th of `count` carried-over records ends, so that not everybody is due on one day: evenly over the
    days from 60 to 180 after the register start."""
    if count <= 1:
        return last_carried_over_day(register_start)
    stretch = CARRIED_OVER_DAYS - LEAST_CARRIED_OVER_DAYS
    return register_start + timedelta(days=LEAST_CARRIED_OVER_DAYS + stretch * index // (count - 1))
