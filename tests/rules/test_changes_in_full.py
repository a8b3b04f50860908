"""What changed between two texts, step by step, in full."""

from dataclasses import replace

import pytest

from training.rules.changes import (
    ChangeKind,
    StepChange,
    WordsPiece,
    part_changes,
    question_changes,
    step_changes,
    word_changes,
)
from training.rules.texts import Content, Question, QuestionWeight, Step

A, B, C, D = (Step(key, f"Do {key}.") for key in "abcd")


def lines(says: str, **which: bool) -> tuple:
    return (("do", (WordsPiece(says, **which),)),)


def test_a_step_that_stays_one_that_comes_and_one_that_goes() -> None:
    assert step_changes([A, B], [A, C]) == [
        StepChange(ChangeKind.SAME, "a", 1, 1, lines("Do a."), ()),
        StepChange(ChangeKind.REMOVED, "b", 2, None, lines("Do b.", gone=True), ()),
        StepChange(ChangeKind.ADDED, "c", None, 2, lines("Do c.", new=True), ()),
    ]


def test_a_moved_step_says_from_where_to_where() -> None:
    moved = step_changes([A, B, C], [C, A, B])[0]
    assert moved == StepChange(ChangeKind.MOVED, "c", 3, 1, lines("Do c."), ("Moved: it was step 3, now 1.",))


@pytest.mark.parametrize(
    ("before", "after", "keys"),
    [
        ([A, B, C, D], [A, D], "abcd"),
        ([A, B, C], [C], "abc"),
        ([B, C], [A], "bca"),
        ([A, B, C, D], [D, A], "dabc"),
        ([A, B, C, D], [A, C, D], "abcd"),
    ],
)
def test_steps_taken_out_stand_where_they_stood(before: list[Step], after: list[Step], keys: str) -> None:
    assert "".join(change.key for change in step_changes(before, after)) == keys


@pytest.mark.parametrize(
    ("was", "now", "notes"),
    [
        (A, replace(A, critical=True), ("Now critical.",)),
        (replace(A, critical=True), A, ("No longer critical.",)),
        (A, replace(A, sources=("Z-07",)), ("Rests on other sources.",)),
    ],
)
def test_what_changed_besides_words_is_noted(was: Step, now: Step, notes: tuple[str, ...]) -> None:
    (change,) = step_changes([was], [now])
    assert (change.kind, change.notes) == (ChangeKind.CHANGED, notes)


def test_a_line_that_comes_or_goes_is_told() -> None:
    with_when, with_caution = replace(A, when="it is wet"), replace(A, caution="Slowly.")
    (came,), (went,) = step_changes([A], [with_when]), step_changes([with_caution], [A])
    assert came.lines == (("when", (WordsPiece("it is wet", new=True),)), ("do", (WordsPiece("Do a."),)))
    assert went.lines == (("do", (WordsPiece("Do a."),)), ("caution", (WordsPiece("Slowly.", gone=True),)))
    assert (came.kind, went.kind) == (ChangeKind.CHANGED, ChangeKind.CHANGED)


@pytest.mark.parametrize(
    ("old", "new", "pieces"),
    [
        ("wipe it", "wipe it", [WordsPiece("wipe it")]),
        ("wipe it", "wipe it dry", [WordsPiece("wipe it"), WordsPiece("dry", new=True)]),
        ("wipe it dry", "wipe dry", [WordsPiece("wipe"), WordsPiece("it", gone=True), WordsPiece("dry")]),
        ("", "wipe", [WordsPiece("wipe", new=True)]),
        ("lift", "wipe", [WordsPiece("lift", gone=True), WordsPiece("wipe", new=True)]),
    ],
)
def test_words_that_stay_go_and_come(old: str, new: str, pieces: list[WordsPiece]) -> None:
    assert list(word_changes(old, new)) == pieces


def test_words_that_come_often_are_compared_like_all_others() -> None:
    """A long text repeats its small words; the usual shortcut of the library would skip them."""
    text = "put the cap on the tub " * 50
    assert list(word_changes("Now " + text, text)) == [WordsPiece("Now", gone=True), WordsPiece(text.strip())]


def test_parts_around_the_steps_are_told_by_their_titles() -> None:
    old = Content(purpose="To mill.", hazards=("Dust", "Noise"))
    assert part_changes(old, replace(old, purpose="To mill.", hazards=("Dust",))) == [
        ("What can hurt", (WordsPiece("Dust"), WordsPiece("· Noise", gone=True)))
    ]
    assert part_changes(old, replace(old, purpose="To grind.")) == [
        ("Purpose", (WordsPiece("To"), WordsPiece("mill.", gone=True), WordsPiece("grind.", new=True)))
    ]


def test_questions_that_stay_are_not_told() -> None:
    one, two, three = (Question(key, QuestionWeight.SAFETY, f"Why {key}?", ("1", "2", "3", "4"), 0) for key in "xyz")
    changed = replace(two, right_index=1)
    assert question_changes([one, two], [one, changed, three]) == [
        (ChangeKind.CHANGED, "Why y?"),
        (ChangeKind.ADDED, "Why z?"),
    ]
    assert question_changes([one, two], [one]) == [(ChangeKind.REMOVED, "Why y?")]
