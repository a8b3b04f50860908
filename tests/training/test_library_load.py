"""`manage.py load_library`: checks, names every fault by file and line, drafts what is new and nothing twice."""

from datetime import date
from io import StringIO
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command

from clinic.models import EquipmentKind, SiteFact, UpkeepTask
from clinic.port import code_of, returned_by, usable_people
from clinic.rules.roles import ProcedureRole, TaskRole
from tests.cast import Cast
from tests.rules.small_library import FILES
from training.models import Draft, Procedure
from training.rules.library import read_library
from training.rules.library_file import EQUIPMENT_KINDS

pytestmark = pytest.mark.django_db
LIBRARY = read_library(settings.LIBRARY_DIR)
TEXTS, FACTS = len(LIBRARY.procedures), len(LIBRARY.site_facts)


def run(*words: str) -> tuple[str, str, str]:
    """What it said, what it complained of, and the refusal."""
    out, err = StringIO(), StringIO()
    try:
        call_command("load_library", *words, stdout=out, stderr=err)
    except CommandError as refused:
        return out.getvalue(), err.getvalue(), str(refused)
    return out.getvalue(), err.getvalue(), ""


@pytest.fixture
def number(cast: Cast) -> str:
    person = cast.coordinator.person
    person.staff_number = "K7"
    person.save()
    return "K7"


def test_the_library_knows_the_kinds_of_equipment_that_a_site_can_enter() -> None:
    assert set(EQUIPMENT_KINDS) == set(EquipmentKind.values)


def test_checking_touches_nothing() -> None:
    said, _, refused = run("--check")
    assert f"{TEXTS} procedures and topics, {FACTS} site facts: no fault." in said and refused == ""
    assert not Procedure.objects.exists()


def test_the_taps_of_every_procedure_are_printed() -> None:
    """Counted here from the files, the critical ones beside them."""
    said, _, _ = run("--check")
    practice = [text for text in LIBRARY.procedures if text.kind == "practice"]
    assert len([line for line in said.splitlines() if " to tap, " in line]) == len(practice)
    for text in practice:
        steps = text.content.steps
        assert f"{text.code} {len(steps)} to tap, {len([s for s in steps if s.critical])} of them critical" in said


def test_every_procedure_becomes_a_draft_once(number: str) -> None:
    first, second = run("--by", number)[0], run("--by", number)[0]
    assert "Drafted: P01, P02" in first and "Drafted: nothing" in second
    assert (Draft.objects.count(), SiteFact.objects.count()) == (TEXTS, FACTS)
    assert UpkeepTask.objects.filter(code="U01").exists()


@pytest.mark.parametrize("words", [(), ("--by", "nobody")])
def test_somebody_of_the_practice_must_draft(cast: Cast, words: tuple[str, ...]) -> None:
    assert "--by and a staff number" in run(*words)[2]


def test_a_practice_that_is_not_there_is_refused_with_those_that_are(number: str) -> None:
    assert "Known: Millbrook Dental." in run("--by", number, "--organisation", "Elsewhere")[2]


def broken(folder: Path) -> Path:
    for name, text in FILES.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(
            text.replace("right: C", "right: Z").replace("title: Stop it", "titel: Stop it"), encoding="utf-8"
        )
    return folder


def test_every_fault_is_named_by_file_and_line_and_nothing_is_loaded(number: str, tmp_path: Path) -> None:
    _, complaints, refused = run("--by", number, "--folder", str(broken(tmp_path)))
    assert "procedures/P01.yaml:2: field titel is unknown" in complaints
    assert "right of question q1 is none of its options" in complaints
    assert refused == f"{len(complaints.splitlines())} faults. Nothing was loaded." and not Draft.objects.exists()


def test_what_a_file_stands_for_is_stored_and_moves_with_it(cast: Cast, number: str) -> None:
    run("--by", number)
    organisation, swap = cast.organisation, ProcedureRole.TOOL_SWAP
    assert (code_of(organisation, swap), returned_by(organisation, "steriliser")) == ("P03", "P17")
    assert UpkeepTask.objects.code_of(TaskRole.LINE_SAMPLE) == "U12"
    Procedure.objects.create(organisation=organisation, code="P99", title="Own", area="own", stands_for=swap)
    assert code_of(organisation, swap) == "P99"
    run("--by", number)
    assert code_of(organisation, swap) == "P03"


def test_what_nothing_stands_for_is_open_to_nobody(cast: Cast) -> None:
    asked = [code_of(cast.organisation, ProcedureRole.TOOL_SWAP), returned_by(cast.organisation, "steriliser")]
    assert asked == ["tool swap", "the procedure that returns a steriliser"]
    assert not any(usable_people(cast.organisation, code, date.today()) for code in asked)
    assert returned_by(cast.organisation, "eyewash") == ""  # anybody returns it
