"""Coverage says, on every day, what sets of days say. MILLROOM_EXAMPLES asks for more."""

from datetime import date, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.rules.amount import examples
from tests.rules.slow_coverage import Slow
from training.rules.coverage import Repair, Staff, coverage

thorough = settings(max_examples=examples(200), deadline=None)
MONDAY, DAYS = date(2026, 3, 2), 30


def day(number: int) -> date:
    return MONDAY + timedelta(days=number)


@st.composite
def stretches(draw):
    pairs = draw(st.lists(st.tuples(st.integers(-9, 25), st.none() | st.integers(0, 15)), max_size=3))
    return tuple((day(first), None if length is None else day(first + length)) for first, length in pairs)


@st.composite
def staff(draw, name: str) -> Staff:
    ready = draw(st.none() | st.integers(0, 40))
    return Staff(
        name,
        draw(st.frozensets(st.integers(0, 6))),
        draw(stretches()),
        {"P": draw(stretches())},
        {"P": draw(stretches())},
        {} if ready is None else {"P": day(ready)},
    )


teams = st.integers(0, 4).flatmap(lambda size: st.tuples(*(staff(name) for name in "abcd"[:size])))
sites = st.tuples(teams, st.integers(0, 3), stretches())


def both(site):
    people, minimum, closed = site
    (duty,) = coverage(people, {"P": minimum}, MONDAY, days=DAYS, closed=closed)
    return duty, Slow(list(people), "P", minimum, closed)


@thorough
@given(sites)
def test_the_working_days_are_those_of_somebodys_roster_on_which_the_site_is_open(site):
    duty, slow = both(site)
    assert [each.day for each in duty.days] == [day(n) for n in range(DAYS) if slow.is_working_day(day(n))]


@thorough
@given(sites)
def test_every_day_has_the_people_the_shortfall_and_the_lapses_of_the_slow_reading(site):
    duty, slow = both(site)
    for each in duty.days:
        found = (list(each.usable), list(each.signers), list(each.lost), each.short)
        assert found == (slow.usable(each.day), slow.signers(each.day), slow.lost(each.day), slow.short(each.day))


@thorough
@given(sites)
def test_the_soonest_repair_is_the_slow_readings(site):
    duty, slow = both(site)
    repair = slow.repair([day(n) for n in range(DAYS)])
    assert duty.repair == (Repair(*repair) if repair else None)
