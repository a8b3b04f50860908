"""Two people of one name who watched and signed: pages and papers say which of them, though the other came only afterwards."""

from typing import Any

import pytest

from clinic import clock
from clinic.actions.people import change_person
from clinic.models import Person
from clinic.rules.words import name_then
from tests.cast import Member
from tests.training.bench import Bench, at, proved
from tests.training.test_certificates import issued
from training.actions.signing import sign_off, withdraw
from training.models import SignOff
from training.reads.binder.asked import BinderAsked
from training.reads.binder.gather import gather_binder
from training.reads.certificate import content_from
from training.reads.ground import sign_page

pytestmark = pytest.mark.django_db
FIRST, SECOND = "Ines Pellow (0007)", "Ines Pellow (0042)"


def numbered(bench: Bench) -> None:
    """The supervisor has a number, as everybody of a practice with numbers."""
    renamed(bench, bench.cast.supervisor, number="0007")


def namesake(bench: Bench) -> None:
    """The second supervisor takes the name of the first: by marriage, say."""
    renamed(bench, bench.cast.second, "Ines", "Pellow", "0042")


def renamed(bench: Bench, who: Member, given: str = "", family: str = "", number: str = "") -> None:
    person = Person.objects.get(pk=who.person.pk)
    person.given_name, person.family_name = given or person.given_name, family or person.family_name
    person.staff_number = number
    with at(3, 9):
        change_person(person, by=bench.cast.coordinator.person)


def anew(member: Member) -> Person:
    return Person.objects.get(pk=member.person.pk)


def watched_by_both(bench: Bench) -> SignOff:
    """Seen by each of the two, and signed by the second."""
    first, second = anew(bench.cast.supervisor), anew(bench.cast.second)
    bench.seen(4, observer=first)
    bench.seen(5, observer=second)
    who = bench.cast.assistant.person
    with at(6):
        page = sign_page(who, bench.procedure, second, bench.cast.lane, clock.today("Europe/London"))
        return sign_off(who, bench.procedure, second, site=bench.cast.lane, proved=proved(), statement=page.statement)


def binder(bench: Bench) -> Any:
    with at(8):
        day = clock.today("Europe/London")
        return gather_binder(BinderAsked(bench.cast.lane, day.replace(day=1), day, day), lambda *tell: None)


def test_a_certificate_watched_by_both_names_each_by_number(bench: Bench) -> None:
    numbered(bench)
    namesake(bench)
    content = content_from(issued(watched_by_both(bench)).frozen)
    names = [words.split(",")[0] for words in content.watched_by]
    assert names == [FIRST, SECOND] and content.signer == SECOND


def test_a_binder_says_which_of_them_signed_whom(bench: Bench) -> None:
    numbered(bench)
    namesake(bench)
    watched_by_both(bench)
    content = binder(bench)
    assert [(row.signer, row.person) for row in content.signed] == [(SECOND, "Wren Adeyemi")]
    (record,) = [person for person in content.people if person.name == "Wren Adeyemi"]
    assert [row.signer for row in record.sign_offs] == [SECOND]
    assert [row.watched_by for row in record.observations] == [FIRST, SECOND]


@pytest.mark.parametrize("way", ["sign-off", "withdrawal"])
def test_who_came_to_be_called_so_afterwards_is_not_taken_for_who_signed(
    bench: Bench, way: str, signed_in: Any
) -> None:
    """The name that stands in the signature is of that day, when nobody else was called so."""
    numbered(bench)
    signed = bench.signed()
    assert signed.signer_name == "Ines Pellow"
    if way == "withdrawal":
        with at(7):
            withdraw(
                signed.person, bench.procedure, "A chip was left.", site=bench.cast.lane, by=anew(bench.cast.supervisor),
                proved=proved(),
            )  # fmt: skip
    namesake(bench)
    (record,) = [person for person in binder(bench).people if person.name == "Wren Adeyemi"]
    assert {row.signer for row in record.sign_offs} == {FIRST}
    person = f"/millbrook-lane/people/{signed.person_id}/"
    pages = {"sign-off": [f"/millbrook-lane/signed/{signed.pk}/", person], "withdrawal": [person]}[way]
    with at(8):
        for page in pages:
            assert FIRST in signed_in(bench.cast.coordinator).get(page).content.decode(), page


def test_the_number_is_added_once() -> None:
    now = ("Ines", "Pellow")
    assert name_then("Ines Pellow", *now, "0007", False) == "Ines Pellow"
    assert name_then("Ines Pellow", *now, "0007", True) == FIRST
    assert name_then("Ines Pellow (0007)", *now, "0007", True) == FIRST
    assert name_then("Ines Pellow", *now, "", True) == "Ines Pellow (no staff number)"


def test_a_bracket_in_the_name_itself_is_no_number() -> None:
    now = ("Ines", "Pellow (Brandt)")
    assert name_then("Ines Pellow (Brandt)", *now, "0007", True) == "Ines Pellow (Brandt) (0007)"
    assert name_then("Ines Pellow (Brandt) (0007)", *now, "0007", True) == "Ines Pellow (Brandt) (0007)"
