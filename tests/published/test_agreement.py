"""Handbook section 5c (rows S-30 to S-40): Cohen's kappa.

Marks: V read in the source, R recomputed from the formula, M from memory, D own design.
"""

import pytest

from tests.published.vectors import VECTORS
from training.rules.agreement import Weighting, agreement, strength

TABLES = [
    pytest.param([[20, 5], [10, 15]], 0.70, 0.50, 0.4000, "fair", id="S-30 R, textbook example M"),
    pytest.param(
        [[22, 2], [4, 11]], 0.846154, 0.538462, 0.6667, "substantial", id="S-31 R, Sim and Wright 2005 V (counts M)"
    ),
    pytest.param([[15, 5], [10, 70]], 0.85, 0.65, 0.5714, "moderate", id="S-32 R, Viera and Garrett 2005 M"),
    pytest.param([[45, 15], [25, 15]], 0.60, 0.54, 0.1304, "slight", id="S-33 R"),
    pytest.param([[25, 35], [5, 35]], 0.60, 0.46, 0.2593, "fair", id="S-34 R"),
]


@pytest.mark.parametrize(("table", "observed", "expected", "kappa", "word"), TABLES)
def test_kappa_of_two_by_two_tables(
    table: list[list[int]], observed: float, expected: float, kappa: float, word: str
) -> None:
    found = agreement(table)
    assert (round(found.observed, 6), round(found.expected, 6)) == (observed, expected)
    assert round(found.kappa, 4) == kappa
    assert found.word == word


@pytest.mark.parametrize(("table", "kappa"), VECTORS["kappa"], ids=[f"vectors.json R {k}" for _, k in VECTORS["kappa"]])
def test_kappa_of_the_published_vectors(table: list[list[int]], kappa: float) -> None:
    assert round(agreement(table).kappa, 4) == kappa


WEIGHTED = [
    pytest.param(Weighting.NONE, 0.7333, 0.3656, 0.5797, id="S-35 R"),
    pytest.param(Weighting.LINEAR, 0.8667, 0.6067, 0.6610, id="S-36 R, Cohen 1968"),
    pytest.param(Weighting.QUADRATIC, 0.9333, 0.7272, 0.7556, id="S-37 R, Cohen 1968"),
]


@pytest.mark.parametrize(("weighting", "observed", "expected", "kappa"), WEIGHTED)
def test_kappa_of_three_marks_under_each_weighting(
    weighting: Weighting, observed: float, expected: float, kappa: float
) -> None:
    row = VECTORS["weighted_kappa_3x3"]
    found = agreement(row["table"], weighting)
    assert (round(found.observed, 4), round(found.expected, 4), round(found.kappa, 4)) == (observed, expected, kappa)
    assert round(found.kappa, 4) == row["none" if weighting is Weighting.NONE else weighting.value]


@pytest.mark.parametrize("weighting", list(Weighting), ids="S-38 R {}".format)
def test_everyone_the_same_is_not_computable(weighting: Weighting) -> None:
    found = agreement([[30, 0], [0, 0]], weighting)
    assert (found.kappa, found.error, found.interval, found.word) == (None, None, None, None)
    assert (found.observed, found.says) == (1.0, "not computable: everyone scored the same")


def test_the_simple_error_and_the_interval() -> None:
    """S-39, R."""
    first, second = agreement([[20, 5], [10, 15]]), agreement([[22, 2], [4, 11]])
    assert (round(first.error, 5), round(second.error, 5)) == (0.12961, 0.12518)
    assert (round(first.interval.lower, 3), round(first.interval.upper, 3)) == (0.146, 0.654)


EDGES = [
    (-1.0, "poor"),
    (-0.0001, "poor"),
    (0.0, "slight"),
    (0.20, "slight"),
    (0.2001, "fair"),
    (0.4000, "fair"),
    (0.4001, "moderate"),
    (0.405, "moderate"),
    (0.60, "moderate"),
    (0.6001, "substantial"),
    (0.80, "substantial"),
    (0.8001, "almost perfect"),
    (1.0, "almost perfect"),
]


@pytest.mark.parametrize(("kappa", "word"), EDGES, ids=[f"S-40 D {kappa}" for kappa, _ in EDGES])
def test_the_word_compares_the_unrounded_kappa(kappa: float, word: str) -> None:
    """Landis and Koch 1977 (V, statistics page and journal table); the sides of the edges are own choice (D)."""
    assert strength(kappa) == word
