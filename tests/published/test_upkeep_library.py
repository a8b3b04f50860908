"""The upkeep tasks and topics of the library held against the handbook rows they rest on.

Marks: V read in the source, M from memory, C common practice without a source, D own design.
"""

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from clinic.rules.readings import Judged, readings_verdict
from clinic.rules.spans import on
from clinic.rules.upkeep import upkeep_timeline
from clinic.rules.upkeep_facts import EquipmentLife, TaskRule, UpkeepState, Use
from clinic.rules.water import FLUSH_SECONDS
from tests.rules.shapes import d, standing, taught
from training.rules.facts import Policy
from training.rules.library import Library, read_library
from training.rules.texts import UpkeepTaskText

START = date(2026, 3, 2)


@pytest.fixture(scope="module")
def library() -> Library:
    return read_library(Path(__file__).parents[2] / "fixtures" / "library")


def task(library: Library, code: str) -> UpkeepTaskText:
    return next(one for one in library.upkeep_tasks if one.code == code)


def test_coolant_water_is_changed_every_seven_days_or_thirty_units(library: Library) -> None:
    """Z-13, C, the numbers D: days or units, whichever comes first; the maker's figure wins."""
    water = task(library, "U05")
    assert (water.every_days, water.every_units, water.covered_by) == (7, 30, "P07")


@pytest.mark.parametrize(("parts", "state"), [(99, "in time"), (100, "due"), (119, "due"), (120, "overdue")])
def test_the_suction_filter_is_planned_at_100_parts_and_has_to_be_changed_at_120(
    library: Library, parts: int, state: str
) -> None:
    """Z-12, C: 100 → plan, 120 → due, where the maker gives no figure."""
    suction, used = (
        task(library, "U08"),
        Use(id="u", day=START, recorded_at=datetime(2026, 3, 2, tzinfo=UTC), units=parts),
    )
    rule = TaskRule("U08", suction.every_days, suction.every_units, suction.warn_days, suction.plan_units)
    spans = upkeep_timeline(rule, EquipmentLife(START), [], [used])
    assert on(spans, START + timedelta(days=1)).state.value == state


def test_the_thirtieth_unit_is_the_last_before_the_water_is_changed(library: Library) -> None:
    """Z-13, C: units count as well as days."""
    water, used = task(library, "U05"), Use(id="u", day=START, recorded_at=datetime(2026, 3, 2, tzinfo=UTC), units=30)
    rule = TaskRule("U05", every_days=water.every_days, every_units=water.every_units)
    spans = upkeep_timeline(rule, EquipmentLife(START), [], [used])
    assert on(spans, START + timedelta(days=1)).state is UpkeepState.OVERDUE


def test_a_dip_slide_is_taken_monthly(library: Library) -> None:
    """W-12: HSE asks weekly (V); the default for a small mill is monthly (D)."""
    assert task(library, "U06").every_days == 30


@pytest.mark.parametrize(("good", "judged"), [(4, Judged.GOOD), (3, Judged.OUT), (5, Judged.UNREADABLE)])
def test_every_jet_of_the_units_own_list_is_good_or_the_purge_is_not(
    library: Library, good: int, judged: Judged
) -> None:
    """Z-15, C: n of n jets, n from the unit's own list."""
    jets = next(one for one in task(library, "U02").readings if one.key == "jets")
    (found,) = readings_verdict([jets], {"jets": good}, {jets.site_total or "": 4}, START)
    assert found.judged is judged


@pytest.mark.parametrize(
    ("seconds", "judged"), [(19, Judged.OUT), (20, Judged.GOOD), (30, Judged.GOOD), (31, Judged.GOOD)]
)
def test_a_flush_of_nineteen_seconds_is_too_short(library: Library, seconds: int, judged: Judged) -> None:
    """W-04, V: CDC 2003. 20 to 30 s after each patient; the page of the water says the same figure."""
    flush = next(one for one in task(library, "U12").readings if one.key == "flush")
    (found,) = readings_verdict([flush], {"flush": seconds}, {}, START)
    assert (found.judged, flush.low) == (judged, FLUSH_SECONDS)


def test_surgery_takes_sterile_water_by_a_sterile_device(library: Library) -> None:
    """W-03, V: CDC 2003. Any surgery with another water is out of limits on the day itself."""
    surgery = next(one for one in task(library, "U12").readings if one.key == "surgery")
    found = [readings_verdict([surgery], {"surgery": said}, {}, START)[0] for said in surgery.choices]
    assert [one.judged for one in found] == [Judged.GOOD, Judged.GOOD, Judged.OUT]
    assert (found[-1].what_to_do[:21], found[-1].follow_up_due) == ("No surgery with it. I", START)


def test_written_policies_are_looked_at_yearly(library: Library) -> None:
    """W-21, V: CDC 2016 Summary, administrative measures."""
    assert task(library, "U19").every_days == 365


@pytest.mark.parametrize("code", ["T01", "T02", "T05"])
def test_topics_of_infection_and_breathing_protection_are_taught_yearly(library: Library, code: str) -> None:
    """W-20, V, and O-39, 29 CFR 1910.134(k)(5), V: at least yearly. Taught 2026-03-10, the last good day is 2027-03-10."""
    policy = next(one.policy for one in library.procedures if one.code == code)
    held = standing([taught("2026-03-10")], Policy(renewal_months=policy.renewal_months, check_asked=False, needed=0))
    assert policy.renewal_months == 12
    assert [held.on(d(day)).state.is_usable for day in ("2027-03-10", "2027-03-11")] == [True, False]
