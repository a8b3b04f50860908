"""Findings about records and safeguards say, span by span, what asking each row and day says; and what closes them.
MILLROOM_EXAMPLES asks for more."""

import re
from datetime import timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from clinic.rules.chemicals import ListedProduct, new_hazards
from clinic.rules.cover import Present, entry_cover
from clinic.rules.findings import EntryDone, Finding, Weight, entries_without_cover, on_day
from tests.rules import slow_findings as slow
from tests.rules.amount import examples
from tests.rules.test_findings_against_slow import LAST, START, agree, days, evidence, stretches
from training.rules.findings_closed import Action, counts, occurrences, weighed, weighed_on
from training.rules.findings_hazards import Untaught, new_hazards_untaught
from training.rules.findings_records import (
    LIVE,
    DaysAllowed,
    FactAsked,
    PastDeadline,
    SealCheck,
    SessionKept,
    exposed_before_training,
    missing_site_facts,
    records_with_gaps,
    seal_check,
    work_past_deadline,
)
from training.rules.findings_safeguards import DrillDone, safeguards_late

thorough = settings(max_examples=examples(200), deadline=None)
names = st.sampled_from("abcd")
present = st.builds(Present, names, st.booleans())


@thorough
@given(st.lists(st.tuples(present, st.lists(present, max_size=3), st.sampled_from([None, "Cleaning"])), max_size=4))
def test_work_is_bare_when_nobody_usable_did_it_or_stood_by(rows):
    entries = [EntryDone(f"e{n}", START, "x", entry_cover(d, by, procedure=p)) for n, (d, by, p) in enumerate(rows)]
    bare = {(f"e{n}", START, None) for n, row in enumerate(rows) if slow.is_bare(*row)}
    assert {(one.evidence[0], one.first, one.after) for one in entries_without_cover(entries)} == bare


@thorough
@given(st.lists(st.lists(st.sampled_from([LIVE, "the address", "the job title of Ada"]), max_size=3), max_size=4))
def test_a_record_with_a_gap_is_told_from_questions_never_asked_live(rows):
    sessions = [SessionKept(f"s{n}", START, "T1", tuple(dict.fromkeys(row))) for n, row in enumerate(rows)]
    expected = {one.id: code for one in sessions if (code := slow.gap_in(one))}
    assert {one.evidence[0]: one.code for one in records_with_gaps(sessions)} == expected


@thorough
@given(st.lists(st.tuples(names, st.sampled_from(["P1", "P2"]), st.lists(days, max_size=3)), max_size=4))
def test_work_to_an_old_version_is_one_finding_since_its_first_day(rows):
    people = [
        PastDeadline(
            who, who, code, "1", START + timedelta(days=n), tuple((f"e{n}.{k}", d) for k, d in enumerate(done))
        )
        for n, (who, code, done) in enumerate(rows)
    ]
    agree(
        work_past_deadline(people),
        lambda day: slow.old_work(people, day),
        lambda one: tuple(one.key.split(":")[1:]),
        lambda one: frozenset(one.evidence),
    )


@thorough
@given(st.lists(st.tuples(st.dictionaries(st.sampled_from(["P1", "P2"]), stretches), st.none() | days), max_size=3))
def test_an_empty_site_fact_is_a_finding_while_a_procedure_uses_it_and_nobody_answered(rows):
    asked = [FactAsked(f"f{n}", "Mill 1" if n else "", used, answered) for n, (used, answered) in enumerate(rows)]
    agree(
        missing_site_facts(asked),
        lambda day: slow.empty_facts(asked, day),
        lambda one: tuple(one.key.split(":")[1:3]),
        lambda one: tuple(code for code in ("P1", "P2") if code in one.sentence),
    )


@thorough
@given(st.lists(st.tuples(names, st.integers(0, 2), st.integers(0, 9), st.none() | st.integers(1, 9)), max_size=5))
def test_a_role_that_allows_days_for_the_topic_on_blood_is_a_finding_while_it_does(rows):
    first = [START + timedelta(days=begun) for _, _, begun, _ in rows]
    asked = [
        DaysAllowed(who, who, "T1", allowed, day, day + timedelta(days=length) if length else None)
        for day, (who, allowed, _, length) in zip(first, rows, strict=True)
    ]
    agree(
        exposed_before_training(asked),
        lambda day: slow.late_first_days(asked, day),
        lambda one: one.key.split(":")[1],
        lambda one: int(re.search(r"allows (\d+) day", one.sentence)[1]),
    )


@thorough
@given(st.lists(st.tuples(days, st.integers(0, 2)), max_size=5))
def test_the_seals_are_late_a_week_after_the_last_check_and_broken_until_a_clean_one(rows):
    checks = [SealCheck(f"k{n}", day, breaks, START) for n, (day, breaks) in enumerate(sorted(rows))]
    agree(
        seal_check(checks, START),
        lambda day: slow.of_checks(checks, START, day),
        lambda one: one.code,
        lambda one: one.evidence[0] if one.code == "broken seal" else one.since,
    )


@thorough
@given(
    st.dictionaries(st.sampled_from(["backup", "restore drill"]), st.lists(st.tuples(days, st.booleans()), max_size=4))
)
def test_a_safeguard_is_late_after_its_days_and_a_failed_one_is_said_at_once(rows):
    kept = {kind: [DrillDone(f"{kind}{n}", *row) for n, row in enumerate(sorted(mine))] for kind, mine in rows.items()}
    agree(
        safeguards_late(kept, START),
        lambda day: slow.of_safeguards(kept, START, day),
        lambda one: one.code,
        lambda one: one.since,
    )


