"""The text of the upkeep rule, one sentence a test. The intervals are common practice, no source."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from clinic.rules.readings import Judged, ReadingKind, ReadingSpec, readings_verdict
from clinic.rules.spans import on
from clinic.rules.upkeep import renewing, upkeep_timeline
from clinic.rules.upkeep_facts import Entry, EquipmentLife, Pause, PauseReason, TaskRule, UpkeepState, Use
from clinic.rules.upkeep_shares import days_overdue, share_in_time, units_since
from clinic.rules.wording import overdue_since, rule_sentence, units_done, upkeep_sentence

WEEKLY = TaskRule("U01", every_days=7, every_units=20, warn_days=1, plan_units=16)
LIFE = EquipmentLife(date(2026, 3, 2))
THEN = datetime(2026, 3, 1, tzinfo=UTC)


def march(number: int) -> date:
    return date(2026, 3, 1) + timedelta(days=number - 1)


def entry(id: str, number: int, **more) -> Entry:
    return Entry(id=id, day=march(number), recorded_at=more.pop("recorded_at", THEN), **more)


def use(number: int, units: int) -> Use:
    return Use(id=f"use {number}", day=march(number), recorded_at=THEN, units=units)


def pause(number: int, after: int, why: PauseReason = PauseReason.CLOSED) -> Pause:
    return Pause(id="pause", day=march(number), after=march(after), why=why, recorded_at=THEN)


def states(spans, *numbers: int) -> list[str]:
    return [on(spans, march(number)).state.value for number in numbers]


def test_n_days_after_the_last_done_day_is_the_last_good_day():
    spans = upkeep_timeline(WEEKLY, LIFE, [entry("a", 10)])
    assert states(spans, 10, 15, 16, 17, 18) == ["in time", "in time", "due", "due", "overdue"]
    assert on(spans, march(10)).last_good == march(17)


def test_without_an_entry_the_first_day_in_service_is_the_last_done_day():
    assert states(upkeep_timeline(WEEKLY, LIFE), 2, 7, 8, 9, 10) == ["in time", "in time", "due", "due", "overdue"]


def test_an_opening_reading_brings_its_day_and_its_units():
    life = EquipmentLife(march(2), None, date(2026, 2, 27), 15)
    spans = upkeep_timeline(WEEKLY, life, uses=[use(3, 5)])
    assert states(spans, 2, 3, 4) == ["in time", "due", "overdue"]


def test_the_day_on_which_use_reaches_n_units_is_still_good():
    spans = upkeep_timeline(WEEKLY, LIFE, uses=[use(3, 16), use(4, 4)])
    assert states(spans, 2, 3, 4, 5) == ["in time", "due", "due", "overdue"]
    assert on(spans, march(5)).cause == "use 4"


def test_days_out_of_service_or_paused_do_not_count():
    spans = upkeep_timeline(WEEKLY, LIFE, pauses=[pause(4, 8)])
    assert states(spans, 3, 4, 7, 8, 12, 13, 14) == ["in time", "paused", "paused", "in time", "due", "due", "overdue"]


def test_out_of_service_is_named_before_paused():
    both = [
        pause(4, 8),
        Pause(id="stop", day=march(5), after=march(6), why=PauseReason.OUT_OF_SERVICE, recorded_at=THEN),
    ]
    assert states(upkeep_timeline(WEEKLY, LIFE, pauses=both), 4, 5, 6) == ["paused", "out of service", "paused"]


def test_a_correction_takes_the_place_of_what_it_voids_and_known_by_looks_before_it():
    later = THEN + timedelta(days=20)
    entries = [entry("a", 9), entry("b", 6, corrects="a", recorded_at=later)]
    assert states(upkeep_timeline(WEEKLY, LIFE, entries), 9, 14) == ["in time", "overdue"]
    assert states(upkeep_timeline(WEEKLY, LIFE, entries, known_by=THEN), 9, 14) == ["in time", "in time"]


def test_a_plain_voiding_leaves_nothing_in_its_place():
    voided = [entry("a", 9), entry("b", 9, corrects="a", plain_voiding=True)]
    assert upkeep_timeline(WEEKLY, LIFE, voided) == upkeep_timeline(WEEKLY, LIFE)


def test_a_site_setting_holds_from_its_day():
    rules = [(march(1), WEEKLY), (march(6), TaskRule("U01", every_days=3))]
    assert states(upkeep_timeline(rules, LIFE), 4, 5, 6) == ["in time", "in time", "overdue"]


def test_no_rule_at_all_is_an_error():
    with pytest.raises(ValueError, match="at least one rule"):
        upkeep_timeline([], LIFE)


def test_the_share_in_time_leaves_paused_days_out():
    spans = upkeep_timeline(WEEKLY, LIFE, pauses=[pause(4, 8)])
    assert share_in_time(spans, march(2), march(18)) == 8 / 12
    assert days_overdue(spans, march(2), march(18)) == 4
    assert share_in_time(spans, march(4), march(8)) is None


def test_the_counter_starts_again_after_an_entry():
    uses = [use(3, 5), use(5, 6), use(6, 7)]
    assert units_since(LIFE, [entry("a", 5)], uses, march(4)) == 5
    assert units_since(LIFE, [entry("a", 5)], uses, march(6)) == 7


def test_the_sentences_are_plain():
    spans = upkeep_timeline(WEEKLY, LIFE, uses=[use(3, 13)])
    assert upkeep_sentence(spans, march(3)) == "In time through 9 March 2026, or after 7 more parts."
    assert upkeep_sentence(spans, march(21)) == "Overdue since 10 March 2026, 12 days."
    assert upkeep_sentence(spans, march(1)) == "Not in service."
    assert units_done(23, 20) == "23 of 20 parts"
    assert rule_sentence(WEEKLY) == "Every 7 days or 20 parts, whichever comes first."


def test_overdue_runs_on_across_a_change_of_its_cause():
    rules = [(march(1), WEEKLY), (march(15), TaskRule("U01", every_days=3))]
    assert overdue_since(upkeep_timeline(rules, LIFE), march(20)) == march(10)
    assert UpkeepState.OVERDUE == "overdue"


WATER = ReadingSpec(
    "cfu", "Line 1", ReadingKind.NUMBER, "CFU/mL", high=500, site_limit="water limit", what_to_do="Treat."
)


@pytest.mark.parametrize(
    ("value", "limit", "judged"),
    [
        *[(500, None, "good"), (501, None, "out of limits"), (200, 100, "out of limits"), ("x", None, "unreadable")],
        *[(float("nan"), None, "unreadable"), ("", None, "missing"), (True, None, "unreadable"), (400, 900, "good")],
    ],
)
def test_dental_water_is_judged_by_the_lower_of_500_and_the_makers_limit(value, limit, judged):
    """500 CFU/mL: the handbook's row W-01."""
    facts = {} if limit is None else {"water limit": limit}
    assert readings_verdict([WATER], {"cfu": value}, facts, march(2))[0].judged == judged


