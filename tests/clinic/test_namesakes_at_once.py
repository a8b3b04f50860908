"""Two people of one name who are entered, or renamed so, at the same instant, on whichever database the run uses."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from django.db import connection

from clinic.actions.people import change_person, hire
from clinic.models import Person
from clinic.record import Refused
from clinic.seals import check_register
from tests.cast import Cast, enter_practice

pytestmark = pytest.mark.usefixtures("free_database")


@pytest.fixture
def practice(free_database: None) -> Cast:
    return enter_practice()


def at_once(*acts: Callable[[], object]) -> int:
    """How many were refused of those that began together."""
    barrier = Barrier(len(acts))

    def one(act: Callable[[], object]) -> bool:
        try:
            barrier.wait(30)
            act()
        except Refused as refused:
            assert "Somebody else of this practice is called" in str(refused)
            return True
        finally:
            connection.close()
        return False

    with ThreadPoolExecutor(len(acts)) as pool:
        return sum(pool.map(one, acts))


def lark(cast: Cast, number: str = "", given: str = "Orla") -> Person:
    return Person(
        organisation=cast.organisation, home_site=cast.lane, given_name=given, family_name="Lark", staff_number=number
    )


def printed() -> list[str]:
    return sorted(person.printed_name for person in Person.objects.filter(family_name="Lark"))


def test_of_four_without_a_number_one_is_entered(practice: Cast) -> None:
    by = practice.coordinator.person
    assert at_once(*[lambda: hire(lark(practice), by=by)] * 4) == 3
    assert printed() == ["Orla Lark"] and check_register() == []


def test_of_four_with_numbers_each_is_told_apart(practice: Cast) -> None:
    by = practice.coordinator.person
    assert at_once(*[lambda n=n: hire(lark(practice, f"7{n}"), by=by) for n in range(4)]) == 0
    assert printed() == [f"Orla Lark (7{n})" for n in range(4)] and check_register() == []


def test_of_two_who_are_renamed_alike_one_is(practice: Cast) -> None:
    by = practice.coordinator.person
    both = [hire(lark(practice, given=given), by=by) for given in ("Orla", "Oona")]
    for person in both:
        person.given_name = "Owena"
    assert at_once(*[lambda who=who: change_person(who, by=by) for who in both]) == 1
    assert sum(name == "Owena Lark" for name in printed()) == 1 and check_register() == []
