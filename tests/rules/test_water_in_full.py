"""Water in whole sentences: counts as typed, what a treatment did, and what each result tells one to do."""

from datetime import date
from decimal import Decimal

import pytest

from clinic.rules.water import (
    HSE_2012,
    HSE_CURRENT,
    Band,
    Count,
    Edges,
    count_read,
    edges_on,
    geometric_mean,
    judge_line,
    judge_tank,
    line_limit,
    log_reduction,
    mean_of,
    percent_reduction,
    tank_acts,
    treated,
)


@pytest.mark.parametrize(
    ("typed", "count"),
    [
        ("120", Count(120)),
        (120, Count(120)),
        (0, Count(0)),
        (" 1,200 CFU/mL ", Count(1200)),
        ("≥ 300", Count(300, True)),
        (">=300", Count(300, True)),
        (">300", Count(300, True)),
        ("many", None),
        ("", None),
        (None, None),
        ("-1", None),
        ("1,5", None),
        ("12,34", None),
        ("1e3", None),
        ("<0", None),
        ("200.6", Count(Decimal("200.6"))),
        ("<10", Count(10, below=True)),
        ("< 1,000 CFU/mL", Count(1000, below=True)),
        ("1 2", None),
    ],
)
def test_a_count_is_read_as_it_was_typed(typed: object, count: Count | None) -> None:
    assert count_read(typed) == count


@pytest.mark.parametrize(
    ("count", "words"),
    [
        (Count(1200), "1,200 CFU/mL"),
        (Count(300, too_many=True), "≥ 300 CFU/mL"),
        (Count(10, below=True), "< 10 CFU/mL"),
    ],
)
def test_a_count_says_its_unit_and_whether_it_is_at_least(count: Count, words: str) -> None:
    assert str(count) == words


def test_what_to_do_with_a_tank_gives_the_edges_in_figures() -> None:
    assert tank_acts(HSE_CURRENT) == (
        "From 10,000 to below 1,000,000: find the cause, change the water sooner, test again.",
        "From 1,000,000: drain, clean, refill, test again at once.",
    )


@pytest.mark.parametrize(
    ("count", "band", "says"),
    [
        (Count(9_999), Band.GOOD, "9,999 CFU/mL: good. Go on as now."),
        (
            Count(10_000),
            Band.REASONABLE,
            "10,000 CFU/mL: reasonable. Find the cause, change the water sooner, and test again.",
        ),
        (Count(300, True), Band.POOR, "≥ 300 CFU/mL: poor. Drain, clean and refill the tank now, and test again."),
    ],
)
def test_a_tank_result_is_a_whole_sentence(count: Count, band: Band, says: str) -> None:
    result = judge_tank(count)
    assert (result.count, result.band, result.edges, result.says) == (count, band, HSE_CURRENT, says)


def test_a_tank_is_judged_by_the_edges_given() -> None:
    assert (judge_tank(Count(1_000), HSE_2012).band, judge_tank(Count(1_000), HSE_2012).edges) == (
        Band.REASONABLE,
        HSE_2012,
    )


def test_the_latest_edges_that_began_count() -> None:
    first, second, third = (Edges(name, 1, 2) for name in ("first", "second", "third"))
    dated = [(date(2026, 2, 1), second), (date(2026, 1, 1), first), (date(2026, 3, 1), third)]
    assert [edges_on(dated, date(2026, month, 1)) for month in (1, 2, 3)] == [first, second, third]
    assert edges_on(dated, date(2026, 2, 28)) is second


def test_a_line_result_keeps_its_count() -> None:
    assert judge_line(Count(7)).count == Count(7)


@pytest.mark.parametrize(("maker", "limit"), [(None, 500), (200, 200), (900, 500)])
def test_the_lower_limit_counts(maker: int | None, limit: int) -> None:
    assert line_limit(maker) == limit


@pytest.mark.parametrize(
    ("before", "after", "says"),
    [
        (Count(10_000), Count(100), "2.00 log units fewer than before (99.00 %)."),
        (Count(10_000, True), Count(100), "at least 2.00 log units fewer than before (99.00 %)."),
        (Count(10_000), Count(100, True), "at most 2.00 log units fewer than before (99.00 %)."),
        (Count(1_000), Count(0), "2.00 log units fewer than before (99.00 %)."),
        (Count(100), Count(100), "Not fewer than before."),
        (Count(100), Count(101), "Not fewer than before."),
        (Count(0), Count(0), "Not fewer than before."),
        (Count(0), Count(1), "1.00 log units fewer than before (90.00 %)."),
        (Count(300, True), Count(300), "Not known: the count before was too numerous to say."),
        (Count(300, True), Count(400, True), "Not known: the count before was too numerous to say."),
        (Count(30_000, True), Count(300, True), "Not known: both counts were too numerous to say."),
    ],
)
def test_what_a_treatment_did_is_said_in_words(before: Count, after: Count, says: str) -> None:
    """A zero stands at half the detection limit, here 10 of 20 CFU/mL (S-90, S-91)."""
    assert treated(before, after, detection_limit=20) == says


@pytest.mark.parametrize(("reduction", "percent"), [(0, 0), (1, 90), (3, 99.9), (-1, -900)])
def test_each_log_unit_is_a_factor_of_ten(reduction: float, percent: float) -> None:
    assert percent_reduction(reduction) == pytest.approx(percent)


def test_a_refused_sum_names_what_it_was_given() -> None:
    with pytest.raises(ValueError, match=r"^These must be above 0: 0, 5\.$"):
        log_reduction(0, 5)


def test_a_refused_mean_says_what_is_missing() -> None:
    with pytest.raises(ValueError, match=r"^A count below the detection limit needs that limit, above 0\.$"):
        geometric_mean([0])
    with pytest.raises(ValueError, match=r"^A bacterial count cannot be negative\.$"):
        geometric_mean([-1])


def test_nothing_is_below_nought() -> None:
    with pytest.raises(ValueError, match="Nothing is below 0"):
        Count(0, below=True)


@pytest.mark.parametrize(
    ("count", "edge", "under"),
    [
        (Count(9), 10, True),
        (Count(10), 10, False),
        (Count(10, below=True), 10, True),
        (Count(11, below=True), 10, False),
        (Count(9, too_many=True), 10, False),
    ],
)
def test_only_what_is_surely_below_an_edge_is(count: Count, edge: int, under: bool) -> None:
    assert count.is_under(edge) is under


def test_a_mean_flags_each_count_in_which_none_was_seen() -> None:
    found = mean_of([Count(10, below=True), Count(0), Count(5)], 10)
    assert found is not None
    assert (found.value, found.replaced) == (pytest.approx(5), 2)
    assert mean_of([], 10) is None


def test_a_line_fails_one_above_the_makers_limit() -> None:
    assert [judge_line(Count(cfu), 200).passed for cfu in (200, 201)] == [True, False]
