"""Teaching day by day: what stands before what, on whose days; held by laws over random practices and by trying every way."""

from collections import Counter
from dataclasses import replace
from datetime import date, timedelta
from itertools import combinations_with_replacement
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from tests.rules.amount import examples
from tests.rules.shapes import EASY, check, met, procedure, signed, withdrawn
from tests.rules.test_plan import TWO_DAYS, required
from training.rules.facts import PersonFacts, Policy, ProcedureFacts
from training.rules.plan import PlanLine, plan
from training.rules.standing import timelines
from training.rules.teaching import Crew, Lesson, LessonPart, TeachingWanted, Turns, place, taught_days
from training.rules.teaching_wording import beyond_words, lessons_sentence
from training.rules.week import A_DAY

MONDAY = date(2026, 3, 9)
ALL_PARTS = [LessonPart.SHOW, LessonPart.WHY, LessonPart.TRY, LessonPart.WATCH, LessonPart.SIGN]


def day(number: int) -> date:
    return MONDAY + timedelta(days=number)


def crew(codes: Any, *days: int, who: str = "nora", sign: Any = None, until: int = 13) -> Crew:
    """One person who may do everything on these days."""
    by_day = {day(number): (who,) for number in days}
    signs = by_day if sign is None else {day(number): (who,) for number in sign}
    return Crew(day(until), dict.fromkeys(codes, by_day), dict.fromkeys(codes, signs))


def taught(programme: list[ProcedureFacts], there: Crew, facts: dict | None = None) -> dict[str, PlanLine]:
    known = {each.code: each for each in programme}
    standings = timelines(known, PersonFacts("amina", facts or {}))
    asked = [required(each.code) for each in programme]
    return {line.procedure: line for line in plan(asked, known, standings, MONDAY, there)}


def parts(line: PlanLine) -> list[tuple[int, LessonPart]]:
    return [((lesson.day - MONDAY).days, lesson.part) for lesson in line.lessons]


def only(policy: Policy, there: Crew, *facts: Any) -> PlanLine:
    return taught([procedure("P03", policy)], there, {"P03": facts})["P03"]


def test_somebody_new_is_shown_told_why_let_try_watched_and_signed() -> None:
    line = only(EASY, crew(["P03"], 0, 1))
    assert parts(line) == [(0, part) for part in ALL_PARTS] and line.earliest_finish == MONDAY


def test_two_distinct_days_stay_two() -> None:
    line = only(TWO_DAYS, crew(["P03"], 0, 3, 4))
    assert parts(line)[3:] == [
        (0, LessonPart.WATCH),
        (3, LessonPart.WATCH),
        (3, LessonPart.SIGN),
    ] and line.earliest_finish == day(3)


def test_a_day_that_counts_already_serves_no_second_time() -> None:
    line = only(TWO_DAYS, crew(["P03"], 0, 1), met("2026-03-09"))
    assert parts(line) == [(1, LessonPart.WATCH), (1, LessonPart.SIGN)]


def test_what_was_done_falls_out() -> None:
    asks = replace(EASY, check_asked=True)
    assert parts(only(asks, crew(["P03"], 0), met("2026-03-05"))) == [(0, LessonPart.WHY), (0, LessonPart.SIGN)]
    assert parts(only(asks, crew(["P03"], 0), met("2026-03-05"), check("2026-03-05"))) == [(0, LessonPart.SIGN)]
    assert parts(only(EASY, crew(["P03"], 0), met("2026-03-05"), signed("2026-03-05"))) == []


def test_after_a_withdrawal_it_is_shown_again() -> None:
    line = only(EASY, crew(["P03"], 0), met("2026-03-02"), signed("2026-03-02"), withdrawn("2026-03-05"))
    assert [part for _, part in parts(line)] == ALL_PARTS


def test_a_day_missed_moves_what_follows() -> None:
    there, later = crew(["P03"], 0, 1, 2), crew(["P03"], 1, 2)
    assert [only(TWO_DAYS, each).earliest_finish for each in (there, later)] == [day(1), day(2)]


