"""What must hold of standing whatever the history is."""

from bisect import bisect_right
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from clinic.rules.spans import on
from tests.rules.amount import examples
from tests.rules.histories import STEPS, History, histories
from tests.rules.slow_standing import DayByDay
from training.rules.facts import (
    CarriedOver,
    DidUpkeep,
    Evidence,
    Fact,
    Founded,
    Method,
    MethodQuota,
    Observed,
    Outcome,
    PersonFacts,
    Policy,
    ProcedureFacts,
    Signed,
    State,
    TaughtCountable,
    VersionFact,
    Void,
    WatchedOthers,
    Withdrawn,
)
from training.rules.standing import Standing, timelines

often = settings(max_examples=examples(100), deadline=None, suppress_health_check=list(HealthCheck))
LATER = datetime(2035, 1, 1, tzinfo=UTC)


def told(standing: Standing, day: date) -> tuple:
    """State, basis and evidence on the day."""
    span = standing.spans[bisect_right(standing.spans, day, key=lambda s: s.first) - 1]
    evidence = on(standing.evidence, day)
    return span.state, span.basis, evidence.state if evidence else Evidence.NONE


def days_of(history: History) -> list[date]:
    """Every day of the history, and a good year of what follows if nothing more is recorded."""
    return [history.first + timedelta(days=n) for n in range(-2, (history.last - history.first).days + 400)]


def answers(history: History, code: str, days: list[date]) -> list[tuple]:
    standing = timelines(history.programme, history.person)[code]
    return [told(standing, day) for day in days]


def all_spans(history: History, known_by: datetime | None = None) -> dict[str, tuple]:
    found = timelines(history.programme, history.person, known_by=known_by)
    return {code: (standing.spans, standing.evidence) for code, standing in found.items()}


def changed_policy(history: History, code: str, change) -> History:
    """The same history under a policy changed in every version of the procedure."""
    procedure = history.programme[code]
    versions = tuple(replace(v, policy=change(v.policy)) for v in procedure.versions)
    return replace(history, programme=history.programme | {code: replace(procedure, versions=versions)})


def without(history: History, code: str, *kinds: type[Fact]) -> History:
    """The same history with no such facts in the procedure, and nothing that corrects them."""
    rows = tuple(f for f in history.person.by_procedure[code] if not isinstance(f, kinds))
    return history.with_facts(history.person.by_procedure | {code: rows})


@st.composite
def any_fact(draw: st.DrawFn, procedure: ProcedureFacts, day: date) -> Fact:
    common = {"id": "new", "day": day, "recorded_at": LATER, "at": draw(st.sampled_from([None, time(7), time(23)]))}
    version = max(v.number for v in procedure.versions if v.in_force_from <= day)
    kinds = [
        Withdrawn(**common),
        WatchedOthers(**common),
        DidUpkeep(**common),
        Signed(**common, version=version),
        TaughtCountable(**common, version=version),
        Founded(**common, valid_until=day + timedelta(days=90)),
        CarriedOver(**common, original_day=day - timedelta(days=300), valid_until=day + timedelta(days=90)),
        Observed(**common, version=version, assessment=True, method=Method.REAL, outcome=Outcome.MET),
        Observed(
            **common, version=version, assessment=True, method=Method.TALK, outcome=Outcome.NOT_MET, critical_miss=True
        ),
    ]
    return draw(st.sampled_from(kinds))


@often
@given(histories(), st.data())
def test_a_later_fact_never_changes_an_earlier_day(history: History, data: st.DataObject):
    code = data.draw(st.sampled_from(sorted(history.programme)))
    begins = history.programme[code].versions[0].in_force_from
    day = data.draw(st.dates(begins, max(begins, history.last)))
    fact = data.draw(any_fact(history.programme[code], day))
    rows = history.person.by_procedure
    more = history.with_facts(rows | {code: (*rows[code], fact)})
    before = [d for d in days_of(history) if d < day]
    assert [answers(more, c, before) for c in history.programme] == [
        answers(history, c, before) for c in history.programme
    ]


@often
@given(histories())
def test_spans_touch_cover_and_differ_from_their_neighbours(history: History):
    for standing in timelines(history.programme, history.person).values():
        for spans in (standing.spans, standing.evidence):
            assert spans[-1].after is None
            assert all(one.first < one.after == two.first for one, two in pairwise(spans))
        said = [(s.state, s.basis, s.cause) for s in standing.spans]
        assert all(one != two for one, two in pairwise(said))


@often
@given(histories())
def test_voiding_every_fact_leaves_everyone_untrained(history: History):
    voids = {
        code: tuple(Void(id=f"void {f.id}", day=f.day, recorded_at=LATER, corrects=f.id) for f in rows)
        for code, rows in history.person.by_procedure.items()
    }
    rows = {code: (*rows, *voids[code]) for code, rows in history.person.by_procedure.items()}
    for standing in timelines(history.programme, history.with_facts(rows).person).values():
        assert {span.state for span in standing.spans} == {State.UNTRAINED}
        assert {span.state for span in standing.evidence} == {Evidence.NONE}


