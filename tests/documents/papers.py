"""Every kind of paper, drawn once, for what must hold of each of them."""

from functools import cache

from tests.documents.made_up import LONG, certificate
from tests.documents.made_up_binder import empty, full
from tests.documents.pieces import blank, card, documents, slip
from tests.documents.structure import Told
from tests.documents.test_cover_sheet import line, sheet
from tests.documents.test_teaching_sheet import sheet as ten_days
from tests.documents.test_wall_card import jpeg
from training.documents import certificate as certificates
from training.documents import checklist, cover_sheet, teaching_sheet, wall_card
from training.documents.binder.build import build
from training.documents.slips import build_slip

MORE = {
    "binder": lambda: build(full()),
    "short form": lambda: build(full(40, 30, short=True)),
    "empty binder": lambda: build(empty()),
    "letter binder": lambda: build(full(15, 28, paper="Letter")),
    "withdrawn": lambda: certificates.build(certificate(person=LONG * 3), across="Not in force: withdrawn."),
    "sheets": lambda: checklist.build(blank(40, sheets=[7, 8], paper="Letter")),
    "one line": lambda: wall_card.build(card(1)),
    "pictures": lambda: wall_card.build(card(4), pictures={1: jpeg()}),
    "bare slip": lambda: build_slip(slip(sign_in_name="", paper="Letter")),
    "coverage": lambda: cover_sheet.build(sheet(line("Tool swap"), line("Chamber", 1, "It falls short. " * 12))),
    "ten days": lambda: teaching_sheet.build(ten_days()),
    "too many days": lambda: teaching_sheet.build(ten_days(lines=30)),
    "no coverage": lambda: cover_sheet.build(sheet()),
}
PAPERS = (*documents(), *MORE)


@cache
def paper(name: str) -> bytes:
    return documents()[name] if name in documents() else MORE[name]()


@cache
def told(name: str) -> Told:
    return Told(paper(name))
