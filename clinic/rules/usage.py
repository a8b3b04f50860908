"""Counts, rates and how long a counter may still run: always a range, never a false date.

Events are what the counter counts (parts milled, tightenings); exposure is the time or the work they came from.
"""

from dataclasses import dataclass
from math import ceil, floor

from clinic.rules.late import Late
from clinic.rules.words import counted

special = Late("scipy.special")

JEFFREYS = (0.5, 0.0)
"""The prior Gamma(a, b) that says least about a rate (S-71)."""


@dataclass(frozen=True, slots=True)
class Limits:
    """Lower and upper limit, in the unit of what they enclose."""

    lower: float
    upper: float


@dataclass(frozen=True, slots=True)
class Rate:
    """Events per unit of exposure, with its limits."""

    value: float
    limits: Limits


def garwood(count: int, confidence: float = 0.95) -> Limits:
    """Exact limits of the mean of a Poisson count: L = χ²(α/2, 2k)/2 (0 where k = 0), U = χ²(1 − α/2, 2k + 2)/2.

    ValueError for a negative count or a confidence outside 0 to 1. Source: Garwood 1936; section 5e.
    """
    _refuse_negative("count", count)
    tail = _tail(confidence)
    lower = float(special.gammaincinv(count, tail)) if count else 0.0  # half of χ²(p, 2k) is the inverse of P(k, x)
    return Limits(lower, float(special.gammaincinv(count + 1, 1 - tail)))


def rate(count: int, exposure: float, confidence: float = 0.95) -> Rate | None:
    """Count and Garwood limits divided by the exposure; None where there was no exposure (no data).

    ValueError for a negative count or exposure. Source: S-70.
    """
    _refuse_negative("exposure", exposure)
    limits = garwood(count, confidence)
    if exposure == 0:
        return None
    return Rate(count / exposure, Limits(limits.lower / exposure, limits.upper / exposure))


def clopper_pearson(count: int, whole: int, confidence: float = 0.95) -> Limits | None:
    """Exact limits of a share: L = Beta⁻¹(α/2; k, n − k + 1), 0 where k = 0; U = Beta⁻¹(1 − α/2; k + 1, n − k), 1 where k = n.

    None where nothing was counted. ValueError for a count that is negative or above the whole. Source: Clopper and Pearson
    1934, from memory; held against scipy in the tests.
    """
    _refuse_negative("count", count)
    if count > whole:
        raise ValueError(f"The count cannot be above the whole: {count} of {whole}.")
    tail = _tail(confidence)
    if whole == 0:
        return None
    lower = float(special.betaincinv(count, whole - count + 1, tail)) if count else 0.0
    return Limits(lower, float(special.betaincinv(count + 1, whole - count, 1 - tail)) if count < whole else 1.0)


@dataclass(frozen=True, slots=True)
class DaysUntil:
    """Days from now until a counter reaches its mark: whole days, earliest and latest; `latest` None where unknown.

    `likely` is the plug-in at the mean rate, for the chart only: a single day would promise too much (S-74).
    """

    earliest: int
    likely: float | None
    latest: int | None
    says: str


def days_until(
    left: int, events: int, days: float, confidence: float = 0.90, prior: tuple[float, float] = JEFFREYS
) -> DaysUntil:
    """When a counter with `left` events to go will reach its mark, after `events` in the last `days`.

    The wait for m more events is (b + T) × BetaPrime(m, a + y): the gamma-Poisson forecast read along the days.
    Earliest is rounded down and latest up. No latest day without a single event so far (S-73). ValueError for
    negative counts or days. Source: S-71, S-74 with own choice of a range (D).
    """
    _refuse_negative("number of events", events)
    _refuse_negative("number of days", days)
    tail = _tail(confidence)
    if left <= 0:
        return DaysUntil(0, 0.0, 0, "The mark is reached.")
    if days == 0:
        return DaysUntil(0, None, None, "No use recorded yet: no forecast.")
    a, b = prior
    waits = [(b + days) * beta_prime(each, left, a + events) for each in (tail, 1 - tail)]
    earliest, latest = floor(waits[0]), ceil(waits[1]) if events else None
    return DaysUntil(earliest, left * (b + days) / (a + events), latest, _range_says(earliest, latest, confidence))


def beta_prime(p: float, a: float, b: float) -> float:
    """The value below which BetaPrime(a, b) lies with probability `p`: x / (1 − x), x that of Beta(a, b). 1 − x is asked for
    by itself, so that it loses nothing where x is near 1."""
    return float(special.betaincinv(a, b, p) / special.betaincinv(b, a, 1 - p))


def _range_says(earliest: int, latest: int | None, confidence: float) -> str:
    if latest is None:
        return f"Not likely within {counted(earliest, 'day')}; nothing was used yet, so no latest day can be given."
    return f"Between {earliest} and {counted(latest, 'day')} from now ({100 * confidence:.0f} % range)."


def _tail(confidence: float) -> float:
    if not 0 < confidence < 1:
        raise ValueError(f"The confidence must lie between 0 and 1, not {confidence}.")
    return (1 - confidence) / 2


def _refuse_negative(name: str, value: float) -> None:
    if not value >= 0:
        raise ValueError(f"The {name} cannot be negative: {value}.")
