"""Jumps of the clock: what is too early or absurdly late beside the newest record, and how that is said.

A record keeps the instant at which it was made. A clock that is wrong for an hour therefore leaves wrong instants behind,
and nothing later can change them: it is found at once, said in words, and put right by a later fact that says so.
"""

from datetime import datetime, timedelta

from clinic.rules.words import counted, instant_words

TOLERANCE = timedelta(minutes=2)
"""By which a clock may step back unsaid: time servers move it by seconds. Common practice, no source."""
FORWARD = timedelta(hours=1)
"""By which a clock may run ahead of the time that passed. Common practice, no source."""
ABSURD = timedelta(days=400)
"""After which the first record of a start is doubted: a register is used every week. Our own choice, no source."""


def stepped_back(last: datetime | None, now: datetime) -> bool:
    """Whether the clock says an instant before the last record by more than the tolerance."""
    return last is not None and now < last - TOLERANCE


def utc_words(instant: datetime) -> str:
    return f"{instant_words(instant)} UTC"


def apart(one: datetime, other: datetime) -> str:
    """How far two instants are from each other, in the largest whole unit."""
    seconds = int(abs(one - other).total_seconds())
    for unit, size in (("day", 86400), ("hour", 3600), ("minute", 60)):
        if seconds >= size:
            return counted(seconds // size, unit)
    return counted(seconds, "second")


def back_words(last: datetime, now: datetime) -> str:
    return (
        f"The clock stepped back by {apart(last, now)}, from {utc_words(last)} to {utc_words(now)}: "
        "it was wrong before, or it is wrong now."
    )


def forward_words(passed: timedelta, now: datetime) -> str:
    """`passed`: by how much the clock moved further than the time did."""
    return f"The clock ran ahead by {apart(now, now - passed)} while the register was running, to {utc_words(now)}."


def refusal(newest: datetime | None, now: datetime) -> str:
    """Why the register must not start with this clock, naming both instants; empty where it may."""
    if newest is None:
        return ""
    if stepped_back(newest, now):
        return (
            f"The clock of this computer says {utc_words(now)}, which is {apart(newest, now)} before the newest record "
            f"({utc_words(newest)})."
        )
    if now > newest + ABSURD:
        return (
            f"The clock of this computer says {utc_words(now)}, which is {apart(newest, now)} after the newest record "
            f"({utc_words(newest)})."
        )
    return ""
