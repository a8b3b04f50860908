"""Cover of a duty: small rules. Random sites stand in test_coverage_against_slow."""

from dataclasses import replace
from datetime import date, timedelta

from training.rules.coverage import DutyCoverage, DutyDay, Repair, Staff, coverage

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


def test_someone_with_nothing_to_do_with_a_duty_is_simply_not_there():
    (duty,) = coverage([Staff("Cy", WEEK), Staff("Di", WEEK, ready_by={"P07": day(3)})], {"P07": 1}, MONDAY, days=1)
    assert duty == DutyCoverage("P07", (DutyDay(MONDAY, (), 1, (), ()),), Repair("Di", day(3)))


def test_who_is_usable_already_repairs_nothing_and_a_stretch_of_no_day_is_no_loss():
    anna, bo = staff("Anna", (day(-9), None), ready_by={"P07": day(0)}), staff("Bo", (day(0), day(0)))
    (duty,) = coverage([anna, replace(bo, ready_by={"P07": day(8)})], {"P07": 2}, MONDAY, days=1)
    assert duty == DutyCoverage("P07", (DutyDay(MONDAY, ("Anna",), 2, (), ()),), Repair("Bo", day(8)))


def test_ninety_days_are_looked_at_unless_said_otherwise():
    (duty,) = coverage([Staff("Cy", frozenset(range(7)))], {"P07": 0}, MONDAY)
    assert [found.day for found in duty.days] == [day(number) for number in range(90)]
