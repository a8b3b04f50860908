"""The fast timelines say, on every day, what the slow reading of the rules says. MILLROOM_EXAMPLES asks for more."""

from datetime import date, datetime, timedelta

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from clinic.rules.spans import on
from tests.rules.amount import examples
from tests.rules.histories import History, histories
from tests.rules.slow_standing import DayByDay
from training.rules.facts import Evidence
from training.rules.standing import timelines

thorough = settings(max_examples=examples(200), deadline=None, suppress_health_check=list(HealthCheck))


def fast_on(standings, code: str, day: date) -> tuple:
    span = next(s for s in standings[code].spans if s.first <= day and (s.after is None or day < s.after))
    evidence = on(standings[code].evidence, day)
    return span.state, span.basis, evidence.state if evidence else Evidence.NONE, span.ends_on, span.ends_because


def disagreements(history: History, known_by: datetime | None) -> list[tuple]:
    """Every day from before the first version until nothing changes any more, and one far behind that."""
    slow = DayByDay(history.programme, history.person, known_by)
    fast = timelines(history.programme, history.person, known_by=known_by)
    last = slow.settled() + timedelta(days=3)
    days = [history.first + timedelta(days=n) for n in range(-3, (last - history.first).days)]
    found = []
    for day in [*days, last + timedelta(days=3000)]:
        for code in history.programme:
            says, should = fast_on(fast, code, day), slow.answer(code, day)
            found += [(code, day.isoformat(), says, should)] if says != should else []
    return found


@thorough
@given(histories())
def test_every_day_agrees_with_the_slow_reading(history: History):
    assert disagreements(history, None)[:3] == []


@thorough
@given(histories(), st.data())
def test_every_day_agrees_as_known_by_an_instant(history: History, data: st.DataObject):
    instant = data.draw(st.sampled_from(history.instants)) - timedelta(seconds=data.draw(st.integers(0, 1)))
    assert disagreements(history, instant)[:3] == []
