"""Small invented content for cards, checklists, labels and slips, and every document there is, built once."""

from functools import cache
from typing import Any

from tests.documents.made_up import LONG, certificate
from training.documents import certificate as certificates
from training.documents import checklist, wall_card
from training.documents.checklist import BlankStep, ChecklistContent
from training.documents.slips import AccountSlipContent, WallLabelContent, build_label, build_slip
from training.documents.wall_card import CardLine, WallCardContent

PAPERS = ("A4", "Letter")


def card(count: int = 15, **changes: Any) -> WallCardContent:
    steps = [CardLine(f"Line {n}: wait until each spindle stands still.", n % 2 == 0) for n in range(1, count + 1)]
    plain: dict[str, Any] = {
        "paper": "A4",
        "language": "en-GB",
        "code": "P06",
        "title": "Chamber cleaning",
        "version": 3,
        "place": "unit 2",
        "since": "2026-10-01",
        "lines": steps,
        "stop": "Hands out. Press the red button. Leave it off.",
        "maker": "the maker’s instructions, edition 7",
    }
    return WallCardContent(**(plain | changes))


def blank(count: int = 20, **changes: Any) -> ChecklistContent:
    lines = [BlankStep(f"Step {n} is done.", n % 2 == 0, "a tool broke" if n == 3 else "") for n in range(1, count + 1)]
    plain: dict[str, Any] = {
        "paper": "A4",
        "language": "en-GB",
        "site": "Quay",
        "code": "P06",
        "title": "Chamber cleaning",
        "version": 3,
        "printed_at": "2026-10-01T08:00",
        "steps": lines,
        "hazards": ["sharp carbide"],
        "protection": ["cut-resistant gloves"],
    }
    return ChecklistContent(**(plain | changes))


def label(**changes: Any) -> WallLabelContent:
    plain = {
        "language": "en-GB",
        "site": "Quay",
        "label": "unit 2",
        "kind": "Milling unit",
        "serial": "X-1",
        "url": "https://register.example/quay/upkeep/unit/1/",
    }
    return WallLabelContent(**(plain | changes))


def slip(**changes: Any) -> AccountSlipContent:
    plain = {
        "paper": "A4",
        "language": "en-GB",
        "organisation": "Harbour Row Dental",
        "person": LONG,
        "address": "https://register.example/invitation/",
        "code": "TIDE-OAK-71",
        "good_until": "2 May 2026",
        "sign_in_name": "zofia",
    }
    return AccountSlipContent(**(plain | changes))


def made() -> dict[str, bytes]:
    return {
        "certificate": certificates.build(certificate()),
        "card": wall_card.build(card()),
        "checklist": checklist.build(blank()),
        "label": build_label(label()),
        "slip": build_slip(slip()),
    }


@cache
def documents() -> dict[str, bytes]:
    return made()
