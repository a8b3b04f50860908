"""Agreement and leniency: edge tables are results, bad ones are refused, and too few stays too few."""

import pytest

from training.rules.agreement import Agreement, Scored, agreement, leniency, strength, table_of


def test_nothing_marked_by_both_is_not_computable() -> None:
    found = agreement([[0, 0], [0, 0]])
    assert (found.n, found.kappa) == (0, None)
    assert found.says == "not computable: nothing was marked by both"


def test_full_agreement_gets_no_interval() -> None:
    found = agreement([[5, 0], [0, 5]])
    assert (found.kappa, found.error, found.interval, found.word) == (1.0, 0.0, None, "almost perfect")
    assert "no interval: they never differed" in found.says


def test_agreement_below_chance_is_poor() -> None:
    found = agreement([[0, 5], [5, 0]])
    assert (found.kappa, found.word) == (-1.0, "poor")


def test_an_interval_never_passes_one() -> None:
    assert agreement([[9, 1], [0, 5]]).interval.upper == 1.0


@pytest.mark.parametrize("table", [[], [[3]], [[1, 2]], [[1, 2], [3]]])
def test_a_table_that_is_not_square_is_refused(table: list[list[int]]) -> None:
    with pytest.raises(ValueError, match="square"):
        agreement(table)


def test_negative_cells_are_refused() -> None:
    with pytest.raises(ValueError, match="cannot be negative"):
        agreement([[1, -1], [0, 1]])


@pytest.mark.parametrize("kappa", [-1.1, 1.1, float("nan")])
def test_a_kappa_beyond_one_has_no_word(kappa: float) -> None:
    with pytest.raises(ValueError, match="Kappa lies between"):
        strength(kappa)


def test_pairs_are_counted_row_first() -> None:
    assert table_of([("a", "b"), ("a", "b"), ("b", "b")], "ab") == [[0, 2], [0, 1]]


def test_an_unknown_mark_is_named() -> None:
    with pytest.raises(ValueError, match="'c' is not one of the marks a, b"):
        table_of([("a", "c")], "ab")


def doubled(performances: int, lenient: int, strict: int) -> list[Scored]:
    """Two steps a performance: Ana and Ben agree on one; on the other Ana marks higher, the same or lower."""
    rows = []
    for number in range(performances):
        ana = 2 if number < lenient else 0 if number < lenient + strict else 1
        for step, score in (("1", 1), ("2", ana)):
            rows += [Scored(f"p{number}", step, "Ana", score), Scored(f"p{number}", step, "Ben", 1)]
    return rows


@pytest.mark.parametrize(
    ("performances", "lenient", "strict", "ana", "ben"),
    [
        (9, 9, 0, "too few", "too few"),
        (10, 10, 0, "more lenient", "stricter"),
        (10, 9, 0, "no lean shown", "no lean shown"),
        (12, 0, 12, "stricter", "more lenient"),
        (20, 7, 6, "no lean shown", "no lean shown"),
        (10, 0, 0, "no lean shown", "no lean shown"),
    ],
)
def test_a_lean_is_said_only_with_enough_differences(
    performances: int, lenient: int, strict: int, ana: str, ben: str
) -> None:
    assert [one.says for one in leniency(doubled(performances, lenient, strict))] == [ana, ben]


def test_the_counts_of_a_lean_mirror_each_other() -> None:
    ana, ben = leniency(doubled(10, 4, 1))
    assert (ana.performances, ana.compared, ana.higher, ana.lower, ana.lean) == (10, 20, 4, 1, 0.15)
    assert (ben.higher, ben.lower, ben.lean) == (1, 4, -0.15)


def test_somebody_never_doubled_is_too_few() -> None:
    (ana,) = leniency([Scored("p", "1", "Ana", 2)])
    assert (ana.compared, ana.lean, ana.says) == (0, None, "too few")


def test_everybody_scored_the_same_in_full() -> None:
    says = "not computable: everyone scored the same"
    assert agreement([[7, 0], [0, 0]]) == Agreement(7, 1.0, 1.0, None, None, None, None, says)


@pytest.mark.parametrize(
    ("table", "says"),
    [
        ([[20, 5], [10, 15]], "kappa 0.40 (0.15 to 0.65), fair, over 50 marks"),
        ([[5, 0], [0, 5]], "kappa 1.00 (no interval: they never differed), almost perfect, over 10 marks"),
    ],
)
def test_an_agreement_says_kappa_interval_word_and_how_many_marks(table: list[list[int]], says: str) -> None:
    """The first table is the worked example of Cohen's kappa: po 0.7, pe 0.5 (S-30)."""
    assert agreement(table).says == says


def test_an_interval_may_reach_minus_one() -> None:
    assert agreement([[0, 9], [9, 1]]).interval.lower == -1.0


def test_each_lean_names_its_supervisor() -> None:
    assert [one.supervisor for one in leniency(doubled(10, 4, 1))] == ["Ana", "Ben"]
