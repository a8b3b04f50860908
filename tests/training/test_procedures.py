"""The list of procedures, its search, and one procedure to study from."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from clinic import clock
from clinic.models import SiteFact, SiteFactValue
from clinic.record import record
from tests.cast import REGISTER_START, Cast
from tests.training.bench import proof
from tests.training.teaching import give_authority, put_in_force
from training.models import InstructionsCheck, Procedure, Retirement, Signature, Version
from training.reads.library import makers
from training.rules.maker_wins import maker_wins

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def the_taught(the_cast: Cast, django_db_blocker: Any) -> Cast:
    with django_db_blocker.unblock():
        put_in_force(the_cast, "P01", "P02", "P03", "T01")
        give_authority(the_cast, "P01", "P02", "P03")
    return the_cast


@pytest.fixture
def taught(the_taught: Cast, cast: Cast) -> Cast:
    return cast


def page(client: Client, name: str, cast: Cast, query: str = "", **more: Any) -> str:
    answer = client.get(reverse(f"training:{name}", kwargs={"site": cast.lane.code, **more}) + query)
    assert answer.status_code == 200, answer.status_code
    return " ".join(answer.content.decode().split())


def answer_fact(cast: Cast, name: str, value: str, not_used: bool = False) -> SiteFactValue:
    fact = SiteFact.objects.get(name=name)
    unit = cast.unit if fact.of == "milling unit" else None
    row = SiteFactValue(
        site=cast.lane, happened_on=REGISTER_START, site_fact=fact, equipment=unit, value=value, not_used=not_used
    )
    return record(row, by=cast.supervisor.person)


def test_the_list_stands_by_area_and_says_what_is_in_force(taught: Cast, signed_in: Any) -> None:
    shown = page(signed_in(taught.assistant), "procedures", taught)
    assert "Tooling: " in shown and "Tool swap</a>" in shown
    assert "Version 1, in force since 6 January 2025 · not yet checked against the maker’s instructions" in shown
    assert "No: never signed, and no evidence yet." in shown


def test_papers_are_printed_for_the_unit_that_is_shown(taught: Cast, signed_in: Any) -> None:
    shown = page(signed_in(taught.assistant), "procedure", taught, f"?unit={taught.unit.pk}", code="P03")
    for paper in ("wall_card", "blank_checklist"):
        address = reverse(f"training:{paper}", kwargs={"site": taught.lane.code, "code": "P03"})
        assert f'href="{address}?unit={taught.unit.pk}"' in shown


def test_each_step_with_a_value_of_the_makers_says_once_that_the_maker_wins(taught: Cast, signed_in: Any) -> None:
    shown = page(signed_in(taught.assistant), "procedure", taught, code="P03")
    steps = Version.objects.get(procedure__code="P03").text.steps
    wins = [step for step in steps if maker_wins(step, makers())]
    assert 2 < len(wins) < len(steps) and shown.count("The maker’s instructions win.") == len(wins)


def test_drafts_are_listed_for_whoever_writes_or_approves_them(taught: Cast, signed_in: Any) -> None:
    assert '<h2 id="drafts">Drafts</h2>' in page(signed_in(taught.coordinator), "procedures", taught)
    assert '<h2 id="drafts">Drafts</h2>' not in page(signed_in(taught.assistant), "procedures", taught)


@pytest.mark.parametrize(
    ("words", "where"),
    [
        ("tool swap", "Title:"),
        ("everything stand still", "Step 2:"),
        ("NOT FOR LOOSENING", "Caution of step 6:"),
        ("fingertip bruise", None),
    ],
)
def test_searching_says_where_it_was_found(taught: Cast, signed_in: Any, words: str, where: str | None) -> None:
    shown = page(signed_in(taught.assistant), "procedures", taught, f"?words={words}")
    assert f"<b>{where}</b>" in shown if where else "Nothing in any procedure holds all these words" in shown


def test_searching_finds_what_the_walk_round_found(taught: Cast, signed_in: Any) -> None:
    answer_fact(taught, "stopped sign", "the lamp over the door to go out")
    shown = page(signed_in(taught.assistant), "procedures", taught, "?words=lamp over the door")
    assert "See everything stand still (the lamp over the door to go out), bring the unit to" in shown


def test_the_steps_are_in_the_words_of_the_unit(taught: Cast, signed_in: Any) -> None:
    answer_fact(taught, "stopped sign", "the lamp to go out")
    shown = page(signed_in(taught.assistant), "procedure", taught, code="P03")
    assert '<span class="site-fact">the lamp to go out</span>' in shown
    assert '<span class="site-fact is-missing">the ' in shown


def test_a_step_about_what_is_not_used_here_drops_out(taught: Cast, signed_in: Any) -> None:
    answer_fact(taught, "other energy", "", not_used=True)
    shown = page(signed_in(taught.assistant), "procedure", taught, code="P01")
    assert "Tell how it is let off" not in shown and "1 step left out" in shown


def test_the_page_says_what_a_sign_off_asks(taught: Cast, signed_in: Any) -> None:
    shown = page(signed_in(taught.assistant), "procedure", taught, code="P03")
    assert "<dt>Assessments</dt> <dd> five met, by real work or practice piece </dd>" in shown
    assert "6 months in the first year, then 12 months" in shown
    assert "Nobody’s hand goes into the milling unit" in shown


def test_the_page_of_the_swap_says_that_a_recorded_one_counts_and_no_other_page_does(
    taught: Cast, signed_in: Any
) -> None:
    client = signed_in(taught.assistant)
    shown = {
        code: "each tool that you set in" in page(client, "procedure", taught, code=code) for code in ("P03", "P02")
    }
    assert shown == {"P03": True, "P02": False}


def test_a_source_from_memory_says_check_the_current_text(taught: Cast, signed_in: Any) -> None:
    shown = page(signed_in(taught.assistant), "procedure", taught, code="T01")
    assert "29 CFR 1910.1030(g)(2)(i)-(ii)" in shown and "<b>Check the current text.</b>" in shown


def test_another_version_is_shown_when_asked_for_and_an_unknown_one_is_not_there(taught: Cast, signed_in: Any) -> None:
    client = signed_in(taught.assistant)
    assert "P03, version 1" in page(client, "procedure", taught, "?version=1", code="P03")
    where = reverse("training:procedure", kwargs={"site": taught.lane.code, "code": "P03"})
    assert client.get(f"{where}?version=9").status_code == 404


def test_without_a_version_the_page_says_so(taught: Cast, signed_in: Any) -> None:
    assert "no version is approved yet" in page(signed_in(taught.assistant), "procedure", taught, code="P05")


def post(client: Client, name: str, cast: Cast, data: dict[str, Any], query: str = "", **more: Any) -> Any:
    return client.post(reverse(f"training:{name}", kwargs={"site": cast.lane.code, **more}) + query, data)


INSTRUCTIONS = {"title": "Instructions for use", "edition": "7", "day": "3 Feb 2025"}


def test_the_check_against_the_instructions_is_recorded_once(taught: Cast, signed_in: Any) -> None:
    client, sent = signed_in(taught.supervisor), INSTRUCTIONS | proof(taught.supervisor)
    sent |= {"submission": "6f8a8f0e-5b1c-4a73-8f10-0c5a3bd6b001"}
    for _ in range(2):
        assert post(client, "check_instructions", taught, sent, code="P03").status_code == 302
    row = InstructionsCheck.objects.get()
    assert (row.title, row.edition, row.checked_by) == ("Instructions for use", "7", taught.supervisor.person)
    said = Signature.objects.get(signs=row.pk)
    assert said.signer_name == "Ines Pellow" and "“Instructions for use”, 7, step by step" in said.meaning


@pytest.mark.parametrize("password", ["", "not this one at all"])
def test_nobody_attests_without_proving_who_they_are(taught: Cast, signed_in: Any, password: str) -> None:
    sent = INSTRUCTIONS | proof(taught.supervisor, password) | {"submission": "6f8a8f0e-5b1c-4a73-8f10-0c5a3bd6b001"}
    assert post(signed_in(taught.supervisor), "check_instructions", taught, sent, code="P03").status_code == 200
    assert not InstructionsCheck.objects.exists()


def test_nobody_attests_in_the_name_of_another(taught: Cast, signed_in: Any) -> None:
    sent = INSTRUCTIONS | proof(taught.owner) | {"submission": "6f8a8f0e-5b1c-4a73-8f10-0c5a3bd6b001"}
    shown = post(signed_in(taught.supervisor), "check_instructions", taught, sent, code="P03").content.decode()
    assert "only Ines Pellow signs it" in shown and not InstructionsCheck.objects.exists()


def test_a_check_without_an_edition_keeps_what_was_typed(taught: Cast, signed_in: Any) -> None:
    sent = INSTRUCTIONS | {"edition": "", "submission": "6f8a8f0e-5b1c-4a73-8f10-0c5a3bd6b001"}
    shown = post(signed_in(taught.supervisor), "check_instructions", taught, sent, code="P03").content.decode()
    assert "Write the edition or the date that is printed on the instructions." in shown
    assert 'value="Instructions for use"' in shown and not InstructionsCheck.objects.exists()


def test_an_assistant_records_no_check_and_retires_nothing(taught: Cast, signed_in: Any) -> None:
    client = signed_in(taught.assistant)
    assert post(client, "check_instructions", taught, INSTRUCTIONS, code="P03").status_code == 403
    assert post(client, "retire_procedure", taught, {}, code="P03").status_code == 403


def test_retiring_takes_it_out_of_the_list_and_says_what_rested_on_it(taught: Cast, signed_in: Any) -> None:
    client = signed_in(taught.owner)
    assert "Tool swap (P03)</a>" in page(client, "retire_procedure", taught, code="P02")
    day = f"{taught_today():%d %b %Y}"
    sent = {"day": day, "reason": "Done by P03 now.", "submission": "6f8a8f0e-5b1c-4a73-8f10-0c5a3bd6b002"}
    for _ in range(2):
        assert post(client, "retire_procedure", taught, sent, code="P02").status_code == 302
    assert Retirement.objects.count() == 1
    assert f">{Procedure.objects.get(code='P02').title}</a>" not in page(client, "procedures", taught)


def taught_today() -> Any:

    return clock.today("Europe/London")


def test_somebody_of_another_site_finds_nothing(taught: Cast, signed_in: Any) -> None:
    where = reverse("training:procedure", kwargs={"site": taught.lane.code, "code": "P03"})
    assert signed_in(taught.elsewhere).get(where).status_code == 404