def test_what_rests_on_something_begins_when_that_is_signed() -> None:
    rests = procedure("P03", replace(EASY, prerequisites=("P01",)))
    found = taught([rests, procedure("P01", TWO_DAYS)], crew(["P01", "P03"], 0, 2))
    assert parts(found["P03"])[0] == (2, LessonPart.SHOW) and found["P01"].earliest_finish == day(2)


def test_a_topic_is_taught_in_one_session() -> None:
    line = taught([procedure("T01", EASY, is_topic=True)], crew(["T01"], 2))["T01"]
    assert parts(line) == [(2, LessonPart.TEACH)] and line.earliest_finish == day(2)


def test_a_second_person_watches_where_two_are_asked() -> None:
    two = replace(EASY, needed=2, distinct_supervisors=2)
    by_day = {day(0): ("nora", "ida"), day(1): ("nora",), day(2): ("ida",)}
    line = taught([procedure("P03", two)], Crew(day(13), {"P03": by_day}, {"P03": by_day}))["P03"]
    assert {lesson.who for lesson in line.lessons if lesson.part is LessonPart.WATCH} == {"nora", "ida"}
    lone = only(two, crew(["P03"], 0, 1, 2))
    assert lone.is_beyond and LessonPart.SIGN not in {lesson.part for lesson in lone.lessons}


def test_nobody_signs_who_may_only_watch() -> None:
    line = only(EASY, crew(["P03"], 0, 1, sign=[1]))
    assert parts(line)[-2:] == [(0, LessonPart.WATCH), (1, LessonPart.SIGN)]
    never = only(EASY, crew(["P03"], 0, sign=[]))
    assert never.is_beyond and never.earliest_finish == day(14)
    assert "nobody who may sign it" in beyond_words(never.lessons)


def test_with_nobody_there_it_is_never_said_too_late() -> None:
    line = only(TWO_DAYS, crew(["P03"]))
    assert (line.lessons, line.is_beyond, line.earliest_finish) == ((), True, day(15))
    assert beyond_words(line.lessons).startswith("On none of these days")


def test_no_day_has_more_turns_than_it_can_have() -> None:
    codes = [f"P{n:02}" for n in range(1, 8)]
    found = taught([procedure(code, EASY) for code in codes], crew(codes, 0, 1, 2, 3, 4))
    turns = Counter(lesson.day for line in found.values() for lesson in line.lessons if lesson.part in TURNING)
    assert max(turns.values()) == A_DAY and sum(turns.values()) == 14


def test_what_the_day_has_had_already_is_counted() -> None:
    seen = {"P01": tuple(met("2026-03-09") for _ in range(A_DAY))}
    found = taught([procedure("P01", EASY), procedure("P03", EASY)], crew(["P01", "P03"], 0, 1), seen)
    assert parts(found["P03"])[0] == (1, LessonPart.SHOW)


def test_a_working_day_shows_what_falls_on_it_and_who_is_away() -> None:
    shown = taught_days([Lesson(day(1), "P03", LessonPart.WATCH, "nora")], [day(0), day(1)], [day(1)])
    assert [(each.is_away, len(each.lessons)) for each in shown] == [(True, 0), (False, 1)]


def test_a_day_in_words_says_who_does_what() -> None:
    lessons = [Lesson(MONDAY, "P03", part, "n") for part in (LessonPart.SHOW, LessonPart.WATCH, LessonPart.WATCH)]
    said = lessons_sentence(
        [*lessons, Lesson(MONDAY, "P03", LessonPart.SIGN, "i")], {"n": "Nora Quill", "i": "Ida Brandt"}
    )
    assert said == "Show and watch twice: Nora Quill. Sign off: Ida Brandt."


TURNING = (LessonPart.TRY, LessonPart.WATCH)
PEOPLE = ("nora", "ida")
there = st.lists(st.sets(st.sampled_from(PEOPLE)), min_size=6, max_size=6)
policies = st.builds(
    lambda needed, apart, others, check: Policy(
        needed=needed, distinct_days=min(apart, needed), distinct_supervisors=min(others, needed), check_asked=check
    ),
    st.integers(1, 3), st.integers(1, 3), st.integers(1, 2), st.booleans(),
)  # fmt: skip


