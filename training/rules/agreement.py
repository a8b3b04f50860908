"""How far two supervisors agree, and whether one is more lenient than the others.

Advisory only, never printed for single people. "Not computable" and "too few" are results, not errors.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from itertools import permutations
from math import sqrt
from typing import TypeAlias

from training.rules.learning import Z95, Interval, wilson

Table: TypeAlias = Sequence[Sequence[int]]
"""Counts: row = the first supervisor's mark, column = the second's, both in the same order."""

PERFORMANCES_ENOUGH = 10
"""Performances marked twice, below which a supervisor's leniency is "too few" (own rule, D)."""

DIFFERENCES_ENOUGH = 10
"""Marks that differ, below which nothing is said of their direction (own rule, D: fewer can hardly show a lean)."""


class Weighting(StrEnum):
    """How much a near miss between two marks counts as agreement."""

    NONE = "unweighted"
    LINEAR = "linear"
    QUADRATIC = "quadratic"

    def of(self, row: int, column: int, size: int) -> Fraction:
        """1 on the diagonal; beside it 0, 1 − |i − j|/(k − 1) or 1 − (i − j)²/(k − 1)² (Cohen 1968; S-35 to S-37)."""
        apart = Fraction(abs(row - column), size - 1)
        if self is Weighting.NONE:
            return Fraction(row == column)
        return 1 - (apart if self is Weighting.LINEAR else apart * apart)


@dataclass(frozen=True, slots=True)
class Agreement:
    """The agreement of two supervisors over n marks.

    `observed` and `expected` are the agreement seen and the agreement chance alone would give (0 to 1, weighted where
    a weighting is). `kappa`, `error` and `interval` are None where they cannot be computed; `says` then tells why.
    """

    n: int
    observed: float | None
    expected: float | None
    kappa: float | None
    error: float | None
    interval: Interval | None
    word: str | None
    says: str


def table_of(pairs: Iterable[tuple[str, str]], marks: Sequence[str]) -> list[list[int]]:
    """The table of counts from pairs of marks (first supervisor's, second's), in the order of `marks`.

    ValueError names a mark that is not in the list.
    """
    place = {mark: index for index, mark in enumerate(marks)}
    table = [[0] * len(marks) for _ in marks]
    for pair in pairs:
        for mark in pair:
            if mark not in place:
                raise ValueError(f"{mark!r} is not one of the marks {', '.join(marks)}.")
        table[place[pair[0]]][place[pair[1]]] += 1
    return table


def agreement(table: Table, weighting: Weighting = Weighting.NONE) -> Agreement:
    """Cohen's kappa κ = (po − pe)/(1 − pe) with its simple standard error, 95 % interval and word.

    error = √((Σ w²p − po²)/n)/(1 − pe), which is √(po(1 − po)/n)/(1 − pe) unweighted: the simple one, which takes pe
    as known. Exact fractions until the end. No interval where the error is 0, because full agreement in few marks is
    no certainty. ValueError for a table that is not square, has fewer than two marks or a negative count. Source:
    Cohen 1960 and 1968; S-30 to S-39.
    """
    _refuse_bad_table(table)
    n = sum(map(sum, table))
    if n == 0:
        return Agreement(0, None, None, None, None, None, None, "not computable: nothing was marked by both")
    seen, by_chance, squares = _sums(table, weighting, n)
    if by_chance == 1:
        says = "not computable: everyone scored the same"
        return Agreement(n, float(seen), 1.0, None, None, None, None, says)
    kappa = float((seen - by_chance) / (1 - by_chance))
    error = sqrt((squares - seen * seen) / n) / float(1 - by_chance)
    interval = Interval(max(-1.0, kappa - Z95 * error), min(1.0, kappa + Z95 * error)) if error else None
    word = strength(kappa)
    return Agreement(
        n, float(seen), float(by_chance), kappa, error, interval, word, _sentence(kappa, interval, word, n)
    )


