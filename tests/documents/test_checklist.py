"""A blank checklist: every step with its boxes, for the day the network is down."""

import pytest

from tests.documents.made_up import LONG
from tests.documents.pieces import PAPERS, blank
from tests.documents.reading import read, words
from training.documents.checklist import MARKS, BlankStep, build


@pytest.mark.parametrize("paper", PAPERS)
def test_every_step_and_every_mark_is_there(paper: str) -> None:
    shown = words(build(blank(paper=paper)))
    assert all(f"Step {n} is done." in shown for n in range(1, 21))
    assert all(mark in shown for mark in MARKS)
    assert "When a tool broke: Step 3 is done." in shown


def test_it_asks_who_what_when_how_and_for_the_trainee_s_own_word() -> None:
    shown = words(build(blank()))
    for asked in ("Who", "Watched by", "Unit", "Language used", "practice", "assessment", "real work", "what-if talk"):
        assert asked in shown
    assert "ready to work alone want more practice I disagree" in shown
    assert "Stopped as unsafe" in shown and "Signature, time" in shown


def test_it_warns_says_what_to_wear_and_what_comes_first() -> None:
    shown = words(build(blank(maker="the maker’s instructions (Handbook, edition 7)")))
    assert "Hazards sharp carbide" in shown and "Wear cut-resistant gloves" in shown
    assert "The maker’s instructions (Handbook, edition 7) and local rules come first." in shown
    assert "This paper signs nobody off." in shown


def test_a_caution_stands_right_after_its_step() -> None:
    steps = [BlankStep("Lift the chips.", True, "", "Never with fingers.")]
    assert "Lift the chips. Never with fingers." in words(build(blank(steps=steps)))


def test_every_page_repeats_the_marks_and_says_which_of_how_many() -> None:
    pages = [page.extract_text() for page in read(build(blank(60))).pages]
    assert len(pages) > 1
    for n, page in enumerate(pages, 1):
        assert f"page {n} of {len(pages)}" in page
        assert "not needed" in page


def test_markup_in_a_step_is_shown_as_typed() -> None:
    assert LONG in words(build(blank(steps=[BlankStep(LONG, False, "")])))


def test_asked_and_not_needed_have_boxes_only_beside_a_step_with_a_when() -> None:
    """Six boxes for a step with a when, four without; the form above and below has the same in both."""
    with_a_when = build(blank(steps=[BlankStep("Do it.", False, "it broke")]))
    without = build(blank(steps=[BlankStep("Do it.", False, "")]))
    assert boxes(with_a_when) - boxes(without) == 2


def boxes(data: bytes) -> int:
    """Squares of 16 units on the grid of the shapes."""
    return sum(page.get_contents().get_data().count(b"4 4 m 20 4 l 20 20 l 4 20 l") for page in read(data).pages)
