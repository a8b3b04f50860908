"""Findings say, on every day, what asking each day, fact and chain says. MILLROOM_EXAMPLES asks for more."""

from datetime import date, timedelta
from types import SimpleNamespace

from hypothesis import given, settings
from hypothesis import strategies as st

from clinic.rules.findings import FollowUpOpen, TaskOnUnit, late_follow_ups, overdue_upkeep
from clinic.rules.findings_checks import DriverChecked, SporeTestDone, drivers_past_check, spore_tests_unproved
from clinic.rules.spores import Result
from clinic.rules.upkeep_facts import UpkeepSpan, UpkeepState
from tests.rules import slow_findings as slow
from tests.rules.amount import examples
from training.rules.findings import CriticalMiss, Required, training_overdue, unanswered_misses
from training.rules.rings import Link, rings

thorough = settings(max_examples=examples(200), deadline=None)
START = date(2026, 3, 2)
days = st.integers(0, 40).map(lambda n: START + timedelta(days=n))


@st.composite
def timelines(draw):
    """Spans that touch, the last one open or ended; neighbours may share a state with another cause."""
    first, spans = START, []
    for n, length in enumerate(draw(st.lists(st.integers(1, 9), min_size=1, max_size=6))):
        after = first + timedelta(days=length)
        spans.append(UpkeepSpan(first, after, draw(st.sampled_from(UpkeepState)), f"cause {n}"))
        first = after
    if draw(st.booleans()):
        last = spans.pop()
        spans.append(UpkeepSpan(last.first, None, last.state, last.cause))
    return tuple(spans)


def task(spans):
    return TaskOnUnit("U", "Mill 1", "Filter change", "m1", spans)


@thorough
@given(timelines(), days)
def test_upkeep_is_overdue_since_the_first_day_of_the_run_that_today_lies_in(spans, today):
    found = [(one.since, one.sentence.split(", ")[-1]) for one in overdue_upkeep([task(spans)], today)]
    expected = slow.overdue(task(spans), today)
    word = expected and f"{expected[1]} {'day' if expected[1] == 1 else 'days'}."
    assert found == ([(expected[0], word)] if expected else [])


@thorough
@given(timelines(), days, days)
def test_overdue_upkeep_keeps_its_key_until_it_ended_and_has_another_when_it_comes_back(spans, day, other):
    first, later = sorted([day, other])
    found = [overdue_upkeep([task(spans)], each) for each in (first, later)]
    between = [first + timedelta(days=n) for n in range((later - first).days + 1)]
    if all(found):
        unbroken = all(slow.is_overdue(spans, each) for each in between)
        assert (found[0][0].key == found[1][0].key) == unbroken


@thorough
@given(timelines(), st.lists(days, max_size=5), days)
def test_a_driver_used_past_its_check_is_one_finding_a_run(spans, used, today):
    uses = [SimpleNamespace(id=f"use {n}", day=day) for n, day in enumerate(sorted(used))]
    found = drivers_past_check([DriverChecked(task(spans), uses)], today)
    kept = [(one.evidence, one.weight == "stop") for one in found]
    assert kept == [(tuple(ids), still) for _, ids, still in slow.past_check(spans, uses, today, START)]


@thorough
@given(st.lists(st.tuples(days, st.none() | days), max_size=4), days)
def test_a_follow_up_is_late_from_the_day_after_it_was_due(rows, today):
    ups = [FollowUpOpen(f"f{n}", f"e{n}", "Water", due, closed) for n, (due, closed) in enumerate(rows)]
    found = {one.evidence[1]: one.weight.value for one in late_follow_ups(ups, today)}
    assert found == {up.id: weight for up in ups if (weight := slow.late(up, today))}


@thorough
@given(st.lists(st.tuples(days, st.sampled_from("ab"), st.sampled_from(Result), st.booleans()), max_size=6))
def test_a_spore_test_that_proves_nothing_is_a_note_once_a_good_one_followed(rows):
    tests = [SporeTestDone(f"s{n}", day, unit, unit, result, c) for n, (day, unit, result, c) in enumerate(rows)]
    found = {one.evidence[0]: one.weight.value for one in spore_tests_unproved(tests)}
    assert found == {test.id: weight for test in tests if (weight := slow.unproved(test, tests))}


@thorough
@given(
    st.lists(st.tuples(st.sampled_from(["P1", "P2"]), st.sampled_from("abcde"), st.sampled_from("abcde")), max_size=9),
    st.lists(st.tuples(st.sampled_from(["P1", "P2"]), st.sampled_from("abcde")), max_size=2),
)
def test_a_ring_is_a_round_of_signatures_that_no_anchor_reaches(pairs, anchors):
    links = [Link(f"{n}", START, *pair) for n, pair in enumerate(pairs)]
    found = {one.about: set(one.evidence) for one in rings(links, anchors, {})}
    assert found == slow.in_some_ring(links, anchors)


@thorough
@given(st.lists(st.tuples(st.sampled_from("ab"), st.sampled_from(["P1", "P2"]), days, st.booleans()), max_size=5), days)
def test_training_is_overdue_from_the_day_after_its_due_day(rows, today):
    required = [Required(who, who, code, due, usable) for who, code, due, usable in rows]
    found = {(*one.about.split(", "), (today - one.since).days) for one in training_overdue(required, today)}
    assert found == slow.overdue_training(required, today)


@thorough
@given(st.lists(st.tuples(days, st.none() | days), max_size=4), days)
def test_a_critical_miss_asks_from_the_next_day_until_it_is_answered(rows, today):
    misses = [CriticalMiss(f"c{n}", day, "Ada", "P1", answered) for n, (day, answered) in enumerate(rows)]
    asked = {one.evidence[0] for one in unanswered_misses(misses, today)}
    silent = {one.id for one in misses if one.day >= today or (one.answered_on and one.answered_on <= today)}
    assert asked == {one.id for one in misses} - silent
