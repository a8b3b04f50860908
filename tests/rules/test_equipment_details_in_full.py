"""Details about equipment in full: joined late stretches, odd pairs, words of a counter, what was known, what cannot be."""

from datetime import date, timedelta

import pytest

from clinic.rules.days_in_time import late_stretches
from clinic.rules.drawing import DayMark, steel_rule
from clinic.rules.findings import TaskOnUnit, on_day, overdue_upkeep
from clinic.rules.spores import SporeTest, SteriliserStory, story_after
from clinic.rules.swap import InTheWay, badly_chosen
from clinic.rules.tools import Decision, Material, MillingWay, PairVerdict, Tool, judge_pair
from clinic.rules.upkeep import upkeep_timeline
from clinic.rules.upkeep_facts import EquipmentLife, TaskRule, UpkeepSpan, UpkeepState, Use
from clinic.rules.upkeep_shares import units_since
from clinic.rules.usage import rate
from clinic.rules.water import HSE_CURRENT, Edges, edges_on
from clinic.rules.wording import upkeep_sentence
from tests.rules.test_swap import FORBIDS, GOOD, RIGHT
from tests.rules.test_upkeep_stories import THEN, march

DAY = date(2026, 3, 2)
OVERDUE, IN_TIME = UpkeepState.OVERDUE, UpkeepState.IN_TIME


def span(first: int, after: int | None, state: UpkeepState = OVERDUE, cause: str = "e") -> UpkeepSpan:
    return UpkeepSpan(march(first), march(after), state, cause)


def test_late_stretches_that_touch_are_one_whatever_caused_them() -> None:
    spans = [span(1, 3), span(3, 5, IN_TIME), span(5, 7), span(7, 9, cause="f"), span(9, 10, cause="g"), span(12, 13)]
    assert late_stretches(spans, march(2), march(20)) == [
        (march(2), march(2)), (march(5), march(9)), (march(12), march(12)),
    ]  # fmt: skip


def test_what_makes_it_overdue_today_is_among_its_causes() -> None:
    spans = (span(1, 3), span(3, None, cause="f"))
    (found,) = on_day(overdue_upkeep([TaskOnUnit("U", "Mill", "Clean", "m", spans)]), march(3))
    assert (found.since, found.evidence) == (march(1), ("e", "f"))


@pytest.mark.parametrize(
    ("pair", "makers", "verdict"),
    [
        (
            (Tool.GRIT, Material.ZIRCONIA, MillingWay.DRY), True,
            (Decision.WARN, "the unit maker’s table allows it. Check the code on tool, holder and packet."),
        ),
        (
            (Tool.GRIT, Material.ZIRCONIA, MillingWay.DRY), None,
            (Decision.WARN, "the unit maker’s table does not list it. Check the code on tool, holder and packet."),
        ),
    ],
)  # fmt: skip
def test_an_unusual_pair_warns_and_says_what_the_makers_table_says(
    pair: tuple, makers: bool | None, verdict: tuple
) -> None:
    found = judge_pair(pair, {} if makers is None else {pair: makers})
    name = f"{pair[0]} on {pair[1]}, {pair[2]}"
    assert found == PairVerdict(verdict[0], f"Unusual: {name}; {verdict[1]}")


@pytest.mark.parametrize(
    ("way", "makers", "decision", "says"),
    [
        (MillingWay.WET, True, Decision.FITS, "allows {}. Dry it before the furnace."),
        (MillingWay.DRY, True, Decision.FITS, "allows {}."),
        (MillingWay.DRY, None, Decision.ASK, "does not list {}. Ask before you mill."),
    ],
)
def test_a_usual_pair_fits_where_the_makers_table_has_it(
    way: MillingWay, makers: bool | None, decision: Decision, says: str
) -> None:
    pair = (Tool.FLUTED, Material.ZIRCONIA, way)
    name = f"{pair[0]} on {pair[1]}, {pair[2]}"
    found = judge_pair(pair, {} if makers is None else {pair: makers})
    assert found == PairVerdict(decision, f"The unit maker’s table {says.format(name)}")


def test_a_forbidden_pair_is_named_with_what_was_chosen() -> None:
    ((tool, material, way),) = [pair for pair, allowed in FORBIDS.items() if allowed is False]
    (found,) = badly_chosen(GOOD, [RIGHT], FORBIDS)
    says = f"The unit maker’s table forbids {tool} on {material}, {way}. Choose another tool."
    assert found == InTheWay("material", says, f"Found: {tool} for {material}, {way}.")


@pytest.mark.parametrize(("left", "says"), [(1, "1 more piece of work"), (2, "2 more pieces of work")])
def test_a_counter_takes_the_plural_of_its_task(left: int, says: str) -> None:
    until = UpkeepSpan(DAY, None, IN_TIME, None, None, left)
    assert says in upkeep_sentence([until], DAY, word="pieces of work", one="piece of work")


def test_a_timeline_counts_the_use_that_was_known_and_lies_in_the_life() -> None:
    late = THEN + timedelta(days=9)
    used = [Use(id="a", day=march(3), recorded_at=THEN, units=2), Use(id="b", day=march(3), recorded_at=late, units=4)]
    early = Use(id="c", day=march(1), recorded_at=THEN, units=40)
    life, by_use = EquipmentLife(march(2)), TaskRule("U", every_units=9)
    left = [upkeep_timeline(by_use, life, uses=[*used, early], known_by=by)[-1].units_left for by in (THEN, late)]
    assert left == [7, 3]


def test_units_of_an_opening_reading_count_until_the_first_entry() -> None:
    life = EquipmentLife(march(2), None, march(1), 15)
    assert units_since(life, [], [Use(id="a", day=march(3), recorded_at=THEN, units=2)], march(4)) == 17


def test_a_passed_spore_test_in_use_is_no_return() -> None:
    test = SporeTest(DAY, False, True, "L7", "L7")
    assert story_after([test]) == SteriliserStory(story_after([test]).status)


def test_of_two_band_sets_of_one_day_the_first_named_holds() -> None:
    one, two = Edges("one", 1, 2), Edges("two", 3, 4)
    assert edges_on([(DAY, one), (DAY, two)], DAY) is one
    assert edges_on([(DAY, one)], DAY - timedelta(days=1)) is HSE_CURRENT


def test_a_rate_takes_the_confidence_it_is_asked_for() -> None:
    narrow, wide = rate(5, 10, 0.5), rate(5, 10, 0.99)
    assert wide.limits.lower < narrow.limits.lower < 0.5 < narrow.limits.upper < wide.limits.upper


def test_marks_that_would_touch_stand_above_each_other_and_say_how_high() -> None:
    first, after = DAY, DAY + timedelta(days=100)
    close = [(DAY + timedelta(days=n), "due", "") for n in (10, 12, 60)]
    picture = steel_rule(first, after, None, close)
    assert picture.marks == (
        DayMark(0.1, 1, "due", "", "none"), DayMark(0.12, 0, "due", "", "none"), DayMark(0.6, 0, "due", "", "none"),
    )  # fmt: skip
    assert picture.lanes == 2


def test_a_months_name_gives_way_to_the_tag_of_today() -> None:
    first, after = date(2026, 1, 1), date(2026, 7, 1)
    named = {
        today: [tick.words for tick in steel_rule(first, after, today).ticks if tick.words]
        for today in (None, date(2026, 4, 20))
    }
    assert named[None] == ["2026", "Feb", "Mar", "Apr", "May", "Jun"]
    assert "Apr" not in named[date(2026, 4, 20)] and "Jun" in named[date(2026, 4, 20)]
