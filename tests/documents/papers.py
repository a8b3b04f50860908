"""Every kind of paper, drawn once, for what must hold of each of them."""

from datetime import UTC, datetime
from functools import cache

from tests import paper_keys
from tests.documents.made_up import LONG, certificate
from tests.documents.made_up_binder import empty, full
from tests.documents.pieces import blank, card, documents, slip
from tests.documents.structure import Told
from tests.documents.test_cover_sheet import line, sheet
from tests.documents.test_teaching_sheet import sheet as ten_days
from tests.documents.test_wall_card import jpeg
from training.documents import certificate as certificates
from training.documents import checklist, cover_sheet, teaching_sheet, wall_card
from training.documents.binder import content as b
from training.documents.binder.build import build
from training.documents.slips import build_slip
from training.paper_signature import Signed, signed

MORE = {
    "binder": lambda: build(full()),
    "proved binder": lambda: build(proved()),
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
    "signed binder": lambda: handed_over(build(full())),
    "signed certificate": lambda: handed_over(documents()["certificate"]),
}
PAPERS = (*documents(), *MORE)
SIGNED_AT = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)


def handed_over(pdf: bytes) -> bytes:
    """As a practice that has a key hands it over."""
    says = Signed("Quayside Dental", "Harbour Row", "Binder quay-2026-B0001, as Quayside Dental issued it.")
    return signed(pdf, paper_keys.practice()[0], paper_keys.PASSPHRASE.encode(), says, SIGNED_AT)


def proved() -> b.BinderContent:
    """A binder with a signed head, sources, people put right, and a grouped table over several pages."""
    rows = [["tap 9", "2026-05-26", f"line {n} " * 30, "3f1c9a7e-0b52-4d0e-9a51-6f0d2c7b8a90"] for n in range(60)]
    table = b.Extra("Water", "Of two taps.", ["Day", "Reading", "Fact"], rows, "water", grouped=True)
    return full(
        extras=[table], checkpoint="millroom/quay\n4118\nnFx44OCifQ==\n\n— millroom/quay 9c1f44e0", log_key="millroom/quay+9c1f+key",
        log_check="python clinic/verify.py proof.json", sources=[b.SourceRow("O-09", "A log of sharps injuries.", "read")],
        questions=[], late=[],
    )  # fmt: skip


@cache
def paper(name: str) -> bytes:
    return documents()[name] if name in documents() else MORE[name]()


@cache
def told(name: str) -> Told:
    return Told(paper(name))
