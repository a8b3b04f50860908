"""Papers for the wall and the drawer: what they say here, who gets them, and when there is nothing to print."""

import io
from datetime import date
from pathlib import Path
from typing import Any
from uuid import uuid4

import pypdf
import pytest
from django.test import Client
from django.urls import reverse

from clinic.models import SiteFact, SiteFactValue
from clinic.record import record
from tests.cast import REGISTER_START, Cast
from tests.documents.pieces import card
from tests.training.teaching import put_in_force
from training.documents.wall_card import CardLine
from training.documents.wall_card import build as build_card
from training.models import InstructionsCheck, Procedure
from training.reads import papers
from training.rules.library import read_library
from training.rules.texts import Step

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def the_kept(the_cast: Cast, django_db_blocker: Any) -> Cast:
    with django_db_blocker.unblock():
        put_in_force(the_cast, "P01", "P06", "P15", "P20", "T01")
    return the_cast


@pytest.fixture
def kept(the_kept: Cast, cast: Cast) -> Cast:
    return cast


def words(client: Client, name: str, cast: Cast, query: str = "", **more: Any) -> str:
    address = reverse(f"training:{name}", kwargs={"site": cast.lane.code, **more}) + query
    answer = client.get(address)
    if name == "blank_checklist":  # sheets have numbers, so they are printed by a form
        sent = {"submission": answer.context["form"]["submission"].value(), "count": 1}
        answer = client.post(address, sent, follow=True)
    assert (answer.status_code, answer["Content-Type"]) == (200, "application/pdf")
    pages = pypdf.PdfReader(io.BytesIO(answer.content)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def answer_fact(cast: Cast, name: str, value: str, not_used: bool = False) -> None:
    fact = SiteFact.objects.get(name=name)
    unit = cast.unit if fact.of == "milling unit" else None
    row = SiteFactValue(
        site=cast.lane, happened_on=REGISTER_START, site_fact=fact, equipment=unit, value=value, not_used=not_used
    )
    record(row, by=cast.coordinator.person)


def test_a_card_stops_the_unit_in_the_words_of_the_place(kept: Cast, signed_in: Any) -> None:
    answer_fact(kept, "stop control", "the red button left of the door")
    answer_fact(kept, "service phone", "0555 0142")
    shown = words(signed_in(kept.assistant), "wall_card", kept, code="P06")
    assert "Anybody may stop it. Hands out. Press the red button left of the door. Leave it off." in shown
    assert "Call 0555 0142 and tell the supervisor." in shown
    assert "P06, version 1 · Millbrook Lane, unit 1 · in force since 6 January 2025" in shown


def test_what_nobody_answered_yet_sends_to_the_instructions(kept: Cast, signed_in: Any) -> None:
    shown = words(signed_in(kept.assistant), "wall_card", kept, code="P06")
    assert "Press the stop control." in shown
    assert "{" not in shown


def test_a_card_of_a_place_without_a_unit_says_stop_in_plain_words(kept: Cast, signed_in: Any) -> None:
    shown = words(signed_in(kept.assistant), "wall_card", kept, code="P15")
    assert "Anybody may stop it. Say “stop”." in shown


@pytest.mark.parametrize("code", ["P01", "P06", "P20"])
def test_a_card_holds_critical_steps_before_others_and_says_what_it_leaves_out(kept: Cast, code: str) -> None:
    here = papers.version_here(Procedure.objects.get(code=code), kept.lane, REGISTER_START, kept.unit)
    assert here
    shown = papers.wall_card(here)
    critical = sum(step.critical for step in here.steps)
    assert sum(line.critical for line in shown.lines) == critical
    assert len(shown.lines) == min(max(15, critical), len(here.steps))
    assert bool(shown.more) == (len(here.steps) > len(shown.lines))
    for line in shown.lines:
        step = here.steps[line.number - 1]
        assert line.words == papers.with_case(here, step)
        assert line.caution == (here.says(step.caution) if step.critical else "")


def test_a_card_leaves_out_no_critical_step_and_says_how_many_others() -> None:
    long = tuple(Step(f"s{n}", "Do it.", critical=n < 17) for n in range(18))
    assert len(papers.for_the_wall(long)) == 17
    assert papers.left_out(long, papers.for_the_wall(long)) == "1 more step, none of them critical: see the checklist."


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_every_procedure_of_the_library_has_its_card_on_one_page(paper: str) -> None:
    """With its critical steps, their cautions, and the words of the stop rules as they stand, in type of ten points or more."""
    for procedure in read_library(Path("fixtures/library")).procedures:
        steps = procedure.content.steps
        kept, numbers = papers.for_the_wall(steps), {step.key: n for n, step in enumerate(steps, 1)}
        lines = [
            CardLine(step.do, step.critical, False, numbers[step.key], step.caution if step.critical else "")
            for step in kept
        ]
        content = card(paper=paper, code=procedure.code, title=procedure.title, lines=lines)
        assert not steps or len(pypdf.PdfReader(io.BytesIO(build_card(content))).pages) == 1, procedure.code


def test_lines_stand_in_the_order_of_the_work(kept: Cast) -> None:
    here = papers.version_here(Procedure.objects.get(code="P20"), kept.lane, REGISTER_START, kept.unit)
    assert here
    kept_steps = papers.for_the_wall(here.steps)
    assert [here.steps.index(step) for step in kept_steps] == sorted(here.steps.index(step) for step in kept_steps)


def test_a_checklist_holds_every_step_with_its_caution_and_the_instructions_it_was_checked_against(
    kept: Cast, signed_in: Any
) -> None:
    check_instructions(kept)
    shown = words(signed_in(kept.assistant), "blank_checklist", kept, code="P06")
    here = papers.version_here(Procedure.objects.get(code="P06"), kept.lane, REGISTER_START, kept.unit)
    assert here and all(" ".join(here.says(step.do).split()) in shown for step in here.steps)
    assert "Never with fingers." in shown
    assert "The maker’s instructions (Handbook, edition 7) and local rules come first." in shown


def check_instructions(cast: Cast) -> None:
    version = Procedure.objects.get(code="P06").versions.get()
    by = cast.coordinator.person
    row = InstructionsCheck(
        site=cast.lane,
        happened_on=date(2025, 1, 7),
        version=version,
        title="Handbook",
        edition="edition 7",
        checked_by=by,
    )
    record(row, by=by)


def test_a_step_about_what_is_not_used_here_is_not_printed(kept: Cast, signed_in: Any) -> None:
    answer_fact(kept, "other energy", "", not_used=True)
    shown = words(signed_in(kept.assistant), "blank_checklist", kept, f"?unit={kept.unit.pk}", code="P01")
    assert "Tell when the power is off" in shown and "Tell how it is let off" not in shown


@pytest.mark.parametrize("name", ["wall_card", "blank_checklist"])
@pytest.mark.parametrize("code", ["P03", "T01"])
def test_without_steps_in_force_the_page_says_what_to_do(kept: Cast, signed_in: Any, name: str, code: str) -> None:
    address = reverse(f"training:{name}", kwargs={"site": kept.lane.code, "code": code})
    answer = signed_in(kept.coordinator).get(address, follow=True)
    assert "Put a version with steps in force first" in answer.content.decode()


def test_a_label_leads_to_the_page_where_upkeep_is_logged(cast: Cast, signed_in: Any) -> None:
    address = reverse("training:wall_label", kwargs={"site": cast.lane.code, "equipment": cast.unit.pk})
    answer = signed_in(cast.assistant).get(address)
    note = pypdf.PdfReader(io.BytesIO(answer.content)).pages[0]["/Annots"][0].get_object()
    page = reverse("clinic:log_for_unit", kwargs={"site": cast.lane.code, "equipment": cast.unit.pk})
    assert note["/A"]["/URI"] == f"http://testserver{page}"


def test_a_unit_of_another_site_has_no_label_here(cast: Cast, signed_in: Any) -> None:
    for unit in (cast.other_unit.pk, uuid4()):
        address = reverse("training:wall_label", kwargs={"site": cast.lane.code, "equipment": unit})
        assert signed_in(cast.owner).get(address).status_code == 404


def test_papers_of_a_site_that_is_not_yours_do_not_exist(kept: Cast, signed_in: Any) -> None:
    for name in ("wall_card", "blank_checklist"):
        address = reverse(f"training:{name}", kwargs={"site": kept.lane.code, "code": "P06"})
        assert signed_in(kept.elsewhere).get(address).status_code == 404
