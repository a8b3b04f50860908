"""Where work is said to change nothing, computing everything with it and without it comes to the same."""

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.rules.amount import examples
from tests.rules.histories import History, histories
from training.rules.facts import (
    DidUpkeep,
    Evidence,
    Fact,
    PersonFacts,
    Policy,
    ProcedureFacts,
    Signed,
    State,
    VersionFact,
    WatchedOthers,
)
from training.rules.order import live_facts
from training.rules.standing import timelines
from training.rules.work import Stood, has_idle_limit, may_change

often = settings(max_examples=examples(150), deadline=None, suppress_health_check=list(HealthCheck))
NEAR = [timedelta(days=days) for days in (0, 0, 0, 1, -1, 2, 7, 30)]
AT = (None, time(7), time(12), time(20))
Rows = dict[str, tuple[list[tuple[object, ...]], list[tuple[object, ...]]]]


def stored(programme: dict[str, ProcedureFacts], person: PersonFacts) -> Rows:
    """What is stored of a person: every stretch in which anything is known."""
    found = timelines(programme, person)
    return {
        code: (
            [
                (s.first, s.after, s.state, s.basis, s.cause, s.ends_on, s.ends_because, s.ends_by)
                for s in each.spans
                if s.state is not State.UNTRAINED
            ],
            [(s.first, s.after, s.state) for s in each.evidence if s.state is not Evidence.NONE],
        )
        for code, each in found.items()
    }


def stood_from(rows: Rows, code: str, day: date) -> list[Stood]:
    spans, _ = rows[code]
    return [Stood(s[0], s[2], s[4] or "") for s in spans if s[1] is None or s[1] > day]


def with_work(kind: type[Fact], person: PersonFacts, code: str, day: date, at: time | None) -> PersonFacts:
    """Logged later than all else was recorded."""
    work = kind(id="the work", day=day, at=at, recorded_at=datetime(2040, 1, 1, tzinfo=UTC))
    mine = {**person.by_procedure, code: (*person.by_procedure.get(code, ()), work)}
    return replace(person, by_procedure=mine)


def counts_already(person: PersonFacts, code: str, day: date) -> bool:
    live = live_facts(person.by_procedure.get(code, ()))
    return any(isinstance(fact, DidUpkeep) and fact.day == day for fact in live)


@often
@given(histories(), st.data())
def test_work_that_may_not_change_anything_changes_nothing(history: History, data: st.DataObject) -> None:
    code = data.draw(st.sampled_from(sorted(history.programme)))
    days = sorted({fact.day for fact in history.facts} | {history.first, history.last})
    before = stored(history.programme, history.person)
    days += [span[at] for span in before[code][0] for at in (0, 1) if span[at]]
    for _ in range(6):
        day = data.draw(st.sampled_from(days)) + data.draw(st.sampled_from(NEAR))
        stood, done = stood_from(before, code, day), counts_already(history.person, code, day)
        limit = has_idle_limit(history.programme[code])
        if not may_change(day, stood, has_limit=limit, done_already=done):
            kind = data.draw(st.sampled_from((DidUpkeep, WatchedOthers)))
            person = with_work(kind, history.person, code, day, data.draw(st.sampled_from(AT)))
            assert stored(history.programme, person) == before


FIRST, SIGNED_ON = date(2025, 1, 1), date(2025, 1, 6)
MORNING = datetime(2025, 1, 6, 8, tzinfo=UTC)
SIGNED = Signed(id="signed", day=SIGNED_ON, recorded_at=MORNING, version=1)
WORKED = DidUpkeep(id="worked", day=date(2025, 1, 20), recorded_at=MORNING)


def one(**asks: object) -> ProcedureFacts:
    version = VersionFact("P1", 1, FIRST, datetime(2024, 12, 1, tzinfo=UTC), Policy(**asks))  # type: ignore[arg-type]
    return ProcedureFacts("P1", (version,))


