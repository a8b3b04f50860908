"""Two people of one name are told apart wherever they stand, and neither can be entered without what tells them apart."""

from typing import Any
from uuid import uuid4

import pytest

from clinic.actions.people import change_person, hire
from clinic.models import Person
from clinic.record import Refused
from clinic.rules.words import printed_name
from clinic.seals import check_register
from tests.cast import Cast

pytestmark = pytest.mark.django_db


def another(cast: Cast, **columns: str) -> Person:
    """A person who is called as the assistant is."""
    first = cast.assistant.person
    named = {"given_name": first.given_name, "family_name": first.family_name, **columns}
    return Person(organisation=cast.organisation, home_site=cast.lane, **named)


def printed(person: Person) -> str:
    return Person.objects.get(pk=person.pk).printed_name


def test_the_staff_number_stands_beside_a_name_that_two_have() -> None:
    assert printed_name("Ines", "Farrow", "0042", False) == "Ines Farrow"
    assert printed_name("Ines", "Farrow", "0042", True) == "Ines Farrow (0042)"
    assert printed_name("Ines", "Farrow", "", True) == "Ines Farrow (no staff number)"


def test_a_namesake_is_entered_with_a_staff_number_only(cast: Cast) -> None:
    with pytest.raises(Refused, match="Somebody else of this practice is called"):
        hire(another(cast), by=cast.coordinator.person)
    second = hire(another(cast, staff_number="0042"), by=cast.coordinator.person)
    assert printed(second).endswith(" (0042)") and printed(cast.assistant.person).endswith(" (no staff number)")


def test_capitals_make_no_other_name(cast: Cast) -> None:
    with pytest.raises(Refused):
        hire(another(cast, family_name=cast.assistant.person.family_name.upper()), by=cast.coordinator.person)


def test_neither_do_capitals_that_no_database_knows(cast: Cast) -> None:
    first, second = (
        hire(another(cast, given_name=given, family_name=family, staff_number=number), by=cast.coordinator.person)
        for given, family, number in (("Łucja", "Ščasná", "7"), ("ŁUCJA", "ŠČASNÁ", "8"))
    )
    assert printed(first).endswith(" (7)") and printed(second).endswith(" (8)") and check_register() == []


def test_who_is_renamed_to_another_name_is_told_apart_no_longer(cast: Cast) -> None:
    second = hire(another(cast, staff_number="0042"), by=cast.coordinator.person)
    second.family_name = "Lark"
    change_person(second, by=cast.coordinator.person)
    assert "(" not in printed(second) + printed(cast.assistant.person)


def test_the_number_of_a_namesake_is_not_taken_away(cast: Cast) -> None:
    second = hire(another(cast, staff_number="0042"), by=cast.coordinator.person)
    second.staff_number = ""
    with pytest.raises(Refused, match="Somebody else of this practice is called"):
        change_person(second, by=cast.coordinator.person)


def test_two_who_were_entered_before_without_numbers_hinder_no_other_change(cast: Cast) -> None:
    second = hire(another(cast, family_name="Lark"), by=cast.coordinator.person)
    Person.objects.filter(pk=second.pk).update(family_name=cast.assistant.person.family_name)
    second.refresh_from_db()
    second.language = "Welsh"
    change_person(second, by=cast.coordinator.person)
    assert Person.objects.get(pk=second.pk).has_namesake


def test_the_form_asks_for_the_number_and_keeps_what_was_typed(cast: Cast, signed_in: Any) -> None:
    first = cast.assistant.person
    said = {
        "submission": uuid4(), "given_name": first.given_name, "family_name": first.family_name,
        "job_role": "Dental assistant", "from_day": "2 Mar 2026",
    }  # fmt: skip
    html = signed_in(cast.coordinator).post("/millbrook-lane/people/roster/new/", said).content.decode()
    assert "Write the staff number, which pages and papers" in html and f'value="{first.family_name}"' in html


@pytest.mark.parametrize("says", [True, False])
def test_the_check_of_the_record_works_it_out_anew(cast: Cast, says: bool) -> None:
    second = hire(another(cast, staff_number="0042"), by=cast.coordinator.person)
    Person.objects.filter(pk=(cast.supervisor.person if says else second).pk).update(has_namesake=says)
    broken = [each.says for each in check_register()]
    assert len(broken) == 1 and "said wrongly" in broken[0]
