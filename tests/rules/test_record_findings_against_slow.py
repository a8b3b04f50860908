"""Findings about signatures, records and safeguards say what asking each row and day says. MILLROOM_EXAMPLES asks for more."""

from datetime import date, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from clinic.rules.chemicals import Listed, new_hazards
from clinic.rules.cover import Present, entry_cover
from clinic.rules.findings import EntryDone, Finding, Weight, entries_without_cover
from clinic.rules.findings_checks import ToolMounted, tools_past_life
from tests.rules import slow_findings as slow
from tests.rules.amount import examples
from training.rules.findings import Signature, too_few_signers, wrong_signatures
from training.rules.findings_closed import Action, counts, weighed
from training.rules.findings_hazards import Untaught, new_hazards_untaught
from training.rules.findings_records import (
    LIVE,
    PastDeadline,
    SealCheck,
    SessionKept,
    missing_site_facts,
    records_with_gaps,
    seal_check,
    work_past_deadline,
)
from training.rules.findings_safeguards import Kept, safeguards_late

thorough = settings(max_examples=examples(200), deadline=None)
START = date(2026, 3, 2)
days = st.integers(0, 40).map(lambda n: START + timedelta(days=n))
names = st.sampled_from("abcd")
present = st.builds(Present, names, st.booleans())
signatures = st.builds(
    Signature,
    id=st.uuids().map(str),
    day=days,
    person=names,
    person_id=names,
    signer=names,
    signer_id=names,
    procedure=st.sampled_from(["P1", "P2"]),
    had_authority=st.booleans(),
    was_usable=st.booleans(),
    withdrawn=st.booleans(),
)


@thorough
@given(st.lists(signatures, max_size=5))
def test_a_signature_is_wrong_for_each_reason_until_it_is_withdrawn(rows):
    found = {one.evidence[0]: one.sentence for one in wrong_signatures(rows)}
    expected = {row.id: slow.reasons(row) for row in rows if slow.reasons(row)}
    assert set(found) == set(expected)
    known = {"signed for oneself", "without authority", "while not usable"}
    assert {key: {words for words in known if words in says} for key, says in found.items()} == expected


@thorough
@given(st.lists(st.tuples(present, st.lists(present, max_size=3), st.sampled_from([None, "Cleaning"])), max_size=4))
def test_work_is_bare_when_nobody_usable_did_it_or_stood_by(rows):
    entries = [EntryDone(f"e{n}", START, "x", entry_cover(d, by, procedure=p)) for n, (d, by, p) in enumerate(rows)]
    bare = {f"e{n}" for n, row in enumerate(rows) if slow.is_bare(*row)}
    assert {one.evidence[0] for one in entries_without_cover(entries)} == bare


@thorough
@given(st.lists(st.tuples(st.integers(0, 9), st.integers(1, 9)), max_size=5))
def test_a_tool_is_past_its_life_from_the_unit_after_the_last_one(rows):
    tools = [ToolMounted(f"t{n}", "Bur", "Mill 1", used, full, START) for n, (used, full) in enumerate(rows)]
    past = {f"t{n}" for n, (used, full) in enumerate(rows) if used in range(full + 1, 99)}
    assert {one.evidence[0] for one in tools_past_life(tools)} == past


@thorough
@given(st.lists(st.lists(st.sampled_from([LIVE, "the address", "the job title of Ada"]), max_size=3), max_size=4))
def test_a_record_with_a_gap_is_told_from_questions_never_asked_live(rows):
    sessions = [SessionKept(f"s{n}", START, "T1", tuple(dict.fromkeys(row))) for n, row in enumerate(rows)]
    expected = {one.id: code for one in sessions if (code := slow.gap_in(one))}
    assert {one.evidence[0]: one.code for one in records_with_gaps(sessions)} == expected


@thorough
@given(st.lists(st.lists(names, max_size=3).map(tuple), max_size=4))
def test_a_duty_needs_two_different_people_who_can_sign(rows):
    duties = [(f"P{n}", row, START) for n, row in enumerate(rows)]
    assert {one.about for one in too_few_signers(duties)} == {
        duty for duty, row, _ in duties if not slow.sums_to_two(row)
    }


@thorough
@given(st.lists(st.tuples(names, st.sampled_from(["P1", "P2"]), st.lists(days, max_size=3)), max_size=4))
def test_work_to_an_old_version_is_one_finding_since_its_first_day(rows):
    work = [[(f"e{n}.{k}", day) for k, day in enumerate(found)] for n, (_, _, found) in enumerate(rows)]
    people = [
        PastDeadline(who, who, code, "1", START + timedelta(days=n), tuple(work[n]))
        for n, (who, code, _) in enumerate(rows)
    ]
    found = {tuple(one.key.split(":")[1:]): one.since for one in work_past_deadline(people)}
    expected = slow.work_by_day(people, START, START + timedelta(days=40))
    assert found == {(who, code, since.isoformat()): day for (who, code, since), day in expected.items()}


