"""A name that papers cannot print is refused where it is entered; every script that the type has is taken as it is."""

from typing import Any
from uuid import uuid4

import pytest

from clinic.actions.people import change_person, enter_equipment, enter_witness, hire, job_role
from clinic.actions.sites import open_site
from clinic.lettering import against_names
from clinic.models import (
    ChemicalListed,
    Equipment,
    EquipmentKind,
    Fact,
    KeptElsewhere,
    Organisation,
    OutsideWitness,
    Person,
    Site,
    SiteFact,
    SiteFactValue,
)
from clinic.record import Refused, record
from clinic.rules.letters import letters, not_printed, printed_otherwise
from tests.cast import REGISTER_START, Cast
from training.documents.fonts import has_glyph

OTHER_SCRIPTS = ["李小龍", "שרה", "عمر", "ゆき", "Nell 😀"]


@pytest.mark.parametrize(
    "name", ["Zoë Ångström-Łuczak", "Nguyễn Thị Ánh", "Ελένη", "Ольга Ћ", "O’Brien", "Zo\u0065\u0308"]
)
def test_latin_greek_cyrillic_and_vietnamese_names_are_taken(name: str) -> None:
    assert not_printed(name) == []


@pytest.mark.parametrize("name", OTHER_SCRIPTS)
def test_what_the_type_lacks_is_named(name: str) -> None:
    missing = not_printed(name)
    assert missing and set(missing) <= set(name)


def test_the_papers_draw_exactly_these_letters() -> None:
    plane = [chr(code) for code in range(0x20, 0xFFFE) if not 0xD800 <= code < 0xE000]
    assert [each for each in plane if has_glyph(each) != (ord(each) in letters())] == []


@pytest.mark.django_db
@pytest.mark.parametrize("name", OTHER_SCRIPTS)
def test_nobody_is_entered_or_renamed_under_it(cast: Cast, name: str) -> None:
    new = Person(organisation=cast.organisation, home_site=cast.lane, given_name=name, family_name="Lark")
    with pytest.raises(Refused, match="The type of the papers lacks"):
        hire(new, by=cast.coordinator.person)
    with pytest.raises(Refused, match="The type of the papers lacks"):
        cast.assistant.person.family_name = name
        change_person(cast.assistant.person, by=cast.coordinator.person)
    assert Person.objects.get(pk=cast.assistant.person.pk).family_name == "Adeyemi"


@pytest.mark.django_db
def test_neither_is_a_unit_a_witness_a_job_role_or_a_site(cast: Cast) -> None:
    by, kind = cast.coordinator.person, EquipmentKind.MILLING_UNIT
    unit = Equipment(site=cast.lane, kind=kind, label="机", in_service_from=REGISTER_START)
    witness = OutsideWitness(organisation=cast.organisation, printed_name="李", comes_from="Elsewhere")
    judge = OutsideWitness(
        organisation=cast.organisation, printed_name="Li", qualification="牙医", comes_from="Elsewhere"
    )
    site = Site(organisation=Organisation(name="诊所"), name="诊所", code="other", register_start=REGISTER_START)
    for act in (
        lambda: enter_equipment(unit, by=by),
        lambda: enter_witness(witness, at=cast.lane, by=by),
        lambda: enter_witness(judge, at=cast.lane, by=by),
        lambda: job_role(cast.organisation, "助手", at=cast.lane, by=by),
        lambda: open_site(site, by=None),
    ):
        with pytest.raises(Refused, match="The type of the papers lacks"):
            act()


@pytest.mark.django_db
def test_the_form_names_the_letters_and_keeps_what_was_typed(cast: Cast, signed_in: Any) -> None:
    said = {"submission": uuid4(), "given_name": "李", "family_name": "Lark", "job_role": "Dental assistant"}
    html = signed_in(cast.coordinator).post("/millbrook-lane/people/roster/new/", said).content.decode()
    assert "The type of the papers lacks “李”." in html and 'value="Lark"' in html


@pytest.mark.django_db
def test_a_name_entered_before_hinders_no_other_change(cast: Cast) -> None:
    Person.objects.filter(pk=cast.assistant.person.pk).update(given_name="李")
    cast.assistant.person.refresh_from_db()
    cast.assistant.person.language = "Welsh"
    change_person(cast.assistant.person, by=cast.coordinator.person)
    assert list(against_names(cast.assistant.person))


def product(cast: Cast) -> Fact:
    return ChemicalListed(product="消毒剂", place="shelf 2")


def keeper(cast: Cast) -> Fact:
    return KeptElsewhere(what="Vaccination records", place="office", keeper="שרה")


def answer(cast: Cast) -> Fact:
    asked = SiteFact.objects.create(name="bowl", of="site", ask="Which bowl is for blood?", question=1)
    return SiteFactValue(site_fact=asked, value="the bowl 😀")


@pytest.mark.django_db
@pytest.mark.parametrize("made", [product, keeper, answer])
def test_what_a_fact_names_is_in_letters_that_papers_print(cast: Cast, made: Any) -> None:
    fact = made(cast)
    fact.site, fact.happened_on = cast.lane, REGISTER_START
    with pytest.raises(Refused, match="The type of the papers lacks") as refused:
        record(fact, by=cast.owner.person)
    assert refused.value.refusals[0].field in fact.printed_names()


def test_free_words_are_counted_by_a_paper_with_the_letters_that_it_lacks() -> None:
    assert printed_otherwise(["Zoë", "wiped twice"]) == ""
    assert printed_otherwise(["wiped 两次"]).startswith(
        "One entry holds letters that the type of this paper lacks (“两”, “次”)."
    )
    assert printed_otherwise(["好", "好", "plain"]).startswith("2 entries hold")
