"""From the facts to coverage and findings, corrections and what was known by an instant included: the standing read off day
by day, then coverage and findings read off that, against the timelines with the rules on top. MILLROOM_EXAMPLES asks for
more."""

from datetime import timedelta

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.rules import slow_findings
from tests.rules.amount import examples
from tests.rules.histories import History, histories
from tests.rules.slow_coverage import DAY, Slow
from tests.rules.slow_standing import DayByDay
from training.rules.coverage import Staff, coverage
from training.rules.findings import (
    Ask,
    EverRequired,
    JudgedSignature,
    training_overdue,
    wrong_signatures,
)
from training.rules.standing import timelines, usable_runs

thorough = settings(max_examples=examples(100), deadline=None, suppress_health_check=list(HealthCheck))
SPAN = 40
moments = st.tuples(histories(procedures_at_most=2, scenes_at_most=6), st.integers(0, 60), st.integers(0, 99))


def asked(moment):
    """A history, the day it is asked about, and the instant by which things were known."""
    history, back, which = moment
    instants = [None, *history.instants]
    return history, history.last - timedelta(days=back), instants[which % len(instants)]


def code_of(history: History) -> str:
    return list(history.programme)[-1]


def slow_days(history, known_by, first, last):
    """The days from first to last on which the person may work alone, each as a stretch of its own."""
    slow, code, here, found = DayByDay(history.programme, history.person, known_by), code_of(history), first, []
    while here <= last:
        found += [(here, here + DAY)] if slow.answer(code, here)[0].is_usable else []
        here += DAY
    return tuple(found)


def fast_runs(history, known_by):
    return usable_runs(timelines(history.programme, history.person, known_by=known_by)[code_of(history)].spans)


@thorough
@given(moments)
def test_coverage_on_the_timelines_is_the_coverage_of_every_day_asked_by_itself(moment):
    history, today, known_by = asked(moment)
    week = frozenset(range(7))
    fast = Staff("me", week, usable={"P": fast_runs(history, known_by)})
    plain = Staff("me", week, usable={"P": slow_days(history, known_by, history.first, today + SPAN * DAY)})
    (duty,) = coverage([fast], {"P": 1}, today, days=SPAN)
    slow = Slow([plain], "P", 1, ())
    assert [(list(d.usable), list(d.lost), d.short) for d in duty.days] == [
        (slow.usable(d.day), slow.lost(d.day), slow.short(d.day)) for d in duty.days
    ]


@thorough
@given(moments, st.integers(-3, 30))
def test_training_is_overdue_exactly_while_no_day_by_day_reading_finds_the_person_usable(moment, due):
    history, today, known_by = asked(moment)
    first, ask = today - 30 * DAY, [Ask(today - 30 * DAY, None, today - timedelta(days=due))]
    row = EverRequired("me", "me", "P", "P", ask, fast_runs(history, known_by))
    plain = EverRequired("me", "me", "P", "P", ask, slow_days(history, known_by, first - 10 * DAY, today + SPAN * DAY))
    found = [one for one in training_overdue([row]) if one.first <= today]
    spans = {
        (("me", "P"), one.since, one.first, one.after if one.after and one.after <= today else None) for one in found
    }
    assert spans == slow_findings.by_day(lambda day: slow_findings.overdue_training([plain], day), first, today)


@thorough
@given(moments)
def test_a_signature_while_not_usable_is_found_for_the_days_of_the_slow_reading(moment):
    history, _, known_by = asked(moment)
    days = sorted({fact.day for fact in history.facts})
    runs, plain = (
        fast_runs(history, known_by),
        {first for first, _ in slow_days(history, known_by, days[0], days[-1])} if days else set(),
    )
    rows = [
        JudgedSignature(
            day.isoformat(),
            day,
            "Ada",
            "a",
            "me",
            "me",
            "P",
            True,
            any(a <= day and (z is None or day < z) for a, z in runs),
        )
        for day in days
    ]
    assert [one.since for one in wrong_signatures(rows)] == [day for day in days if day not in plain]