def test_an_out_reading_says_what_to_do_and_when_to_follow_up():
    jets = ReadingSpec(
        "jets", "Jets", ReadingKind.N_OF_N, site_total="jets", what_to_do="Clear or call.", follow_up_days=1
    )
    (verdict,) = readings_verdict([jets], {"jets": 3}, {"jets": 4}, march(2))
    assert (verdict.judged, verdict.sentence) == (Judged.OUT, "Jets: 3 of 4.")
    assert (verdict.what_to_do, verdict.follow_up_due) == ("Clear or call.", march(3))


def test_more_than_all_jets_is_no_reading():
    jets = ReadingSpec("jets", "Jets", ReadingKind.N_OF_N, total=4)
    assert [v.judged for n in (4, 5, -1, 1.5) for v in readings_verdict([jets], {"jets": n}, {}, march(2))] == [
        Judged.GOOD,
        *[Judged.UNREADABLE] * 3,
    ]


def test_yes_no_and_choice_know_their_good_answers():
    specs = [ReadingSpec("leak", "Leak", ReadingKind.YES_NO, good=("no",))]
    specs += [ReadingSpec("look", "Water", ReadingKind.CHOICE, choices=("clear", "cloudy"), good=("clear",))]
    verdicts = readings_verdict(specs, {"leak": True, "look": "cloudy"}, {}, march(2))
    assert [v.judged for v in verdicts] == [Judged.OUT, Judged.OUT]
    assert [v.judged for v in readings_verdict(specs, {"leak": "No", "look": "clear"}, {}, march(2))] == [
        Judged.GOOD
    ] * 2


def test_use_on_the_day_of_an_entry_lies_before_it():
    spans = upkeep_timeline(WEEKLY, LIFE, [entry("a", 5)], [use(5, 20)])
    assert on(spans, march(4)).last_good == march(5)
    assert (on(spans, march(5)).last_good, on(spans, march(5)).units_left) == (march(12), 20)


def test_pauses_that_overlap_by_a_day_are_counted_once():
    second = Pause(id="second", day=march(5), after=march(7), why=PauseReason.PAUSED, recorded_at=THEN)
    assert states(upkeep_timeline(WEEKLY, LIFE, pauses=[pause(3, 6), second]), 12, 13, 14) == ["due", "due", "overdue"]


def test_days_with_another_last_good_day_are_another_span():
    """Same state, same cause: a longer interval from the 4th on still moves the day that the page names."""
    longer = [(march(2), TaskRule("U01", every_days=7)), (march(4), TaskRule("U01", every_days=14))]
    spans = upkeep_timeline(longer, LIFE)
    assert [(s.first, s.after, s.last_good) for s in spans[:2]] == [
        (march(2), march(4), march(9)), (march(4), march(16), march(16)),
    ]  # fmt: skip


def test_a_span_tells_the_units_left_at_its_end():
    spans = upkeep_timeline(WEEKLY, LIFE, [entry("a", 10)], [use(12, 5)])
    assert (on(spans, march(10)).after, on(spans, march(10)).units_left) == (march(16), 15)


@pytest.mark.parametrize("turned", [False, True])
def test_of_two_pauses_the_earlier_is_named_and_of_one_day_the_one_first_by_name(turned: bool):
    early, late, same = (replace(pause(day, 15), id=id) for id, day in (("c", 5), ("b", 7), ("a", 7)))

    def named(*pauses: Pause) -> str:
        return on(upkeep_timeline(WEEKLY, LIFE, pauses=pauses[::-1] if turned else pauses), march(8)).cause

    assert (named(early, late), named(late, same)) == ("c", "a")


def test_where_days_and_use_run_out_together_the_entry_is_named():
    spans = upkeep_timeline(WEEKLY, LIFE, [entry("a", 3)], [use(10, 20)])
    assert (on(spans, march(11)).state, on(spans, march(11)).cause) == (UpkeepState.OVERDUE, "a")


def test_a_failed_entry_before_the_first_dated_rule_is_judged_by_that_rule():
    """The first rule also holds before its day; the later one, which only a pass moves (T-10), does not reach back."""
    rules = [(march(5), TaskRule("U09", every_days=7)), (march(9), TaskRule("U09", every_days=7, only_a_pass=True))]
    failed = entry("a", 3, passed=False)
    assert renewing([failed], rules) == (failed,)
    assert renewing([entry("b", 9, passed=False)], rules) == ()
