"""What every printed document must say, and how it must be made."""

import io
import re

import pypdf
import pytest

from tests.documents.made_up import LONG, binder, certificate
from training.documents import certificate as certificates
from training.documents.binder.build import build as build_binder
from training.documents.binder.content import BinderContent
from training.documents.certificate import CertificateContent
from training.documents.checklist import BlankStep, ChecklistContent
from training.documents.checklist import build as build_checklist
from training.documents.slips import AccountSlipContent, WallLabelContent, build_label, build_slip
from training.documents.wall_card import CardLine, WallCardContent
from training.documents.wall_card import build as build_card

# K-11: words that must not be printed.
FORBIDDEN = ("ISO/IEC 17024 certified", "CLIA compliant", "OSHA approved", "1910.132(f)(4)", "would pass")


def read(data: bytes) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(data))


def words(data: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in read(data).pages).split())


def card(lines: int = 15) -> WallCardContent:
    steps = [CardLine("Wait until each spindle stands still, and the lamp is out.", n % 2 == 0) for n in range(lines)]
    return WallCardContent(
        "A4",
        "en-GB",
        "P06",
        "Chamber cleaning",
        3,
        "unit 2",
        "2026-10-01",
        steps,
        "Hands out. Red button.",
        "the maker’s instructions",
    )


def made() -> dict[str, bytes]:
    steps = [BlankStep("Count the tools.", n % 2 == 0, "a tool broke" if n == 3 else "") for n in range(20)]
    return {
        "certificate": certificates.build(certificate()),
        "binder": build_binder(binder()),
        "card": build_card(card()),
        "checklist": build_checklist(
            ChecklistContent("Letter", "en-GB", "Quay", "P06", "Cleaning", 3, "2026-10-01T08:00", steps)
        ),
        "label": build_label(
            WallLabelContent("en-GB", "Quay", "unit 2", "milling unit", "X-1", "https://register.example/e/1")
        ),
        "slip": build_slip(
            AccountSlipContent(
                "A4", "en-GB", "Harbour Row Dental", LONG, "https://register.example", "TIDE-OAK-71", "2 May 2026"
            )
        ),
    }


@pytest.fixture(scope="module")
def documents() -> dict[str, bytes]:
    return made()


def fonts(data: bytes) -> dict[str, bool]:
    found = {}
    for page in read(data).pages:
        for font in page["/Resources"]["/Font"].values():
            font = font.get_object()
            found[font["/BaseFont"]] = "/FontFile2" in font.get("/FontDescriptor", {})
    return found


def test_the_same_content_gives_the_same_bytes(documents):
    assert made() == documents


def test_every_font_is_embedded_and_of_one_family(documents):
    for name, data in documents.items():
        embedded = fonts(data)
        assert embedded and all(embedded.values()), name
        assert all("AlegreyaSans" in font for font in embedded), name


def test_no_document_prints_a_forbidden_word(documents):
    for data in documents.values():
        assert [word for word in FORBIDDEN if word.casefold() in words(data).casefold()] == []


def test_every_document_has_a_title_and_a_language(documents):
    for data in documents.values():
        assert read(data).metadata.title
        assert read(data).trailer["/Root"]["/Lang"] == "en-GB"
        assert read(data).xmp_metadata.dc_title["x-default"] == read(data).metadata.title


@pytest.mark.parametrize("content", [certificate(), binder()])
def test_content_comes_back_from_its_json_whole(content):
    kind = type(content)
    assert kind in (CertificateContent, BinderContent)
    assert kind.from_json(content.to_json()) == content


def test_content_with_an_unknown_field_is_refused():
    with pytest.raises(TypeError, match="has no field luck"):
        CertificateContent.from_json('{"luck": 1}')


def test_a_certificate_shows_printed_name_time_and_meaning():
    """E-13: 21 CFR 11.50(a)(1)-(3)."""
    said = words(certificates.build(certificate()))
    assert "Tomas Lindqvist" in said
    assert "on 11 August 2026 at 16:20" in said
    assert "Meaning: I watched her do this." in said


@pytest.mark.parametrize("seen", [1, 5, 28])
def test_few_performances_are_counted_and_never_a_percentage(seen):
    """S-26: three clean ones support no more than 37 % at 95 % confidence."""
    said = words(certificates.build(certificate(performances=seen, performances_clean=seen)))
    assert f"{seen} of {seen} observed performance" in said
    assert not re.search(r"\d\s*%|per ?cent", said)


def test_a_certificate_names_all_six_elements_and_the_one_not_covered():
    """K-01: 42 CFR 493.1413(b)(8)(i)-(vi)."""
    said = words(certificates.build(certificate()))
    assert "5 of 6 covered" in said
    assert "Problem solving: not covered" in said
    assert "CLIA does not apply" in said


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_certificate_is_one_page_and_shows_markup_literally(paper):
    many = {
        "watched_on": [f"2026-06-{n:02}" for n in range(1, 29)],
        "watched_by": [LONG] * 3,
        "rests_on": [f"P{n:02}" for n in range(30)],
    }
    data = certificates.build(certificate(paper=paper, person=LONG, signer=LONG, **many))
    assert len(read(data).pages) == 1
    assert "<b>Łukaszewska</b>" in words(data)
    assert words(data).count("<b>") == 5
    assert "28 Jun 2026" in words(data)


def test_contents_name_the_pages_where_the_parts_begin():
    pages = [page.extract_text() for page in read(build_binder(binder(30, 25))).pages]
    contents = next(page for page in pages if page.startswith("Contents") or "\nContents" in page)
    for title in ("Roster", "Topics taught", "Upkeep", "Index"):
        number = int(re.search(rf"{title}.*\s(\d+)\n", contents)[1])
        assert title in pages[number - 1], title


def test_every_page_of_a_binder_says_which_of_how_many():
    pages = read(build_binder(binder())).pages
    for n, page in enumerate(pages, 1):
        assert f"page {n} of {len(pages)}" in page.extract_text()


def test_a_binder_has_bookmarks_for_parts_and_people():
    titles = str(read(build_binder(binder())).outline)
    assert "A record per person" in titles
    assert "Person Ångström 002" in titles


def test_a_short_form_of_three_hundred_people_is_at_most_twelve_pages_and_says_what_it_leaves_out():
    data = build_binder(binder(300, 44, short=True))
    assert len(read(data).pages) <= 12
    assert "The full binder holds them all" in words(data)
    assert "procedures 1 to 22 of 44; the full binder holds the rest" in words(data)


def test_an_empty_binder_says_that_nothing_is_recorded():
    said = words(build_binder(binder(0, 0, sessions=[], texts=[], authorities=[], findings=[], late=[])))
    assert "No finding was open in the period." in said
    assert "No person has a record" in said


def test_progress_runs_to_its_end():
    calls: list[tuple[int, int, str]] = []
    build_binder(binder(), progress=lambda *call: calls.append(call))
    assert [done for done, _, _ in calls] == list(range(len(calls)))
    assert calls[-1][0] == calls[-1][1]


def test_a_wall_card_of_sixteen_lines_is_refused():
    with pytest.raises(ValueError, match="holds 15 lines"):
        build_card(card(16))


def test_an_invitation_slip_holds_the_code_once_and_no_password(documents):
    said = words(documents["slip"])
    assert said.count("TIDE-OAK-71") == 1
    assert "choose your own password" in said
