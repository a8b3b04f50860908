"""Small prints: a label leads to the page of its unit; a slip invites one person and holds no password."""

import pytest
from reportlab.lib.units import mm

from tests.documents.made_up import LONG
from tests.documents.pieces import PAPERS, label, slip
from tests.documents.reading import links, read, words
from training.documents.slips import build_label, build_slip


def test_a_label_names_its_unit_and_leads_to_its_page() -> None:
    data = build_label(label())
    assert words(data) == "unit 2 Milling unit serial X-1 Quay Log upkeep. Who may use it. Stop it."
    assert links(data) == ["https://register.example/quay/upkeep/unit/1/"]


def test_a_label_is_90_by_40_millimetres() -> None:
    box = read(build_label(label())).pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx((90 * mm, 40 * mm), abs=0.01)


def test_a_label_without_a_serial_number_says_nothing_of_one() -> None:
    assert "serial" not in words(build_label(label(serial="")))


def test_a_long_name_stays_on_the_label() -> None:
    assert words(build_label(label(label=LONG * 3))).count("…") == 1


@pytest.mark.parametrize("paper", PAPERS)
def test_a_slip_says_who_where_the_sign_in_name_the_code_and_its_last_day(paper: str) -> None:
    data = build_slip(slip(paper=paper))
    shown = words(data)
    assert len(read(data).pages) == 1
    for told in (LONG, "https://register.example/invitation/", "zofia", "TIDE-OAK-71", "until 2 May 2026"):
        assert told in shown


def test_a_slip_holds_its_code_once_and_no_password() -> None:
    shown = words(build_slip(slip()))
    assert shown.count("TIDE-OAK-71") == 1
    assert "choose your own password; nobody else knows it" in shown
