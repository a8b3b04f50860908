"""What changed between two texts is told by the keys of steps and questions; what is asked is told in words; words are found."""

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from training.rules.changes import ChangeKind, part_changes, question_changes, step_changes, word_changes
from training.rules.facts import Method, MethodQuota, Policy
from training.rules.place import Answer
from training.rules.policy_wording import policy_changes, policy_rows
from training.rules.search import found_in
from training.rules.sessions import SessionRecord, missing
from training.rules.texts import Content, Question, QuestionWeight, Step

A, B, C = (Step(key, f"Do {key}.") for key in "abc")
STEPS = st.lists(st.sampled_from("abcdef"), unique=True).map(lambda keys: [Step(key, f"Do {key}.") for key in keys])


def kinds(before: list[Step], after: list[Step]) -> dict[str, ChangeKind]:
    return {change.key: change.kind for change in step_changes(before, after)}


def test_a_step_that_moved_is_not_one_taken_out_and_another_put_in() -> None:
    assert kinds([A, B, C], [C, A, B]) == {"a": ChangeKind.SAME, "b": ChangeKind.SAME, "c": ChangeKind.MOVED}


def test_a_step_taken_out_stands_where_it_stood() -> None:
    assert [(c.key, c.kind) for c in step_changes([A, B, C], [A, C])][1] == ("b", ChangeKind.REMOVED)


def test_a_reworded_step_shows_the_words_that_went_and_came() -> None:
    change = step_changes([A], [replace(A, do="Do a slowly.", critical=True)])[0]
    assert [(p.says, p.new, p.gone) for p in change.lines[0][1]] == [
        ("Do", False, False), ("a.", False, True), ("a slowly.", True, False),
    ]  # fmt: skip
    assert (change.kind, change.notes) == (ChangeKind.CHANGED, ("Now critical.",))


@given(STEPS, STEPS)
def test_every_step_of_either_version_is_told_once(before: list[Step], after: list[Step]) -> None:
    told = step_changes(before, after)
    assert sorted(change.key for change in told) == sorted({step.key for step in [*before, *after]})
    assert [c.number_after for c in told if c.number_after] == list(range(1, len(after) + 1))


@given(STEPS)
def test_nothing_changes_between_a_text_and_itself(steps: list[Step]) -> None:
    assert not any(change.is_change for change in step_changes(steps, steps))


@given(st.lists(st.sampled_from("uvw")), st.lists(st.sampled_from("uvw")))
def test_both_texts_can_be_read_out_of_the_words(old: list[str], new: list[str]) -> None:
    pieces = word_changes(" ".join(old), " ".join(new))
    assert " ".join(p.says for p in pieces if not p.new).split() == old
    assert " ".join(p.says for p in pieces if not p.gone).split() == new


def test_questions_are_told_by_their_keys() -> None:
    one = Question("q1", QuestionWeight.SAFETY, "One?", ("A", "B"), 0)
    two, three = replace(one, key="q2", ask="Two?"), replace(one, key="q3", ask="Three?")
    found = question_changes([one, two], [replace(one, right_index=1), three])
    assert found == [(ChangeKind.CHANGED, "One?"), (ChangeKind.ADDED, "Three?"), (ChangeKind.REMOVED, "Two?")]


def test_the_parts_around_the_steps_are_told_by_name() -> None:
    assert [
        part for part, _ in part_changes(Content("P", hazards=("Cuts",)), Content("P", hazards=("Cuts", "Points")))
    ] == ["What can hurt"]


POLICY = Policy(
    needed=5, methods=frozenset({Method.REAL, Method.PRACTICE}), distinct_days=2, renewal_months=12, first_year_months=6
)


def test_a_policy_is_said_in_words() -> None:
    rows = dict(
        policy_rows(
            replace(POLICY, by_method=(MethodQuota(frozenset({Method.REAL}), 2),), prerequisites=("P01",)),
            names={"P01": "Stop it"},
        )
    )
    assert rows["Assessments"] == "five met, by real work or practice piece"
    assert rows["Of them by real work"] == "two or more"
    assert (rows["Good for"], rows["Rests on"]) == ("6 months in the first year, then 12 months", "Stop it (P01)")


def test_what_is_absent_is_said_to_ask_nothing() -> None:
    rows = dict(policy_rows(Policy(needed=0, check_asked=False, renewal_months=None)))
    asked = ("Assessments", "Knowledge check", "Good for", "Ends early", "From an earlier version", "Rests on")
    assert [rows[part] for part in asked] == [
        "none", "not needed", "always: it never lapses by the calendar", "not by standing idle", "goes on as it is", "nothing else",
    ]  # fmt: skip


def test_only_parts_that_ask_something_else_are_told() -> None:
    assert policy_changes(POLICY, replace(POLICY, idle_days=183)) == [
        ("Ends early", "not by standing idle", "after 183 days without doing it")
    ]
    assert policy_changes(POLICY, POLICY) == []


CONTENT = Content(
    "Swap it.",
    hazards=("Cuts",),
    steps=(Step("s1", "Wait for {stopped sign}."), Step("s2", "Lift it.", when="it hums", caution="Not by its tip.")),
)


def where(words: str, **answers: str) -> list[str]:
    here = {name.replace("_", " "): Answer(value) for name, value in answers.items()}
    return [found.where for found in found_in(words, "P03", "Tool swap", CONTENT, here)]


def test_words_are_found_where_they_stand() -> None:
    assert where("TOOL") == ["title"] and where("cuts") == ["what can hurt"]
    assert where("hums lift") == ["step 2"] and where("tip") == ["caution of step 2"]
    assert where("lamp out", stopped_sign="the lamp to go out") == ["step 1"]


def test_all_words_must_stand_in_one_place_and_no_words_find_nothing() -> None:
    assert where("lift tip") == [] and where("  ") == []


WHOLE = SessionRecord(["2026-03-10"], "All of it.", "Yusuf", "Trained 2023.", "English", "nothing", True, None, 1)


def test_a_whole_record_lacks_nothing_and_each_missing_part_is_named() -> None:
    assert missing(WHOLE) == []
    assert missing(replace(WHOLE, attended=0, untitled=["Wren"])) == [
        "somebody who attended",
        "the job title that Wren had that day",
    ]
