"""Handbook sections 2 and 5g (rows W-01 to W-11, S-90 to S-94): water of dental units and of the mill.

Marks: V read in the source, R recomputed from the formula, M from memory, D own design.
"""

from datetime import date

import pytest

from clinic.rules.water import (
    HSE_2012,
    HSE_CURRENT,
    LIMIT_NOTE,
    Count,
    count_read,
    edges_on,
    geometric_mean,
    judge_line,
    judge_tank,
    line_limit,
    log_reduction,
    mean_of,
    percent_reduction,
)
from tests.published.vectors import VECTORS


@pytest.mark.parametrize(("cfu", "word"), [(500, "pass"), (501, "fail"), *VECTORS["dental_line"]])
def test_a_line_passes_up_to_500_and_fails_from_501(cfu: int, word: str) -> None:
    """W-01, V: CDC 2003, MMWR 52(RR-17) and CDC 2016."""
    assert judge_line(Count(cfu)).passed is (word == "pass")


def test_the_note_shows_both_wordings_and_claims_no_epa_limit() -> None:
    """W-01 (V) and W-02 (V, clause M): no EPA limit for dental units is claimed."""
    assert "At most 500" in LIMIT_NOTE
    assert "fewer than 500" in LIMIT_NOTE
    assert "EPA" not in LIMIT_NOTE


@pytest.mark.parametrize(("maker", "limit"), [(None, 500), (200, 200), (500, 500), (900, 500)])
def test_the_lower_of_500_and_the_makers_limit_counts(maker: int | None, limit: int) -> None:
    """W-05, V: CDC 2003 and 2016."""
    assert line_limit(maker) == limit
    assert judge_line(Count(limit), maker).passed
    assert not judge_line(Count(limit + 1), maker).passed


BANDS = [(9_999, "good"), (10_000, "reasonable"), (999_999, "reasonable"), (1_000_000, "poor")]


@pytest.mark.parametrize(("cfu", "band"), BANDS + VECTORS["water_bands"])
def test_the_bands_of_the_tank(cfu: int, band: str) -> None:
    """W-10, V for the first two bands, M for the wording of the third: UK HSE."""
    assert judge_tank(Count(cfu)).band == band


def test_the_tank_is_never_judged_by_the_500_of_dental_water() -> None:
    """W-09, D."""
    result = judge_tank(Count(5_000))
    assert result.band == "good"
    assert "500 CFU" not in result.says.replace("5000 CFU", "")


@pytest.mark.parametrize(("cfu", "older"), [(999, "good"), (1_000, "reasonable"), (9_999, "reasonable")])
def test_the_older_edition_has_a_lower_edge(cfu: int, older: str) -> None:
    """W-11, V: the HSE page of 2012-11-28; a result keeps the edge set that it was judged by."""
    result = judge_tank(Count(cfu), HSE_2012)
    assert (result.band, result.edges) == (older, HSE_2012)


def test_the_edge_set_of_a_day_is_the_latest_that_had_begun() -> None:
    """W-11, V: dated settings."""
    dated = [(date(2024, 1, 1), HSE_CURRENT), (date(2012, 11, 28), HSE_2012)]
    assert edges_on(dated, date(2023, 12, 31)) is HSE_2012
    assert edges_on(dated, date(2024, 1, 1)) is HSE_CURRENT


@pytest.mark.parametrize(("values", "mean"), [([10, 100, 1000], 100.0), *VECTORS["geomean"]])
def test_the_geometric_mean(values: list[float], mean: float) -> None:
    """S-90, R; (300, 450, 520, 80) → 273.75."""
    assert round(geometric_mean(values).value, 4) == mean


def test_it_is_below_the_arithmetic_mean() -> None:
    """S-90, R."""
    assert sum((300, 450, 520, 80)) / 4 == 337.5
    assert round(geometric_mean((300, 450, 520, 80)).value, 2) == 273.75


def test_below_the_detection_limit_counts_as_half_of_it_and_is_flagged() -> None:
    """S-90, R: <1 at a limit of 1 is 0.5."""
    found = geometric_mean([0], detection_limit=1)
    assert (found.value, found.replaced) == (pytest.approx(0.5), 1)


@pytest.mark.parametrize(("typed", "stands_for"), [("<1", 0.5), ("<10", 5), ("< 10", 5), ("0", 0.5), ("10", 10)])
def test_less_than_the_detection_limit_is_a_value(typed: str, stands_for: float) -> None:
    """S-90, R: <1 at a limit of 1 is 0.5; the same rule for a plate that sees ten and more."""
    count = count_read(typed)
    assert count is not None
    found = mean_of([count], 1)
    assert found is not None
    assert (found.value, found.replaced) == (pytest.approx(stands_for), int(typed != "10"))


@pytest.mark.parametrize(("typed", "passed"), [("200", True), ("200.6", False), ("<10", True), (">300", False)])
def test_a_count_keeps_its_digits_and_its_sign_against_the_makers_limit(typed: str, passed: bool) -> None:
    """W-05: at or below the lower limit, here 200."""
    count = count_read(typed)
    assert count is not None
    assert judge_line(count, 200).passed is passed


REDUCTIONS = [(10**6, 10**3, 3.00, 99.9), (48_000, 120, 2.6021, 99.75)]


@pytest.mark.parametrize(("before", "after", "logs", "percent"), REDUCTIONS)
def test_log_reduction_and_its_percentage(before: int, after: int, logs: float, percent: float) -> None:
    """S-91, R."""
    assert round(log_reduction(before, after), 4) == logs
    assert percent_reduction(log_reduction(before, after)) == pytest.approx(percent, abs=1e-9)


@pytest.mark.parametrize(("before", "after", "logs"), VECTORS["log_reduction"])
def test_log_reduction_of_the_vectors(before: int, after: int, logs: float) -> None:
    """vectors.json log_reduction, R."""
    assert round(log_reduction(before, after), 4) == logs


def test_too_numerous_to_count_is_poor_and_keeps_its_flag() -> None:
    """S-94, R: TNTC at 10^6; at a lower top D, the safe side."""
    result = judge_tank(Count(10**6, too_many=True))
    assert (result.band, str(result.count)) == ("poor", "≥ 1,000,000 CFU/mL")
    assert judge_tank(Count(10**5, too_many=True)).band == "poor"


def test_a_pooled_mean_does_not_hide_a_bad_line() -> None:
    """W-07 (idea V, number R) and S-93: the mean of 408 looks like a pass, line 5 fails all the same."""
    counts = [10, 10, 10, 10, 2000]
    assert judge_line(Count(sum(counts) // 5)).passed
    assert [judge_line(Count(cfu)).passed for cfu in counts] == [True] * 4 + [False]