def by_day(sets: list[set[str]]) -> dict[date, tuple[str, ...]]:
    return {day(number): tuple(sorted(who)) for number, who in enumerate(sets)}


@settings(max_examples=examples(150))
@given(st.lists(policies, min_size=3, max_size=3), st.lists(there, min_size=3, max_size=3), there)
def test_the_laws_hold_in_any_practice(asked: list[Policy], watch: list, sign: list) -> None:
    """P02 rests on P01, P03 on P02. Each law is counted from the lessons alone."""
    codes = ["P01", "P02", "P03"]
    chained = [replace(policy, prerequisites=tuple(codes[:n][-1:])) for n, policy in enumerate(asked)]
    may_watch = {code: by_day(sets) for code, sets in zip(codes, watch, strict=True)}
    may_sign = dict.fromkeys(codes, by_day(sign))
    found = taught([procedure(*each) for each in zip(codes, chained, strict=True)], Crew(day(5), may_watch, may_sign))
    without = plain(codes, chained)
    turns = Counter(one.day for line in found.values() for one in line.lessons if one.part in TURNING)
    assert all(number <= A_DAY for number in turns.values())
    for code, policy in zip(codes, chained, strict=True):
        line = found[code]
        assert line.earliest_finish is not None and line.earliest_finish >= without[code]
        for lesson in line.lessons:
            may = may_sign if lesson.part is LessonPart.SIGN else may_watch
            assert lesson.who in may[code][lesson.day]
        assert [one.day for one in line.lessons] == sorted(one.day for one in line.lessons)
        order = [ALL_PARTS.index(one.part) for one in line.lessons]
        assert order == sorted(order)
        below = [found[each] for each in policy.prerequisites]
        assert all(one.day >= each.earliest_finish for one in line.lessons for each in below)
        if not line.is_beyond:
            watched = [one for one in line.lessons if one.part is LessonPart.WATCH]
            assert line.lessons[-1] == Lesson(line.earliest_finish, code, LessonPart.SIGN, line.lessons[-1].who)
            assert len(watched) >= policy.needed
            assert len({one.day for one in watched}) >= policy.distinct_days
            assert len({one.who for one in watched}) >= policy.distinct_supervisors


def plain(codes: list[str], policies: list[Policy]) -> dict[str, date]:
    """The earliest finishes where everybody is always there."""
    known = {code: procedure(code, policy) for code, policy in zip(codes, policies, strict=True)}
    standings = timelines(known, PersonFacts("amina", {}))
    return {
        line.procedure: line.earliest_finish for line in plan([required(c) for c in codes], known, standings, MONDAY)
    }


@settings(max_examples=examples(150))
@given(st.integers(1, 3), st.integers(1, 3), st.integers(0, 2), there)
def test_no_way_of_all_is_earlier(watches: int, apart: int, others: int, sets: list) -> None:
    """Trying every choice of days and people: the rule finds one where there is one, and none is earlier."""
    assume(apart <= watches and others <= watches)
    may = by_day(sets)
    want = TeachingWanted("P03", shows=False, asks_why=False, watches=watches, apart=apart, others=others)
    placed = place(want, Crew(day(5), {"P03": may}, {"P03": may}), Turns(), MONDAY)
    slots = [(each, who) for each, people in may.items() for who in people]
    ways = [
        max(each for each, _ in way)
        for way in combinations_with_replacement(slots, watches)
        if len({each for each, _ in way}) >= apart and len({who for _, who in way}) >= others
    ]
    assert placed.finish == min(ways, default=None)


@pytest.mark.parametrize("number", [1, 2])
def test_the_earliest_finish_is_that_of_the_days_alone_where_everybody_is_there(number: int) -> None:
    """One place: with no turn taken by others both say the same day."""
    policy = replace(EASY, needed=number, distinct_days=number)
    assert only(policy, crew(["P03"], *range(14))).earliest_finish == plain(["P03"], [policy])["P03"]
