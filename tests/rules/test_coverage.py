"""Cover of a duty: small rules, and every day against a count over sets of days."""

from datetime import date, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from training.rules.coverage import Repair, Staff, coverage

MONDAY = date(2026, 3, 2)
WEEK = frozenset(range(5))


def day(number: int) -> date:
    return MONDAY + timedelta(days=number)


def staff(name: str, *usable, **more) -> Staff:
    return Staff(name, WEEK, usable={"P07": usable}, may_sign={"P07": more.pop("sign", ())}, **more)


def test_a_lapse_names_the_person_and_the_last_good_day():
    anna, bo = staff("Anna", (day(-9), day(2))), staff("Bo", (day(-9), None))
    (duty,) = coverage([anna, bo], {"P07": 2}, MONDAY, days=5)
    assert [found.day for found in duty.short_days] == [day(2), day(3), day(4)]
    assert duty.short_days[0].lost == (("Anna", day(1)),)


def test_a_day_on_which_all_are_away_is_short_and_a_closed_day_is_none():
    anna = staff("Anna", (day(-9), None), absences=((day(1), day(2)),))
    (duty,) = coverage([anna], {"P07": 1}, MONDAY, days=7, closed=((day(3), day(4)),))
    assert [found.day for found in duty.days] == [day(0), day(1), day(2), day(4)]
    assert [found.day for found in duty.short_days] == [day(1)]


def test_nobody_at_work_who_can_sign_is_named_by_its_days():
    (duty,) = coverage([staff("Anna", sign=((day(1), None),))], {"P07": 0}, MONDAY, days=3)
    assert duty.unsigned_days == (day(0),)


def test_the_training_that_repairs_it_soonest_is_named():
    people = [staff("Anna", ready_by={"P07": day(9)}), staff("Bo", ready_by={"P07": day(4)}), staff("Cy")]
    assert coverage(people, {"P07": 1}, MONDAY, days=5)[0].repair == Repair("Bo", day(4))


stretches = st.lists(st.tuples(st.integers(-5, 20), st.integers(0, 15)), max_size=3)


def spans(pairs):
    return tuple((day(first), day(first + length)) for first, length in pairs)


def as_set(pairs) -> set[date]:
    return {day(first + n) for first, length in pairs for n in range(length)}


@settings(max_examples=200, deadline=None)
@given(st.lists(st.tuples(st.frozensets(st.integers(0, 6)), stretches, stretches, stretches), max_size=4), stretches)
def test_every_day_agrees_with_sets_of_days(people, shut):
    team = [
        Staff(str(n), weekdays, spans(away), {"P": spans(able)}, {"P": spans(sign)})
        for n, (weekdays, away, able, sign) in enumerate(people)
    ]
    (duty,) = coverage(team, {"P": 1}, MONDAY, days=30, closed=spans(shut))
    found = {each.day: (set(each.usable), set(each.signers)) for each in duty.days}
    should = {}
    for today in sorted({day(n) for n in range(30)} - as_set(shut)):
        rostered = {n for n, person in enumerate(people) if today.weekday() in person[0]}
        here = {n for n in rostered if today not in as_set(people[n][1])}
        if rostered:
            should[today] = tuple({str(n) for n in here if today in as_set(people[n][which])} for which in (2, 3))
    assert found == should