@thorough
@given(st.dictionaries(st.tuples(st.sampled_from("fg"), st.sampled_from(["", "Mill 1"])), st.lists(names, max_size=3)))
def test_an_empty_site_fact_is_a_finding_wherever_a_procedure_uses_it(asked):
    found = {one.about: one.since for one in missing_site_facts(asked, {"f": START, "g": START + slow.DAY})}
    used = [(fact, unit) for (fact, unit), codes in asked.items() for _ in codes[:1]]
    places = {f"“{fact}”" + (f" of {unit}" if unit else ""): START + slow.DAY * "fg".index(fact) for fact, unit in used}
    assert found == places


@thorough
@given(st.none() | days, st.integers(0, 2), days)
def test_the_seals_are_late_a_week_after_the_last_check_and_broken_at_once(last, breaks, today):
    found = [(one.code, one.weight.value, one.since) for one in seal_check(SealCheck("k", last, breaks, START), today)]
    late = slow.late_since(last, START, 7, today)
    broken = [("broken seal", "stop", last)] if last and breaks else []
    assert found == (broken or ([("seal check late", "fix", late)] if late else []))


@thorough
@given(
    st.dictionaries(st.sampled_from(["backup", "restore drill"]), st.tuples(days, st.booleans())), st.integers(0, 140)
)
def test_a_safeguard_is_late_after_its_days_and_a_failed_one_is_said_at_once(rows, later):
    today = START + timedelta(days=later)
    found = {
        one.code: one.since for one in safeguards_late({k: Kept(k, *row) for k, row in rows.items()}, START, today)
    }
    expected = {}
    for kind, allowed in (("backup", 7), ("restore drill", 92)):
        day, good = rows.get(kind, (None, True))
        late = slow.late_since(day, START, allowed, today)
        expected |= {f"{kind} failed": day} if not good else {f"{kind} late": late} if late else {}
    assert found == expected


@thorough
@given(
    st.lists(st.tuples(st.integers(-5, 30), st.lists(st.sampled_from("xyz"), max_size=3)), max_size=5),
    st.frozensets(st.sampled_from([f"p{n}" for n in range(5)])),
    days,
)
def test_a_new_hazard_is_a_finding_on_the_eighth_day_while_anybody_is_left(rows, taught, today):
    products = [Listed(f"p{n}", START + timedelta(days=d), f"p{n}", tuple(c)) for n, (d, c) in enumerate(rows)]
    left = {one.id: () if one.id in taught else ("Ada",) for one in products}
    untaught = [Untaught(one, "T1", left[one.id]) for one in new_hazards(products, START)]
    found = {one.evidence[0]: (one.since, one.sentence) for one in new_hazards_untaught(untaught, today)}
    expected = slow.untaught_hazards(products, START, today, left)
    assert {key: since for key, (since, _) in found.items()} == {key: since for key, (since, _) in expected.items()}
    assert all(f"({', '.join(expected[key][1])})" in says for key, (_, says) in found.items())


findings = st.builds(
    Finding,
    key=st.sampled_from(["k1", "k2"]),
    weight=st.sampled_from(Weight),
    code=st.just("c"),
    about=st.just("a"),
    evidence=st.just(()),
    since=days,
    sentence=st.just("s"),
    ends_when=st.just("e"),
)
actions = st.builds(
    Action,
    id=st.uuids().map(str),
    finding=st.sampled_from(["k1", "k2"]),
    since=st.just(START) | days,
    done=st.just("d"),
    by=names,
    day=days,
)


@thorough
@given(st.lists(findings, max_size=6), st.lists(actions, max_size=6))
def test_an_action_closes_one_appearance_of_a_note_and_what_comes_back_is_open(found, done):
    shown = weighed(found, done)
    open_ones = [one for one in found if not slow.is_closed(one, done)]
    assert [one.finding for one in shown if not one.is_open] == [
        one.finding for one in shown if slow.is_closed(one.finding, done)
    ]
    assert counts(shown) == {
        w: len([one for one in open_ones if one.weight.value == w]) for w in ("stop", "fix", "note")
    }


@thorough
@given(st.lists(findings, max_size=6), st.lists(actions, max_size=6))
def test_findings_stand_with_the_heaviest_first_and_each_with_its_actions_in_order(found, done):
    shown = weighed(found, done)
    pairs = [(shown[n].finding, later.finding) for n in range(len(shown)) for later in shown[n + 1 :]]
    assert not any(slow.comes_before(later, earlier) for earlier, later in pairs)
    for one in shown:
        mine = [each for each in done if (each.finding, each.since) == (one.finding.key, one.finding.since)]
        assert sorted(each.id for each in one.actions) == sorted(each.id for each in mine)
        assert [each.day for each in one.actions] == sorted(each.day for each in mine)
