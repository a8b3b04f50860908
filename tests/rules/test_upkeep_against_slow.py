"""The fast upkeep timeline says, on every day, what counting day by day says. MILLROOM_EXAMPLES asks for more."""

from datetime import UTC, date, datetime, timedelta
from itertools import pairwise

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from clinic.rules.spans import on
from clinic.rules.upkeep import upkeep_timeline
from clinic.rules.upkeep_facts import Entry, EquipmentLife, Pause, PauseReason, TaskRule, Use
from clinic.rules.upkeep_shares import units_since
from tests.rules import slow_upkeep
from tests.rules.amount import examples

thorough = settings(max_examples=examples(200), deadline=None, suppress_health_check=list(HealthCheck))
START = date(2026, 2, 20)
INSTANT = datetime(2026, 1, 1, tzinfo=UTC)


def day(number: int) -> date:
    return START + timedelta(days=number)


task_rules = st.builds(
    TaskRule,
    code=st.just("U"),
    every_days=st.none() | st.integers(1, 12),
    every_units=st.none() | st.integers(1, 20),
    warn_days=st.integers(0, 5),
    plan_units=st.none() | st.integers(1, 20),
    only_a_pass=st.booleans(),
)
offsets = st.integers(-3, 45)


@st.composite
def facts(draw, kind, prefix: str, **fields):
    """Facts of one kind, some of which correct or void an earlier one."""
    out = []
    for n in range(draw(st.integers(0, 6))):
        first = day(draw(offsets))
        more = {name: draw(values) for name, values in fields.items() if name != "days"}
        if "days" in fields:
            length = draw(fields["days"])
            more["after"] = first + timedelta(days=length) if length is not None else None
        corrects = draw(st.none() | st.sampled_from(out)) if out else None
        voiding = corrects is not None and draw(st.booleans())
        at = INSTANT + timedelta(hours=draw(st.integers(0, 20)))
        named = corrects.id if corrects else None
        out.append(kind(id=f"{prefix}{n}", day=first, recorded_at=at, corrects=named, plain_voiding=voiding, **more))
    return tuple(out)


lives = st.builds(
    EquipmentLife,
    in_service_from=st.just(START),
    in_service_to=st.none() | st.integers(5, 50).map(day),
    opening_last_done=st.none() | st.integers(-10, 8).map(day),
    opening_units=st.integers(0, 22),
)
dated = st.lists(st.tuples(st.integers(-5, 40).map(day), task_rules), min_size=1, max_size=3, unique_by=lambda r: r[0])
histories = st.tuples(
    dated.map(lambda rules: sorted(rules, key=lambda r: r[0])),
    lives.filter(lambda life: life.in_service_to is None or life.in_service_to >= life.first),
    facts(Entry, "e", passed=st.booleans()),
    facts(Use, "u", units=st.integers(1, 12)),
    facts(Pause, "p", days=st.none() | st.integers(0, 12), why=st.sampled_from(PauseReason)),
)


def disagreements(history, known_by):
    spans = upkeep_timeline(*history, known_by=known_by)
    for number in range(-15, 90):
        found = on(spans, day(number))
        says, should = found.state if found else None, slow_upkeep.state_on(*history, day(number), known_by)
        if says != should:
            yield day(number).isoformat(), says, should


@thorough
@given(histories)
def test_every_day_agrees_with_the_slow_reading(history):
    assert list(disagreements(history, None))[:3] == []


@thorough
@given(histories, st.integers(0, 20))
def test_every_day_agrees_as_known_by_an_instant(history, hours):
    assert list(disagreements(history, INSTANT + timedelta(hours=hours)))[:3] == []


@thorough
@given(histories)
def test_spans_touch_cover_the_life_and_grow_with_the_facts_only(history):
    rules, life, entries, uses, pauses = history
    spans = upkeep_timeline(*history)
    assert spans[0].first == life.first
    assert spans[-1].after == life.after
    assert all(one.after == two.first for one, two in pairwise(spans))
    assert len(spans) <= 4 * (1 + len(rules) + 2 * (len(entries) + len(uses) + len(pauses)))


@thorough
@given(histories, st.integers(0, 45))
def test_the_counter_of_a_task_is_the_use_since_it_was_last_done(history, number):
    _, life, entries, uses, _ = history
    today = day(number)
    entries_then, uses_then = (slow_upkeep.live(facts, None) for facts in (entries, uses))
    done = [e.day for e in entries_then if slow_upkeep.in_service(life, e.day) and e.day <= today]
    kept = [u for u in uses_then if slow_upkeep.in_service(life, u.day)]
    should = slow_upkeep.units(life, done, kept, max(done, default=life.first), today)
    assert units_since(life, entries, uses, today) == should
