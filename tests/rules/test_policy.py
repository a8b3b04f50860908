"""What a policy may ask. The limits are our own design (D); days in months are those of the calendar."""

from dataclasses import replace

import pytest

from training.rules.content import content_faults, longest_faults, right_is_longest
from training.rules.facts import Method, MethodQuota, Policy
from training.rules.policy import cycle_faults, cycles, days_in, policy_faults
from training.rules.texts import Content, Question, QuestionWeight, Step

WATCHED = Content(purpose="Have it done.", steps=(Step("s01", "Do it.", critical=True),))
TAUGHT = Content(purpose="Know it.")
SOUND = Policy(needed=2, window_days=400, renewal_months=12)
REAL, DRILL, TALK = Method.REAL, Method.DRILL, Method.TALK


def quota(count: int, *methods: Method) -> MethodQuota:
    return MethodQuota(frozenset(methods), count)


def test_a_sound_policy_has_no_faults():
    assert policy_faults(SOUND, WATCHED) == []


FAULTY = [
    ({"distinct_days": 3}, "distinct_days is 3, but 2 assessments cannot be on so many days"),
    ({"distinct_supervisors": 3}, "distinct_supervisors is 3, but 2 assessments cannot be on so many people"),
    ({"by_method": (quota(3, REAL),)}, "by_method asks 3 by real, but needed is 2"),
    ({"by_method": (quota(2, REAL), quota(1, DRILL))}, "by_method asks 3 in all, but needed is 2"),
    ({"by_method": (quota(0, REAL),)}, "by_method asks 0 by real: ask at least 1"),
    ({"methods": frozenset({DRILL}), "by_method": (quota(1, REAL),)}, "by_method names real, which methods does not"),
    ({"methods": frozenset()}, "methods is empty"),
    ({"renewal_methods": frozenset()}, "renewal_methods is empty"),
    ({"window_days": 365}, "window_days is 365, but a sign-off can live 366 days"),
    ({"first_year_months": 6, "notice_days": 182}, "notice_days is 182, but a sign-off can end after 181 days"),
    ({"needed": 0, "check_asked": False}, "needed is 0 and check_asked is off"),
    ({"renewal_needed": 0, "check_asked": False}, "renewal_months asks for a renewal, but renewal_needed is 0"),
    ({"idle_days": 0}, "idle_days is 0: set it to 1 or more."),
    ({"grace_days": -1}, "grace_days is -1: set it to 0 or more."),
    ({"needed": -1}, "needed is -1: set it to 0 or more."),
    ({"reobserve_days": 0}, "reobserve_days is 0: set it to 1 or more."),
]


@pytest.mark.parametrize(("change", "says"), FAULTY, ids=[row[1].split(",")[0] for row in FAULTY])
def test_a_fault_names_the_field_and_the_remedy(change, says):
    found = [told for told in policy_faults(replace(SOUND, **change), WATCHED) if told.startswith(says)]
    assert len(found) == 1
    assert ": " in found[0]
    assert found[0].endswith(".")


def test_every_fault_is_told_at_once():
    policy = replace(SOUND, distinct_days=5, window_days=10, idle_days=0)
    assert [says.split()[0] for says in policy_faults(policy, WATCHED)] == ["idle_days", "window_days", "distinct_days"]


@pytest.mark.parametrize(
    "change",
    [
        {"distinct_days": 2, "distinct_supervisors": 2},
        {"window_days": 366},
        {"first_year_months": 6, "notice_days": 181},
        {"renewal_months": None, "window_days": 30},
        {"needed": 0},
        {"renewal_needed": 0},
        {"by_method": (quota(2, REAL, DRILL), quota(1, DRILL))},
        {"by_method": (quota(1, DRILL), quota(1, TALK))},
        {"idle_days": 1, "grace_days": 0},
    ],
)
def test_the_last_value_that_makes_sense_is_let_through(change):
    assert policy_faults(replace(SOUND, **change), WATCHED) == []


def test_a_topic_asks_no_assessment_and_no_check():
    assert policy_faults(replace(SOUND, needed=0, check_asked=False, renewal_needed=0), TAUGHT) == []


def test_months_are_as_long_as_the_calendar_makes_them():
    assert (days_in(1).start, days_in(1).stop - 1) == (28, 31)
    assert (days_in(6).start, days_in(6).stop - 1) == (181, 184)
    assert (days_in(12).start, days_in(12).stop - 1) == (365, 366)


def test_procedures_that_rest_on_each_other_are_told_as_a_ring():
    assert cycle_faults([("P03", "P02"), ("P02", "P01"), ("P01", "P03"), ("P04", "P01")]) == [
        "prerequisites form a ring: P01 rests on P03, which rests on P02, which rests on P01. Take one of them out."
    ]


def test_a_procedure_that_rests_on_itself_is_told():
    assert cycle_faults([("P01", "P01")]) == ["prerequisites of P01 name P01 itself: take it out."]


def test_two_rings_are_both_told():
    assert cycles([("A", "B"), ("B", "A"), ("C", "D"), ("D", "C")]) == [("A", "B"), ("C", "D")]


def test_what_rests_on_one_thing_by_two_ways_is_no_ring():
    assert cycle_faults([("D", "B"), ("D", "C"), ("B", "A"), ("C", "A")]) == []


def question(*options: str, right: int = 0) -> Question:
    return Question("q1", QuestionWeight.SAFETY, "What now?", options, right)


def test_the_words_of_a_draft_are_judged_all_at_once():
    draft = Content(
        "", steps=(Step("s1", "Never do it."), Step("s1", "Go.")), questions=(question("a", "b", "A", right=3),)
    )
    starts = [says.split(" ")[0:2] for says in content_faults(draft)]
    assert len(starts) == 6
    assert ["no", "step"] in starts


def test_a_tie_for_the_longest_gives_no_answer_away():
    assert right_is_longest(question("Stop it.", "Go on", "Wait.", "Call."))
    assert not right_is_longest(question("Stop it.", "Go onnn.", "Wait.", "Call."))


def test_two_in_five_may_be_the_longest_and_no_more():
    long, short = question("longest", "b", "c", "d"), question("a", "longest", "c", "d")
    assert longest_faults([long] * 2 + [short] * 3) == []
    assert len(longest_faults([long] * 3 + [short] * 4)) == 1
