"""The edges of small rules: the day itself, nought, one of many, and the words beside each."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from clinic.rules.cover import EntryCover, EntryStanding, Present, entry_cover
from clinic.rules.days_in_time import stretch_words
from clinic.rules.due_wording import Care, counter_sentence, due_head
from clinic.rules.findings import FollowUpOpen, Weight, late_follow_ups, on_day
from clinic.rules.findings_checks import SporeTestDone, spore_tests_unproved
from clinic.rules.retention import Severe, plus_working_days, purge_offered_from, report_by
from clinic.rules.spans import Span, merged
from clinic.rules.spores import Monitors, SporeResult, load_refusals
from clinic.rules.swap import NewTool, Swap, warnings
from clinic.rules.tools import Material, MillingWay, Tool
from clinic.rules.torque import check_points
from clinic.rules.upkeep_facts import TaskRule, UpkeepState

DAY = date(2026, 3, 2)
MECHANICAL = "The mechanical readings are missing or out of range."
INSIDE = "The chemical indicator inside a pack is missing or did not change."
OUTSIDE = "The inside indicator cannot be seen, and the one outside is missing or did not change."
SWAP = Swap(
    True,
    True,
    True,
    "1",
    NewTool("T1", Tool.FLUTED, "hex 1.3", ("1",)),
    None,
    True,
    6,
    6,
    (Material.ZIRCONIA, MillingWay.DRY),
)


@pytest.mark.parametrize(
    ("monitors", "refusals"),
    [
        ((True, True, True, False), []),
        ((True, True, False, True), []),
        ((True, True, False, False), [OUTSIDE]),
        ((True, False, True, True), [INSIDE]),
        ((False, True, True, True), [MECHANICAL]),
        ((False, False, False, False), [MECHANICAL, INSIDE, OUTSIDE]),
    ],
)
def test_a_load_is_held_with_every_reason(monitors: tuple[bool, bool, bool, bool], refusals: list[str]) -> None:
    """W-17."""
    assert list(load_refusals(Monitors(*monitors)).values()) == refusals


HELD, BY, NOBODY = EntryStanding.HELD, EntryStanding.STOOD_BY, EntryStanding.NOBODY_USABLE
ADA, BO, CY = (Present(name, usable=False) for name in ("Ada", "Bo", "Cy"))
DEE, ABLE = Present("Dee", usable=True), Present("Ada", usable=True)
DID_NOT = "Ada did not hold Water change that day"


@pytest.mark.parametrize(
    ("doer", "beside", "standing", "says"),
    [
        (ABLE, (), HELD, "Ada held Water change that day."),
        (ADA, (BO, DEE), BY, f"{DID_NOT}; Dee, who did, stood by."),
        (ADA, (), NOBODY, f"{DID_NOT}, and nobody stood by."),
        (ADA, (ABLE,), BY, f"{DID_NOT}; Ada, who did, stood by."),
        (ADA, (BO, CY), NOBODY, f"{DID_NOT}, and Bo and Cy, standing by, did not either."),
    ],
)
def test_who_was_allowed_is_a_whole_sentence(
    doer: Present, beside: tuple[Present, ...], standing: EntryStanding, says: str
) -> None:
    assert entry_cover(doer, beside, procedure="Water change") == EntryCover(standing, says)


def test_a_task_that_no_procedure_covers_is_anybodys() -> None:
    says = "Ada did it. No procedure covers this task."
    assert entry_cover(ADA, procedure=None) == EntryCover(HELD, says)


def test_a_pair_in_the_makers_table_warns_of_nothing() -> None:
    assert warnings(SWAP, {(Tool.FLUTED, Material.ZIRCONIA, MillingWay.DRY): True}) == []


def test_without_a_tool_or_without_a_pair_there_is_nothing_to_warn_of() -> None:
    assert warnings(replace(SWAP, tool=None), {}) == []
    assert warnings(replace(SWAP, pair=None), {}) == []


def test_a_stretch_of_one_day_is_named_once() -> None:
    assert stretch_words((DAY, DAY)) == "2 March 2026, 1 day"
    assert stretch_words((DAY, DAY + timedelta(days=1))) == "2 March 2026 through 3 March 2026, 2 days"


def test_a_follow_up_closed_late_today_is_closed() -> None:
    late = FollowUpOpen("f", "e", "Tank", due_on=DAY, closed_on=DAY + timedelta(days=2))
    (closed,) = on_day(late_follow_ups([late]), DAY + timedelta(days=2))
    (still_open,) = on_day(late_follow_ups([late]), DAY + timedelta(days=1))
    assert (closed.weight, still_open.weight) == (Weight.NOTE, Weight.FIX)


def test_a_spore_test_repeated_the_same_day_with_a_pass_is_followed() -> None:
    bad = SporeTestDone("s1", DAY, "Steriliser 1", "st1", SporeResult.INVALID, control=True, read_on=DAY)
    good = SporeTestDone("s2", DAY, "Steriliser 1", "st1", SporeResult.PASS, control=True, read_on=DAY)
    assert [one.weight for one in spore_tests_unproved([bad, good])] == [Weight.NOTE]


def test_a_stretch_without_a_day_leaves_no_trace() -> None:
    days = [DAY + timedelta(days=n) for n in range(2)]
    spans = [Span(days[0], days[0], "red"), Span(days[0], days[1], "green"), Span(days[1], None, "green")]
    assert [(one.first, one.after, one.state) for one in merged(spans)] == [(DAY, None, "green")]


def test_a_counter_is_said_in_the_units_own_word() -> None:
    assert counter_sentence(TaskRule("U", every_units=20), 1, "cycles") == "1 of 20 cycles"


@pytest.mark.parametrize(
    ("due", "over", "since", "says"),
    [
        (1, 0, None, "1 task due."),
        (2, 1, DAY, "1 task overdue since 2 March 2026, 2 tasks due."),
        (0, 1, DAY, "1 task overdue since 2 March 2026."),
        (0, 2, DAY, "2 tasks overdue since 2 March 2026."),
    ],
)
def test_what_is_due_is_a_whole_sentence(due: int, over: int, since: date | None, says: str) -> None:
    states = [UpkeepState.DUE] * due + [UpkeepState.OVERDUE] * over + [UpkeepState.IN_TIME, None]
    assert due_head(Care(states, done=1, since=since)).says == says


def test_without_a_unit_nothing_is_said_to_be_in_time() -> None:
    assert due_head(Care([], done=0)).says == "No unit is entered yet."
    assert due_head(Care([UpkeepState.IN_TIME], done=1)).says == "Nothing is due. Everything is in time."


def test_the_test_points_of_a_driver() -> None:
    """T-07."""
    assert check_points(30) == (6, 18, 30)
    assert check_points("30", lowest_marked="5") == (5, 18, 30)


@pytest.mark.parametrize(
    ("most", "lowest", "says"),
    [
        (0, None, "The largest torque must be above 0, not 0."),
        (30, 0, "The lowest marked torque must be above 0, not 0."),
        (30, 18, "The lowest marked torque must be below 60 % of the largest."),
    ],
)
def test_refused_test_points_say_why(most: int, lowest: int | None, says: str) -> None:
    with pytest.raises(ValueError) as refused:
        check_points(most, lowest)
    assert str(refused.value) == says


def test_refusals_are_whole_sentences() -> None:
    with pytest.raises(ValueError, match=r"^A record without a retention period is not purged\.$"):
        purge_offered_from([])
    with pytest.raises(ValueError, match=r"^The moment it was learned of needs a time zone\.$"):
        report_by(Severe.DEATH, datetime(2026, 6, 1, 9, 30))  # noqa: DTZ001
    with pytest.raises(ValueError, match=r"^Working days cannot be negative: -1\.$"):
        plus_working_days(DAY, -1)


@pytest.mark.parametrize(("event", "hours"), [(event, 8 if event is Severe.DEATH else 24) for event in Severe])
def test_a_death_is_reported_within_eight_hours_and_the_others_within_a_day(event: Severe, hours: int) -> None:
    """29 CFR 1904.39 (O-16)."""
    learned = datetime(2026, 6, 1, 9, 30, tzinfo=UTC)
    assert report_by(event, learned) == learned + timedelta(hours=hours)
