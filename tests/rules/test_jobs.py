"""Jobs: the number of a case, what stands in the way of a start and an end, and counts with exact limits."""

from collections.abc import Sequence
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import binomtest

from clinic.rules import jobs
from clinic.rules.jobs import Cause, Job, JobOutcome, Start
from clinic.rules.swap import NewTool
from clinic.rules.tools import Material, MillingWay, Pair, Tool
from clinic.rules.usage import clopper_pearson
from tests.rules.amount import examples

DAY = date(2026, 3, 2)
DRY = (Material.ZIRCONIA, MillingWay.DRY)
CUTTER, GRIT = NewTool("F20", Tool.FLUTED, "hex 1.3"), NewTool("G12", Tool.GRIT, "hex 1.3")


@settings(max_examples=examples(80), deadline=None)
@given(st.integers(1, 3000), st.data())
def test_the_limits_of_a_share_are_scipys_exact_ones(whole: int, data: st.DataObject) -> None:
    """Clopper and Pearson 1934 (from memory), held against scipy binomtest, method exact: another way to the same limits."""
    count = data.draw(st.integers(0, whole))
    found, theirs = clopper_pearson(count, whole), binomtest(count, whole).proportion_ci(0.95, "exact")
    assert found is not None
    assert (found.lower, found.upper) == pytest.approx((theirs.low, theirs.high), abs=1e-9)


def test_no_failure_of_three_leaves_a_wide_range_and_nothing_counted_none() -> None:
    """0 of 3: the upper limit is 1 − 0.025^(1/3), worked out by hand."""
    assert clopper_pearson(0, 0) is None
    found = clopper_pearson(0, 3)
    assert found is not None and (found.lower, found.upper) == pytest.approx((0, 1 - 0.025 ** (1 / 3)))
    with pytest.raises(ValueError, match="cannot be above the whole: 4 of 3"):
        clopper_pearson(4, 3)


@pytest.mark.parametrize("case", ["26-0417", "A1207", "2026/118.2", "7"])
def test_a_number_of_the_practice_is_a_case(case: str) -> None:
    assert jobs.case_fault(case) is None


@pytest.mark.parametrize(
    ("case", "why"),
    [
        ("Jane Smith", "never the name of a patient"), ("Smith", "a number has a digit"), ("Smith 1962", "no name, and no blank"),
        ("26 0417", "in one piece"), ("26-", "in one piece"), ("", "a number has a digit"),
    ],
)  # fmt: skip
def test_what_may_be_a_name_is_no_case(case: str, why: str) -> None:
    assert why in (jobs.case_fault(case) or "")


def start(mounted: Sequence[NewTool] = (CUTTER,), **changes: object) -> Start:
    return Start(**{"case": "26-1", "pair": DRY, "mounted": mounted} | changes)  # type: ignore[arg-type]


def found(one: Start, makers: dict[Pair, bool] | None = None) -> list[str]:
    return [each.field for each in jobs.in_the_way(one, makers or {})]


def test_everything_in_the_way_is_said_at_once() -> None:
    one = start((GRIT,), case="Ann", running="26-0", stopped="A noise.", lot_has_factor=True)
    assert found(one) == ["", "", "case", "factor", "lot"]


def test_one_tool_that_may_mill_it_is_enough_and_none_recorded_refuses_nothing() -> None:
    assert found(start((GRIT, CUTTER))) == []
    assert found(start(())) == []
    assert "No tool is recorded" in jobs.warnings(start(()))[0]


def test_the_makers_table_decides_which_tool_may() -> None:
    """Z-07 and Z-08 (common practice) by default; the maker's table wins, either way."""
    pair = (Tool.FLUTED, *DRY)
    assert found(start(), {pair: False}) == ["lot"]
    assert found(start((GRIT,)), {(Tool.GRIT, *DRY): True}) == []


@pytest.mark.parametrize(("idle", "asks"), [(None, False), (7, False), (8, True)])
def test_after_more_than_a_week_without_a_job_the_restart_is_asked(idle: int | None, asks: bool) -> None:
    """Common practice, no source; a week is that of the restart procedure."""
    assert jobs.asks_restart(idle) is asks
    assert any("started up again" in says for says in jobs.warnings(start(), idle=idle)) is asks


def test_idle_days_count_from_the_last_job_and_not_from_one_to_come() -> None:
    assert jobs.idle_days([], DAY) is None
    assert jobs.idle_days([date(2026, 2, 20), date(2026, 2, 27), date(2026, 3, 9)], DAY) == 3


@pytest.mark.parametrize(
    ("outcome", "cause", "earlier", "day", "fields"),
    [
        (JobOutcome.GOOD, "", None, DAY, []),
        (JobOutcome.REMADE, Cause.FIT, JobOutcome.GOOD, DAY, []),  # found after the furnace
        (JobOutcome.CRASH, Cause.TOOL, None, DAY, []),
        (JobOutcome.GOOD, Cause.FIT, None, DAY, ["cause"]),
        (JobOutcome.REMADE, "", None, DAY, ["cause"]),
        (JobOutcome.CRASH, Cause.SHADE, None, DAY, ["cause"]),
        (JobOutcome.REMADE, Cause.FIT, JobOutcome.REMADE, DAY, ["outcome"]),
        (JobOutcome.CRASH, Cause.TOOL, JobOutcome.GOOD, DAY, ["outcome"]),
        (JobOutcome.GOOD, "", None, date(2026, 3, 1), ["day"]),
    ],
)
def test_an_end_is_refused_where_it_cannot_be(
    outcome: JobOutcome, cause: str, earlier: JobOutcome | None, day: date, fields: list[str]
) -> None:
    assert [one.field for one in jobs.end_in_the_way(outcome, cause, earlier, DAY, day)] == fields


MANY = [
    Job("1", DAY, "unit 1", "L1", "polymer", ("T1", "T2"), JobOutcome.GOOD),
    Job("2", DAY, "unit 1", "L1", "polymer", ("T1",), JobOutcome.REMADE, "does not fit"),
    Job("3", DAY, "unit 2", "L2", "polymer", ("T3",), JobOutcome.CRASH, "worn or broken tool"),
    Job("4", DAY, "unit 2", "L2", "polymer", ("T3",)),
]


def test_ended_jobs_are_counted_and_one_that_runs_is_not() -> None:
    by_unit = jobs.tallied(MANY, jobs.by_unit)
    assert [(one.name, one.jobs, one.remade, one.crashed) for one in by_unit] == [("unit 1", 2, 1, 0), ("unit 2", 1, 0, 1)]  # fmt: skip
    assert {one.name: one.jobs for one in jobs.tallied(MANY, jobs.by_tool)} == {"T1": 2, "T2": 1, "T3": 1}
    assert [one.name for one in jobs.tallied(MANY, jobs.by_lot)] == ["L1, polymer", "L2, polymer"]


def test_each_tally_says_its_counts_with_their_limits() -> None:
    """1 of 2: 1.3 to 98.7 %, since 1 − √0.975 is 1.26 % (by hand)."""
    assert (
        jobs.tallied(MANY, jobs.by_unit)[0].says == "made again 1 of 2 (1.3 to 98.7 %); crashed 0 of 2 (0.0 to 84.2 %)"
    )


def test_causes_stand_with_what_they_led_to() -> None:
    assert jobs.causes(MANY) == [("does not fit", 1, 0), ("worn or broken tool", 0, 1)]