@thorough
@given(
    st.lists(st.tuples(st.integers(-5, 30), st.lists(st.sampled_from("xyz"), max_size=3)), max_size=5),
    st.lists(st.lists(st.tuples(names, stretches), max_size=3, unique_by=lambda row: row[0]), min_size=5, max_size=5),
)
def test_a_new_hazard_is_a_finding_from_the_eighth_day_while_anybody_is_left(rows, waiting):
    products = [ListedProduct(f"p{n}", START + timedelta(days=d), f"p{n}", tuple(c)) for n, (d, c) in enumerate(rows)]
    left, new = {f"p{n}": row for n, row in enumerate(waiting)}, slow.new_classes(products, START, LAST)
    found = new_hazards_untaught([Untaught(one, "T1", left[one.id]) for one in new_hazards(products, START)])
    agree(
        found,
        lambda day: slow.untaught(new, left, day),
        evidence,
        lambda one: tuple(one.sentence[:-1].split(": ")[2].split(", ")),
    )
    assert all(f"({', '.join(new[one.evidence[0]][1])})" in one.sentence for one in found)


@st.composite
def occurrence_parts(draw):
    """Stretches of one key that touch, the last one open or ended; a note only at the end."""
    key, first, parts = draw(st.sampled_from(["k1", "k2", "k3"])), draw(days), []
    since = first
    for n in range(draw(st.integers(1, 3))):
        weight = draw(st.sampled_from(Weight if n == 0 else [Weight.STOP, Weight.FIX]))
        after = first + timedelta(days=draw(st.integers(1, 9)))
        parts.append(Finding(key, weight, "c", "a", (), since, f"s{n}", "e", first, after))
        first = after
        if weight is Weight.NOTE:
            break
    if draw(st.booleans()) and parts[-1].weight is not Weight.NOTE:
        parts.append(Finding(key, Weight.NOTE, "c", "a", (), since, "past", "e", first))
    return parts


worlds = st.lists(occurrence_parts(), max_size=4, unique_by=lambda parts: parts[0].key).map(
    lambda found: [part for parts in found for part in parts]
)
actions = st.lists(
    st.builds(
        Action,
        id=st.uuids().map(str),
        finding=st.sampled_from(["k1", "k2", "k3"]),
        since=st.just(START) | days,
        done=st.just("d"),
        by=names,
        day=days,
    ),
    max_size=6,
)


@thorough
@given(worlds, actions, days)
def test_an_action_closes_one_appearance_of_a_note_from_its_day_on_and_what_comes_back_is_open(parts, done, today):
    shown, by_then = weighed_on(today, parts, done), [one for one in done if one.day <= today]
    assert [one.finding for one in shown if not one.is_open] == [
        one.finding for one in shown if slow.is_closed(one.finding, by_then)
    ]
    assert {one.finding.key for one in shown} == {one.key for one in parts if one.holds_on(today)}
    open_ones = [one for one in on_day(parts, today) if not slow.is_closed(one, by_then)]
    weights = [one.weight.value for one in open_ones]
    assert counts(shown) == {weight: weights.count(weight) for weight in ("stop", "fix", "note")}


@thorough
@given(worlds, actions)
def test_findings_stand_with_the_heaviest_first_and_each_with_its_actions_in_order(found, done):
    shown = weighed(found, done)
    pairs = [(shown[n].finding, later.finding) for n in range(len(shown)) for later in shown[n + 1 :]]
    assert not any(slow.comes_before(later, earlier) for earlier, later in pairs)
    for one in shown:
        mine = [each for each in done if (each.finding, each.since) == (one.finding.key, one.finding.since)]
        assert sorted(each.id for each in one.actions) == sorted(each.id for each in mine)
        assert [each.day for each in one.actions] == sorted(each.day for each in mine)


@thorough
@given(worlds, actions, days, st.integers(0, 30))
def test_a_period_holds_whatever_stood_on_one_of_its_days_as_it_stood_at_the_end(parts, done, first, length):
    last = first + timedelta(days=length)
    found = occurrences(parts, done, first, last)
    assert {one.finding.key for one in found} == slow.stood_in(parts, done, first, last)
    ends = slow.on_the_last(parts, last)
    assert {one.finding.key: one.finding.weight for one in found} == {
        k: ends[k].weight for k in {o.finding.key for o in found}
    }


@thorough
@given(worlds, actions, days, st.integers(0, 30))
def test_an_occurrence_says_its_first_day_and_its_last_bad_one(parts, done, first, length):
    last = first + timedelta(days=length)
    for one in occurrences(parts, done, first, last):
        mine = [each for each in parts if each.key == one.finding.key and each.first <= last]
        bad = [d for n in range(120) if (d := START + timedelta(days=n)) <= last and any(e.holds_on(d) and e.weight is not Weight.NOTE for e in mine)]  # fmt: skip
        lasts = any(each.holds_on(last) and each.weight is not Weight.NOTE for each in mine)
        assert one.first == mine[0].since
        assert one.last == (None if lasts else bad[-1] if bad else one.first)