@often
@given(histories(), st.data())
def test_the_order_of_recording_never_matters_for_facts_with_times_of_their_own(history: History, data: st.DataObject):
    """Corrections left out, for they take a place in an order; each fact gets a minute of the day that no other has."""
    plain = [f for f in history.facts if f.corrects is None]
    timed = {f.id: replace(f, at=time(n // 60, n % 60)) for n, f in enumerate(plain)}
    instants = data.draw(st.permutations([f.recorded_at for f in plain]))
    again = {f.id: replace(timed[f.id], recorded_at=at) for f, at in zip(plain, instants, strict=True)}

    def chosen(which: dict[str, Fact]) -> History:
        rows = history.person.by_procedure
        return history.with_facts({code: tuple(which[f.id] for f in fs if f.id in which) for code, fs in rows.items()})

    assert all_spans(chosen(again)) == all_spans(chosen(timed))


@often
@given(histories(), st.randoms(use_true_random=False))
def test_the_order_in_which_facts_are_handed_over_never_matters(history: History, random):
    rows = {code: tuple(random.sample(rows, len(rows))) for code, rows in history.person.by_procedure.items()}
    assert all_spans(history.with_facts(rows)) == all_spans(history)


@often
@given(histories(), st.data())
def test_known_by_an_instant_is_a_register_in_which_nothing_later_was_recorded(history: History, data: st.DataObject):
    instant = data.draw(st.sampled_from(history.instants))
    rows = history.person.by_procedure
    then = history.with_facts({c: tuple(f for f in fs if f.recorded_at <= instant) for c, fs in rows.items()})
    cut = replace(then, programme=programme_known(history, instant))
    assert all_spans(cut) == all_spans(history, known_by=instant)


def programme_known(history: History, instant: datetime) -> dict[str, ProcedureFacts]:
    return {
        code: replace(
            procedure,
            versions=tuple(v for v in procedure.versions if v.approved_at <= instant),
            retired_on=procedure.retired_on if (procedure.retired_recorded_at or LATER) <= instant else None,
        )
        for code, procedure in history.programme.items()
    }


ASKS_MORE_EVIDENCE = {
    "one more assessment": lambda p: replace(p, needed=p.needed + 1),
    "another day": lambda p: replace(p, distinct_days=p.distinct_days + 1),
    "another supervisor": lambda p: replace(p, distinct_supervisors=p.distinct_supervisors + 1),
    "the check": lambda p: replace(p, check_asked=True),
    "one by talk": lambda p: replace(p, by_method=(*p.by_method, MethodQuota(frozenset({Method.TALK}), 1))),
    "real work only": lambda p: replace(p, methods=p.methods & {Method.REAL}),
    "a shorter window": lambda p: replace(p, window_days=p.window_days // 2),
    "another prerequisite": lambda p: replace(p, prerequisites=(*p.prerequisites, "P1")),
}


@often
@given(histories(), st.sampled_from(sorted(ASKS_MORE_EVIDENCE)))
def test_a_policy_that_asks_more_never_makes_anybody_ready_earlier(history: History, more: str):
    code = max(history.programme)
    if code == "P1" and more == "another prerequisite":
        return
    never_signed = without(history, code, Signed, TaughtCountable, Founded, CarriedOver)
    days = days_of(never_signed)
    stricter = answers(changed_policy(never_signed, code, ASKS_MORE_EVIDENCE[more]), code, days)
    looser = answers(never_signed, code, days)
    assert all(
        was[2] is Evidence.ENOUGH for now, was in zip(stricter, looser, strict=True) if now[2] is Evidence.ENOUGH
    )


@often
@given(histories(), st.booleans())
def test_more_prerequisites_or_less_grace_never_make_anybody_usable(history: History, prerequisite: bool):
    """Without upkeep entries, whose counting for the idle limit depends on being usable."""
    code, days = max(history.programme), days_of(history)
    plain = without(history, code, DidUpkeep)
    more = ASKS_MORE_EVIDENCE["another prerequisite"] if prerequisite and code != "P1" else no_grace
    stricter, looser = answers(changed_policy(plain, code, more), code, days), answers(plain, code, days)
    assert all(was[0].is_usable for now, was in zip(stricter, looser, strict=True) if now[0].is_usable)


def no_grace(policy: Policy) -> Policy:
    return replace(policy, grace_days=0)


# ---- the worked examples of the rules, held against the slow reading too, so that it is not merely agreed with


def one_procedure(policy: Policy, *facts: Fact) -> DayByDay:
    approved = datetime(2025, 1, 1, tzinfo=UTC)
    version = VersionFact("P1", 1, date(2025, 1, 2), approved, policy, frozenset(STEPS[:0]))
    return DayByDay({"P1": ProcedureFacts("P1", (version,))}, PersonFacts("me", {"P1": facts}))


def signed(*days: date) -> list[Fact]:
    return [Signed(id=f"{day}", day=day, recorded_at=LATER, version=1) for day in days]


def test_six_months_in_the_first_year_then_twelve():
    """15 Jan 2026, renewed on time: valid until 15 Jul 2026, 15 Jan 2027, 15 Jan 2028."""
    days = date(2026, 1, 15), date(2026, 7, 10), date(2027, 1, 15)
    slow = one_procedure(Policy(renewal_months=12, first_year_months=6), *signed(*days))
    ends = [slow.valid_until("P1", slow.facts("P1"), n) for n in range(3)]
    assert ends == [date(2026, 7, 15), date(2027, 1, 15), date(2028, 1, 15)]


def test_idle_after_183_days():
    """10 Jan + 183: good on 12 Jul, lapsed on 13 Jul."""
    slow = one_procedure(Policy(idle_days=183), *signed(date(2026, 1, 10)))
    assert slow.on("P1", date(2026, 7, 12))[0] is State.CURRENT
    assert slow.on("P1", date(2026, 7, 13))[0] is State.LAPSED