def _sums(table: Table, weighting: Weighting, n: int) -> tuple[Fraction, Fraction, Fraction]:
    """Agreement seen, agreement by chance, and the seen mean of squared weights."""
    size = len(table)
    rows, columns = [sum(row) for row in table], [sum(column) for column in zip(*table, strict=True)]
    cells = [(i, j, weighting.of(i, j, size)) for i in range(size) for j in range(size)]
    seen = sum((w * table[i][j] for i, j, w in cells), Fraction(0)) / n
    by_chance = sum((w * rows[i] * columns[j] for i, j, w in cells), Fraction(0)) / (n * n)
    squares = sum((w * w * table[i][j] for i, j, w in cells), Fraction(0)) / n
    return seen, by_chance, squares


def _sentence(kappa: float, interval: Interval | None, word: str, n: int) -> str:
    limits = f"{interval.lower:.2f} to {interval.upper:.2f}" if interval else "no interval: they never differed"
    return f"kappa {kappa:.2f} ({limits}), {word}, over {n} marks"


def _refuse_bad_table(table: Table) -> None:
    if len(table) < 2 or any(len(row) != len(table) for row in table):
        raise ValueError("An agreement table is square and has at least two marks.")
    if any(count < 0 for row in table for count in row):
        raise ValueError("Counts of marks cannot be negative.")


def strength(kappa: float) -> str:
    """The Landis and Koch word, the unrounded kappa compared with > 0.20, 0.40, 0.60, 0.80; below 0 "poor".

    Source: Landis and Koch 1977; which side an edge belongs to is our own choice (S-40, D). ValueError beyond ±1.
    """
    if not -1 <= kappa <= 1:
        raise ValueError(f"Kappa lies between -1 and 1, not {kappa}.")
    if kappa < 0:
        return "poor"
    edges = ((0.80, "almost perfect"), (0.60, "substantial"), (0.40, "moderate"), (0.20, "fair"))
    return next((word for edge, word in edges if kappa > edge), "slight")


@dataclass(frozen=True, slots=True)
class Scored:
    """One step of one performance as one supervisor marked it; the higher the score, the better the mark."""

    performance: str
    step: str
    supervisor: str
    score: int


@dataclass(frozen=True, slots=True)
class Leniency:
    """One supervisor against the others who marked the same performances independently.

    `higher` and `lower`: marks above and below another's for the same step; `lean` = (higher − lower)/marks compared,
    −1 to 1. `says` is "too few" until there is enough to say more.
    """

    supervisor: str
    performances: int
    compared: int
    higher: int
    lower: int
    lean: float | None
    says: str


def leniency(scores: Iterable[Scored]) -> tuple[Leniency, ...]:
    """Each supervisor against the others on the same steps of the same performances, in order of name.

    "More lenient" or "stricter" only where the Wilson 95 % interval of the share of higher marks among those that
    differ leaves one half on one side (a sign test), from 10 performances and 10 differences on (own rule, D). Steps
    of one performance hang together, so it is a hint to talk, not a measurement.
    """
    by_step: dict[tuple[str, str], dict[str, int]] = defaultdict(dict)
    for mark in scores:
        by_step[mark.performance, mark.step][mark.supervisor] = mark.score
    apart: dict[str, list[tuple[str, int]]] = defaultdict(list)
    for (performance, _), marks in by_step.items():
        for one, other in permutations(marks, 2):
            apart[one].append((performance, marks[one] - marks[other]))
        for one in marks:
            apart.setdefault(one, [])  # somebody who was never doubled is still named, as "too few"
    return tuple(_lean(one, apart[one]) for one in sorted(apart))


def _lean(supervisor: str, apart: Sequence[tuple[str, int]]) -> Leniency:
    performances = len({performance for performance, _ in apart})
    higher, lower = sum(by > 0 for _, by in apart), sum(by < 0 for _, by in apart)
    lean = (higher - lower) / len(apart) if apart else None
    return Leniency(supervisor, performances, len(apart), higher, lower, lean, _leans(performances, higher, lower))


def _leans(performances: int, higher: int, lower: int) -> str:
    if performances < PERFORMANCES_ENOUGH:
        return "too few"
    interval = wilson(higher, higher + lower)
    if interval is None or higher + lower < DIFFERENCES_ENOUGH:
        return "no lean shown"
    if interval.lower > 0.5:
        return "more lenient"
    return "stricter" if interval.upper < 0.5 else "no lean shown"
