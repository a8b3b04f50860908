"""What the coverage page says, sentence by sentence."""

from datetime import date, timedelta

import pytest

from training.rules import cover_wording as says
from training.rules.cover_wording import Gap
from training.rules.coverage import DutyCoverage, DutyDay, Repair

MONDAY = date(2026, 3, 2)
NAMES = {"a": "Ada", "b": "Ben", "c": "Cy"}


def day(number: int) -> date:
    return MONDAY + timedelta(days=number)


def cover(*counts: int | None, minimum: int = 2, repair: Repair | None = None, lost=(), unsigned=()) -> DutyCoverage:
    """So many usable people on each day from Monday; None is no working day."""
    days = [
        DutyDay(day(n), tuple("abcdef"[:count]), minimum, tuple(lost), () if n in unsigned else ("s",))
        for n, count in enumerate(counts)
        if count is not None
    ]
    return DutyCoverage("P03", tuple(days), repair)


def test_picked_days_join_across_days_that_nobody_works():
    week = cover(1, 1, None, None, 1, 2, 0)
    assert says.short_gaps(week) == [Gap(day(0), day(4), 3), Gap(day(6), day(6), 1)]


def test_days_without_a_signer_are_gaps_of_their_own():
    assert says.unsigned_gaps(cover(2, 2, 2, 2, unsigned=(1, 2))) == [Gap(day(1), day(2), 2)]


@pytest.mark.parametrize(
    ("gap", "words"),
    [
        (Gap(day(0), day(0), 1), "on 2 March 2026"),
        (Gap(day(0), day(3), 4), "from 2 March 2026 to 5 March 2026"),
    ],
)
def test_a_stretch_names_its_days(gap, words):
    assert says.stretch_words(gap) == words


@pytest.mark.parametrize(
    ("counts", "sentence"),
    [
        ((2, 2, 3), ""),
        (
            (2, 1, 1),
            "Below 2 on two working days, from 3 March 2026 to 4 March 2026: only one person at work may do it alone.",
        ),
        (
            (2, 0, 1),
            "Below 2 on two working days, from 3 March 2026 to 4 March 2026: at worst nobody at work may do it alone.",
        ),
        ((2, 1), "Below 2 on one working day, on 3 March 2026: only one person at work may do it alone."),
        (
            (1, 2, 1, 0),
            "Below 2 on three working days, first on 2 March 2026: at worst nobody at work may do it alone.",
        ),
        ((1, 0), "Below 2 on every working day: at worst nobody at work may do it alone."),
        ((1, 1), "Below 2 on every working day: only one person at work may do it alone."),
    ],
)
def test_how_often_and_how_far_it_falls_short(counts, sentence):
    assert says.short_sentence(cover(*counts)) == sentence


def test_two_at_work_below_a_minimum_of_three_are_only_two():
    assert says.short_sentence(cover(2, 3, minimum=3)).endswith(": only two people at work may do it alone.")


def test_no_one_can_sign_is_a_sentence_a_gap():
    assert says.unsigned_sentences(cover(2, 2, 2, 2, unsigned=(0, 2, 3))) == [
        "Nobody can sign on 2 March 2026.",
        "Nobody can sign from 4 March 2026 to 5 March 2026.",
    ]


def test_lapses_are_named_by_their_last_good_day_the_earliest_first():
    lost = [("c", day(-1)), ("b", day(-3)), ("a", day(-1))]
    assert says.lapse_sentence(cover(1, lost=lost), NAMES) == "Last good days: 27 Feb 2026 Ben; 1 Mar 2026 Ada and Cy."


def test_nobodys_lapse_and_no_short_day_say_nothing():
    assert says.lapse_sentence(cover(1), NAMES) == ""
    assert says.lapse_sentence(cover(2, lost=[("a", day(-1))]), NAMES) == ""


@pytest.mark.parametrize(
    ("lost", "below", "sentence"),
    [
        ((), {}, "Repaired soonest by training Ada, who could work alone on 12 March 2026 at the earliest."),
        (
            (("a", day(-1)),),
            {},
            "Repaired soonest by training Ada, who could work alone on 12 March 2026 at the earliest.",
        ),
        ((("a", day(0)),), {}, "Repaired soonest by renewing the sign-off of Ada, possible from 12 March 2026."),
        (
            (("a", day(1)),),
            {"a": "P01"},
            "Repaired soonest by renewing the sign-off of Ada in P01, which it rests on, possible from 12 March 2026.",
        ),
        (
            (("b", day(1)),),
            {},
            "Repaired soonest by training Ada, who could work alone on 12 March 2026 at the earliest.",
        ),
    ],
)
def test_the_repair_is_a_training_or_a_renewal(lost, below, sentence):
    short = cover(1, repair=Repair("a", day(10)), lost=lost)
    assert says.repair_sentence(short, NAMES, below) == sentence


def test_what_no_training_repairs_is_said_and_no_gap_needs_no_repair():
    assert says.repair_sentence(cover(1), NAMES, {}) == (
        "No training of those whose job needs it repairs this: it is a matter of days away, or of one person more."
    )
    assert says.repair_sentence(cover(2, repair=Repair("a", day(3))), NAMES, {}) == ""


@pytest.mark.parametrize(
    ("known", "words"),
    [
        (cover(), "No working day lies ahead"),
        (cover(2), "1 of 1 working day is covered"),
        (
            cover(2, 1, 2, unsigned=(2,)),
            "2 of 3 working days are covered, below the least on 3 March 2026, nobody can sign on 4 March 2026",
        ),
    ],
)
def test_the_chart_is_told_in_words(known, words):
    assert says.in_words(known) == words


def test_days_side_by_side_with_the_same_number_are_one_run():
    found = list(says.count_runs(cover(2, 2, None, 2, 3, 3)))
    assert found == [(Gap(day(0), day(1), 2), 2), (Gap(day(3), day(3), 1), 2), (Gap(day(4), day(5), 2), 3)]
    assert list(says.count_runs(cover())) == []
