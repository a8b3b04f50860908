"""Water: dental-unit lines and the mill's coolant tank, two kinds of result with limits of their own.

Counts are heterotrophic bacteria in CFU/mL. 500 is a figure for dental treatment water; the tank has machine-coolant
bands (W-09). The makers' instructions and local rules come first.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from enum import StrEnum
from math import exp, log, log10

TREATMENT_WATER = 500
"""CFU/mL for non-surgical dental treatment water, 500 itself included (CDC 2003 and 2016; W-01)."""

LIMIT_NOTE = (
    "At most 500 CFU/mL is CDC’s recommendation for water in non-surgical dental treatment; one of its pages says "
    "“fewer than 500”. Where the unit’s maker gives less, the maker’s limit counts."
)

FLUSH_SECONDS = 20
"""Shortest flush of water and air after each patient; 20 to 30 s are recommended (CDC 2003; W-04)."""


@dataclass(frozen=True, slots=True)
class Count:
    """A bacterial count in CFU/mL, no digit lost; `too_many`: too numerous to count, so it is at least this much (S-94);
    `below`: none was seen, so it is less than this, the detection limit (S-90)."""

    cfu: int | Decimal
    too_many: bool = False
    below: bool = False

    def __post_init__(self) -> None:
        if self.cfu < 0:
            raise ValueError(f"A bacterial count cannot be negative: {self.cfu}.")
        if self.below and not self.cfu:
            raise ValueError("Nothing is below 0 CFU/mL.")

    def __str__(self) -> str:
        sign = "≥ " if self.too_many else "< " if self.below else ""
        return f"{sign}{self.cfu:,} CFU/mL"

    def is_under(self, edge: int) -> bool:
        """Whether the true count is surely below the edge."""
        return not self.too_many and (self.cfu < edge or (self.below and self.cfu <= edge))

    def for_mean(self, detection_limit: float) -> float:
        """The number that stands for it: half the detection limit where none was seen (S-90)."""
        return float(self.cfu) / 2 if self.below else float(self.cfu) or detection_limit / 2


AT_LEAST, LESS_THAN = ("≥", ">=", ">"), "<"
DIGITS = re.compile(r"(\d{1,3}(?:,\d{3})+|\d+)(\.\d+)?")


def count_read(typed: object) -> Count | None:
    """A count as it was typed: 120, 200.6, 1,200; ≥ 300 (also >300) for too numerous to count (S-94); <10 where none was
    seen (S-90). None where it is none."""
    words = str(typed if typed is not None else "").replace("CFU/mL", "").strip()
    sign = next((sign for sign in (*AT_LEAST, LESS_THAN) if words.startswith(sign)), "")
    digits = words.removeprefix(sign).strip()
    if not DIGITS.fullmatch(digits):
        return None
    number, below = Decimal(digits.replace(",", "")), sign == LESS_THAN
    return None if below and not number else Count(number, sign in AT_LEAST, below)


@dataclass(frozen=True, slots=True)
class LineResult:
    """One line's count against the limit used; each line stands alone."""

    count: Count
    limit: int
    passed: bool
    says: str


def line_limit(maker_limit: int | None = None) -> int:
    """The lower of 500 and the maker's limit, in CFU/mL (W-01, W-05). ValueError for a negative limit."""
    if maker_limit is not None and maker_limit < 0:
        raise ValueError(f"The maker’s limit cannot be negative: {maker_limit}.")
    return TREATMENT_WATER if maker_limit is None else min(TREATMENT_WATER, maker_limit)


def judge_line(count: Count, maker_limit: int | None = None) -> LineResult:
    """A dental-unit line passes at or below its limit (W-01, W-05).

    Too numerous to count never passes, even where the plate's top is below the limit, and "less than" a number above the
    limit does not either: the true count is unknown (D, the safe side).
    """
    limit = line_limit(maker_limit)
    passed = count.cfu <= limit and not count.too_many
    says = f"{count}, limit {limit}: {'pass' if passed else 'fail'}."
    return LineResult(count, limit, passed, says if passed else f"{says} {LINE_OUT}")


LINE_OUT = "Take the line out of use, treat it as its maker says, and retest it before patients."


class Band(StrEnum):
    """How the coolant is: good; reasonable, review and correct; poor, act at once."""

    GOOD = "good"
    REASONABLE = "reasonable"
    POOR = "poor"


WHAT_TO_DO = {
    Band.GOOD: "Go on as now.",
    Band.REASONABLE: "Find the cause, change the water sooner, and test again.",
    Band.POOR: "Drain, clean and refill the tank now, and test again.",
}
"""What to do next at each band (HSE, third wording from memory; W-10)."""


