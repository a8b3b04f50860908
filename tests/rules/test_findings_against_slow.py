"""Findings about equipment and people say, span by span, what asking each day, fact and chain says. MILLROOM_EXAMPLES asks
for more."""

from datetime import date, timedelta
from types import SimpleNamespace

from hypothesis import given, settings
from hypothesis import strategies as st

from clinic.rules.findings import FollowUpOpen, TaskOnUnit, late_follow_ups, on_day, overdue_upkeep
from clinic.rules.findings_checks import (
    DriverChecked,
    SporeTestDone,
    ToolMounted,
    drivers_past_check,
    spore_tests_unproved,
    spore_tests_unread,
    tools_past_life,
)
from clinic.rules.spores import SporeResult
from clinic.rules.upkeep_facts import UpkeepSpan, UpkeepState
from tests.rules import slow_findings as slow
from tests.rules.amount import examples
from training.rules.findings import (
    Ask,
    CriticalMiss,
    Duty,
    EverRequired,
    JudgedSignature,
    too_few_signers,
    training_overdue,
    unanswered_misses,
    wrong_signatures,
)
from training.rules.rings import SignerLink, rings

thorough = settings(max_examples=examples(200), deadline=None)
START = date(2026, 3, 2)
LAST = START + timedelta(days=75)
days = st.integers(0, 40).map(lambda n: START + timedelta(days=n))
stretches = st.lists(
    st.tuples(days, st.none() | st.integers(1, 20)).map(lambda p: (p[0], p[1] and p[0] + timedelta(days=p[1]))),
    max_size=3,
)


def agree(found, answer, who, said):
    """The rules' spans are those of the days asked one by one."""
    assert slow.lawful(found)
    assert slow.as_said(found, who, said, LAST) == slow.by_day(answer, START, LAST)


def evidence(one):
    return one.evidence[0]


def weight(one):
    return one.weight.value


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
@given(timelines())
def test_upkeep_is_overdue_in_unbroken_runs_with_what_caused_them(spans):
    agree(
        overdue_upkeep([task(spans)]),
        lambda day: slow.overdue(task(spans), day),
        lambda one: "m1",
        lambda one: (one.since, one.evidence),
    )


@thorough
@given(timelines(), days)
def test_an_overdue_day_counts_itself(spans, today):
    said = [one.sentence.split(", ")[-1] for one in on_day(overdue_upkeep([task(spans)]), today)]
    expected = [(today - since).days + 1 for since, _ in slow.overdue(task(spans), today).values()]
    assert said == [f"{n} {'day' if n == 1 else 'days'}." for n in expected]


@thorough
@given(timelines(), days, days)
def test_overdue_upkeep_keeps_its_key_until_it_ended_and_has_another_when_it_comes_back(spans, day, other):
    first, later = sorted([day, other])
    found = [on_day(overdue_upkeep([task(spans)]), each) for each in (first, later)]
    between = [first + timedelta(days=n) for n in range((later - first).days + 1)]
    if all(found):
        unbroken = all(slow.is_overdue(spans, each) for each in between)
        assert (found[0][0].key == found[1][0].key) == unbroken


@thorough
@given(timelines(), st.lists(days, max_size=5))
def test_a_driver_used_past_its_check_is_one_finding_a_run(spans, used):
    uses = [SimpleNamespace(id=f"use {n}", day=day) for n, day in enumerate(sorted(used))]
    agree(
        drivers_past_check([DriverChecked(task(spans), uses)]),
        lambda day: slow.past_check(spans, uses, day, START),
        lambda one: date.fromisoformat(one.key[-10:]),
        lambda one: (one.evidence, one.weight == "stop"),
    )


@thorough
@given(st.lists(st.tuples(days, st.none() | days), max_size=4))
def test_a_follow_up_is_late_from_the_day_after_it_was_due(rows):
    ups = [FollowUpOpen(f"f{n}", f"e{n}", "Water", due, closed) for n, (due, closed) in enumerate(rows)]
    agree(late_follow_ups(ups), lambda day: slow.late(ups, day), lambda one: one.evidence[1], weight)


@thorough
@given(
    st.lists(
        st.tuples(days, st.sampled_from("ab"), st.sampled_from(SporeResult), st.booleans(), st.integers(0, 12)),
        max_size=6,
    )
)
def test_a_spore_test_proves_nothing_until_it_is_read_and_is_a_note_once_a_good_one_followed(rows):
    tests = [
        SporeTestDone(
            f"s{n}", day, unit, unit, result, c, None if result is SporeResult.WAITING else day + timedelta(days=late)
        )
        for n, (day, unit, result, c, late) in enumerate(rows)
    ]
    agree(
        [*spore_tests_unproved(tests), *spore_tests_unread(tests)],
        lambda day: slow.unproved(tests, day),
        lambda one: one.evidence[0] + (" unread" if one.code == "spore test unread" else ""),
        weight,
    )


