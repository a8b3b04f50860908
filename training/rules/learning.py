"""What the counts say about learning, and what they cannot say yet.

Advisory only: beside the record, never a decision and never on paper for a single person.
"""

from dataclasses import dataclass
from math import ceil, floor, log, sqrt

Z95 = 1.959963984540054
"""The normal quantile of a two-sided 95 % interval (S-01 to S-13)."""

RELIABLE, CONFIDENT = 0.90, 0.95
"""What so many clean performances have to show before a percentage is printed of them (S-26, own rule, D)."""

PEOPLE_ENOUGH = 10
"""People in the practice below which judging is off by default (own rule, D)."""

PERFORMANCES_ENOUGH = 6
"""Performances below which a picture stays quiet: up to five convince nobody (S-57, own rule, D)."""

ROUNDING = 1e-12
"""What two sums that should be equal may differ by (S-27)."""


@dataclass(frozen=True, slots=True)
class Interval:
    """Two limits, lower first, in the unit of what they enclose."""

    lower: float
    upper: float


def wilson(met: int, n: int, z: float = Z95) -> Interval | None:
    """Wilson score interval of a share, no continuity correction; None where n = 0 (no data).

    centre (p + z²/2n)/(1 + z²/n), half-width z·√(p(1−p)/n + z²/4n²)/(1 + z²/n). The limit at 0 of 0/n and at 1 of n/n
    is exact. ValueError where met or n is no count. Source: Wilson 1927, Newcombe 1998; S-01 to S-13.
    """
    refuse_bad_counts(met, n)
    if n == 0:
        return None
    share, spread = met / n, 1 + z * z / n
    centre = (share + z * z / (2 * n)) / spread
    half = z * sqrt(share * (1 - share) / n + z * z / (4 * n * n)) / spread
    return Interval(0.0 if met == 0 else centre - half, 1.0 if met == n else centre + half)


def refuse_bad_counts(met: int, n: int) -> None:
    """ValueError unless 0 ≤ met ≤ n."""
    if met < 0 or n < 0:
        raise ValueError(f"Counts cannot be negative: {met} of {n}.")
    if met > n:
        raise ValueError(f"More met than observed: {met} of {n}.")


def refuse_bad_share(name: str, share: float) -> None:
    """ValueError unless 0 < share < 1."""
    if not 0 < share < 1:
        raise ValueError(f"The {name} must lie between 0 and 1, not {share}.")


def zero_failure_size(reliability: float, confidence: float) -> int:
    """Performances in a row without a failure that show the reliability: n = ⌈ln(1 − C)/ln R⌉.

    The ceiling is guarded against rounding (S-27). ValueError unless both shares lie between 0 and 1. Source:
    zero-failure binomial theorem; S-20 to S-23.
    """
    refuse_bad_share("reliability", reliability)
    refuse_bad_share("confidence", confidence)
    return max(1, ceil(log(1 - confidence) / log(reliability) - ROUNDING))


def demonstrated_reliability(n: int, confidence: float) -> float:
    """The share that n performances without a failure show: R = (1 − C)^(1/n); 0 where n = 0.

    ValueError for a negative n or a confidence outside 0 to 1. Source: zero-failure binomial theorem; S-25.
    """
    refuse_bad_counts(0, n)
    refuse_bad_share("confidence", confidence)
    return float((1 - confidence) ** (1 / n)) if n else 0.0


PERCENT_FROM = zero_failure_size(RELIABLE, CONFIDENT)
"""Performances below which no percentage is printed (S-26, own rule): 29 clean ones show 0.90 with 95 % confidence."""


def clean_sentence(clean: int, n: int) -> str:
    """What n performances say about the next ones where all were clean; nothing where one was not, or none was seen.

    Zero-failure sums hold only for what had no failure at all, so a run after a miss is not counted out of it. Below
    `PERCENT_FROM` the sentence has no percentage (S-25, S-26). Rounded down: it says "at least". ValueError where clean
    or n is no count.
    """
    refuse_bad_counts(clean, n)
    if clean < n or n == 0:
        return ""
    if n < PERCENT_FROM:
        return f"No critical miss so far. From {PERCENT_FROM} performances on that says something in figures; {n} are too few."
    shown = floor(1000 * demonstrated_reliability(n, CONFIDENT)) / 10
    return f"{n} without a critical miss: with {100 * CONFIDENT:.0f} % confidence at least {shown:.1f} % of such performances have none."


def may_judge(people: int, performances: int) -> bool:
    """Whether a picture may be shown at all: ten people or more in the practice, and more than five performances.

    Own rule (D), on S-57. ValueError for negative counts.
    """
    refuse_bad_counts(0, people)
    refuse_bad_counts(0, performances)
    return people >= PEOPLE_ENOUGH and performances >= PERFORMANCES_ENOUGH


def counts_sentence(met: int, n: int) -> str:
    """What a paper may say of n observed performances: counts, and below 29 of them never a percentage (S-26, D).

    From 29 on the Wilson interval stands beside the counts. ValueError where met or n is no count.
    """
    interval = wilson(met, n)
    if interval is None:
        return "No performance observed yet."
    counts = f"{met} of {n} observed performances met every critical step"
    if n < PERCENT_FROM:
        return f"{counts}."
    return f"{counts} (95 % interval {100 * interval.lower:.1f} % to {100 * interval.upper:.1f} %)."