@dataclass(frozen=True, slots=True)
class Edges:
    """Where the bands meet, in CFU/mL: below `reasonable_from` is good, from `poor_from` on is poor."""

    edition: str
    reasonable_from: int
    poor_from: int

    def __post_init__(self) -> None:
        if not 0 < self.reasonable_from < self.poor_from:
            raise ValueError("The bands need 0 < reasonable from < poor from.")


HSE_2012 = Edges("UK HSE page of 28 November 2012", 10**3, 10**6)
"""The older edition, with 10^3 as the edge of good (W-11)."""

HSE_CURRENT = Edges("UK HSE page on bacterial contamination of metalworking fluids, current", 10**4, 10**6)
"""The edition of W-10."""


def tank_acts(edges: Edges) -> tuple[str, str]:
    """What to do at a count that is not good, and at a poor one, with the edges in figures."""
    return (
        f"From {edges.reasonable_from:,} to below {edges.poor_from:,}: find the cause, change the water sooner, test again.",
        f"From {edges.poor_from:,}: drain, clean, refill, test again at once.",
    )


def edges_on(dated: Sequence[tuple[date, Edges]], day: date) -> Edges:
    """The edge set a site has in force on the day: the latest that began by then, else the current edition (W-11)."""
    begun = [(first, edges) for first, edges in dated if first <= day]
    return max(begun, key=lambda item: item[0])[1] if begun else HSE_CURRENT


@dataclass(frozen=True, slots=True)
class TankResult:
    """The band of one tank sample and the edge set it was judged by."""

    count: Count
    band: Band
    edges: Edges
    says: str


def judge_tank(count: Count, edges: Edges = HSE_CURRENT) -> TankResult:
    """The band of a mill tank's sample (W-09 to W-11, S-94). Never judged by the 500 of dental water.

    Too numerous to count is poor whatever the plate's top, because the true count is unknown (S-94; below 10^6 D, the
    safe side).
    """
    band = Band.REASONABLE
    if not count.is_under(edges.poor_from):
        band = Band.POOR
    elif count.is_under(edges.reasonable_from):
        band = Band.GOOD
    return TankResult(count, band, edges, f"{count}: {band}. {WHAT_TO_DO[band]}")


@dataclass(frozen=True, slots=True)
class GeometricMean:
    """A geometric mean, in the unit of its values; `replaced`: how many zeros stand at half the detection limit."""

    value: float
    replaced: int


def geometric_mean(values: Sequence[float], detection_limit: float | None = None) -> GeometricMean | None:
    """exp(mean ln x); a zero counts as half the detection limit and is flagged. None without values.

    ValueError for a negative value, or a zero without a positive detection limit. Only for looking back: pass and
    fail are of each result (S-93). Source: S-90.
    """
    if any(value < 0 for value in values):
        raise ValueError("A bacterial count cannot be negative.")
    replaced = sum(value == 0 for value in values)
    if replaced and not (detection_limit and detection_limit > 0):
        raise ValueError("A count below the detection limit needs that limit, above 0.")
    if not values:
        return None
    logs = [log(value or (detection_limit or 0) / 2) for value in values]
    return GeometricMean(exp(sum(logs) / len(logs)), replaced)


def mean_of(counts: Sequence[Count], detection_limit: float) -> GeometricMean | None:
    """The geometric mean of counts, those in which none was seen at half their detection limit, and flagged (S-90)."""
    found = geometric_mean([count.for_mean(detection_limit) for count in counts])
    return found and replace(found, replaced=sum(count.below or not count.cfu for count in counts))


def log_reduction(before: float, after: float) -> float:
    """log10(before/after), no unit; negative where it grew. ValueError unless both are above 0. Source: S-91."""
    _refuse_not_positive(before, after)
    return log10(before / after)


def percent_reduction(reduction: float) -> float:
    """The log reduction as a percentage: 100·(1 − 10^−LR). Source: S-91."""
    return 100 * (1 - exp(-reduction * log(10)))


def treated(before: Count, after: Count, detection_limit: float) -> str:
    """What a treatment did between two counts, in words; a zero counts as half the detection limit (S-90, S-91).

    Two counts too numerous to count cannot be compared, nor can one with a later count that is not below it.
    """
    reduction = log_reduction(before.for_mean(detection_limit), after.for_mean(detection_limit))
    if before.too_many and reduction <= 0:
        return "Not known: the count before was too numerous to say."
    if before.too_many and after.too_many:
        return "Not known: both counts were too numerous to say."
    if reduction <= 0:
        return "Not fewer than before."
    least = "at least " if before.too_many else ""
    most = "at most " if after.too_many else ""
    return f"{least}{most}{reduction:.2f} log units fewer than before ({percent_reduction(reduction):.2f} %)."


def _refuse_not_positive(*values: float) -> None:
    if not all(value > 0 for value in values):
        raise ValueError(f"These must be above 0: {', '.join(str(value) for value in values)}.")