@pytest.mark.parametrize(
    ("asks", "facts", "day", "expected"),
    [
        pytest.param({}, (SIGNED,), date(2025, 1, 20), False, id="no idle limit"),
        pytest.param({"idle_days": 30}, (), date(2025, 1, 20), False, id="nothing signed"),
        pytest.param({"idle_days": 30}, (SIGNED,), date(2025, 1, 20), True, id="the first of the day"),
        pytest.param({"idle_days": 30}, (SIGNED, WORKED), date(2025, 1, 20), False, id="the second of the day"),
        pytest.param({"idle_days": 30}, (SIGNED, WORKED), date(2025, 1, 21), True, id="the day after"),
        pytest.param({"idle_days": 400}, (SIGNED,), date(2025, 1, 20), False, id="the calendar ends it first"),
        pytest.param({"idle_days": 30}, (SIGNED,), SIGNED_ON, True, id="the day of the signature"),
        pytest.param({"idle_days": 30}, (SIGNED,), date(2025, 1, 5), False, id="the day before the signature"),
    ],
)
def test_work_may_change_what_its_idle_days_end(
    asks: dict[str, object], facts: tuple[Signed | DidUpkeep, ...], day: date, expected: bool
) -> None:
    programme, person = {"P1": one(**asks)}, PersonFacts("me", {"P1": facts})
    stood = stood_from(stored(programme, person), "P1", day)
    limit, done = has_idle_limit(programme["P1"]), counts_already(person, "P1", day)
    assert may_change(day, stood, has_limit=limit, done_already=done) is expected


CURRENT, AGAIN = Stood(SIGNED_ON, State.CURRENT, "signed"), Stood(date(2025, 3, 1), State.CURRENT, "again")
HELD, LAPSED = (
    Stood(date(2025, 4, 1), State.ON_HOLD, "prerequisite:P2"),
    Stood(date(2025, 5, 1), State.LAPSED, "valid until"),
)
IDLE = LAPSED._replace(cause="idle")


@pytest.mark.parametrize(
    ("stood", "day", "done", "expected"),
    [
        pytest.param([CURRENT, LAPSED], date(2025, 2, 1), False, False, id="ends by the calendar"),
        pytest.param([CURRENT, HELD, LAPSED], date(2025, 2, 1), False, False, id="on hold, and ends by the calendar"),
        pytest.param([CURRENT, IDLE], date(2025, 2, 1), False, True, id="ends by standing idle"),
        pytest.param([CURRENT, IDLE], date(2025, 2, 1), True, False, id="ends by standing idle, counted already"),
        pytest.param([CURRENT, AGAIN, LAPSED], date(2025, 2, 1), False, True, id="signed again later"),
        pytest.param([CURRENT, HELD], date(2025, 2, 1), False, True, id="no end known"),
        pytest.param(
            [CURRENT, LAPSED._replace(state=State.WITHDRAWN)], date(2025, 2, 1), False, True, id="withdrawn later"
        ),
        pytest.param(
            [CURRENT, LAPSED._replace(state=State.WITHDRAWN), LAPSED], date(2025, 2, 1), False, True, id="and again"
        ),
        pytest.param([CURRENT, LAPSED], SIGNED_ON, True, True, id="the day of the signature"),
        pytest.param([HELD, LAPSED], date(2025, 4, 2), True, True, id="on hold that day"),
        pytest.param([LAPSED], date(2025, 5, 2), True, True, id="lapsed by that day"),
    ],
)
def test_what_stood_then_and_later_decides(stood: list[Stood], day: date, done: bool, expected: bool) -> None:
    """Where it is not certain that the work changes nothing, it may."""
    assert may_change(day, stood, has_limit=True, done_already=done) is expected


def test_a_state_that_began_on_that_day_may_be_named_after_the_work() -> None:
    began = [Stood(date(2025, 1, 3), State.LEARNING, "seen")]
    assert may_change(date(2025, 1, 3), began, has_limit=False, done_already=True)
    assert not may_change(date(2025, 1, 4), began, has_limit=True, done_already=False)