@thorough
@given(st.lists(st.tuples(st.lists(st.tuples(days, st.integers(0, 9)), max_size=4), st.none() | days), max_size=3))
def test_a_tool_is_past_its_life_from_the_unit_after_the_last_one_until_it_is_out(rows):
    tools = [
        ToolMounted(f"t{n}", "Bur", "Mill 1", 5, [(d, u) for d, u in sorted(used)], out)
        for n, (used, out) in enumerate(rows)
    ]
    agree(tools_past_life(tools), lambda day: slow.past_life(tools, day), evidence, lambda one: 5)


codes = st.sampled_from(["P1", "P2"])
people = st.sampled_from("abcd")


@thorough
@given(
    st.lists(st.tuples(codes, people, people, days, st.none() | st.integers(1, 30)), max_size=8),
    st.lists(st.tuples(codes, people, days), max_size=2),
)
def test_a_ring_is_a_round_of_signatures_that_no_anchor_reaches(rows, anchors):
    links = [
        SignerLink(f"{n}", day, code, signer, person, gone and day + timedelta(days=gone))
        for n, (code, signer, person, day, gone) in enumerate(rows)
    ]
    agree(
        rings(links, anchors, {}),
        lambda day: slow.in_some_ring(links, anchors, day),
        lambda one: one.about,
        lambda one: one.evidence,
    )


@thorough
@given(
    st.lists(st.tuples(st.sampled_from("ab"), st.lists(st.tuples(days, st.none() | st.integers(1, 30), st.integers(0, 20)), max_size=3), stretches), max_size=3)
)  # fmt: skip
def test_training_is_overdue_while_it_is_asked_past_its_earliest_due_day_and_not_held(rows):
    required = [
        EverRequired(who, who, "Milling", f"P{n}", [Ask(a, z and a + timedelta(days=z), a + timedelta(days=d)) for a, z, d in asks], usable)
        for n, (who, asks, usable) in enumerate(rows)
    ]  # fmt: skip
    found = training_overdue(required)
    assert slow.lawful(found)
    runs = {(one.key.split(":")[1], one.key.split(":")[2], one.since) for one in found}
    slow_spans = slow.by_day(lambda day: slow.overdue_training(required, day), START, LAST)
    assert runs == {(*who, since) for who, since, _, _ in slow_spans}
    ends = {(*one.key.split(":")[1:3], one.since): one.after for one in sorted(found, key=lambda one: one.first)}
    assert ends == {(*who, since): after for who, since, _, after in slow_spans}


@thorough
@given(st.lists(st.tuples(days, st.none() | days), max_size=4))
def test_a_critical_miss_asks_from_the_next_day_until_it_is_answered(rows):
    misses = [CriticalMiss(f"c{n}", day, "Ada", "P1", answered) for n, (day, answered) in enumerate(rows)]
    agree(unanswered_misses(misses), lambda day: slow.unanswered(misses, day), evidence, weight)


signatures = st.lists(
    st.tuples(days, people, people, st.booleans(), st.booleans(), st.none() | st.integers(0, 20)), max_size=5
)


@thorough
@given(signatures)
def test_a_signature_is_wrong_for_each_reason_until_it_is_withdrawn(rows):
    made = [
        JudgedSignature(f"s{n}", day, who, who, by, by, "P1", authority, usable, None if gone is None else day + timedelta(days=gone))
        for n, (day, who, by, authority, usable, gone) in enumerate(rows)
    ]  # fmt: skip
    known = ("signed for oneself", "without authority", "while not usable")
    agree(
        wrong_signatures(made),
        lambda day: slow.reasons(made, day),
        evidence,
        lambda one: frozenset(words for words in known if words in one.sentence),
    )


@thorough
@given(st.lists(st.tuples(stretches, st.dictionaries(people, stretches)), max_size=4), days)
def test_what_hangs_on_one_person_or_on_nobody_is_one_finding_each_with_its_procedures(rows, start):
    duties = [Duty("ABCD"[n], "Milling", needed, signers) for n, (needed, signers) in enumerate(rows)]
    names = {who: who for who in "abcd"}

    agree(
        too_few_signers(duties, names, start),
        lambda day: slow.short_of_signers(duties, day, start),
        lambda one: one.key.split(":")[1],
        lambda one: tuple(one.about[:-1].split("(")[1].split(", ")),
    )
