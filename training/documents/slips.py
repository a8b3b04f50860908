"""Small prints: the label that leads from a piece of equipment to its page, and the slip that invites somebody."""

from dataclasses import dataclass
from io import BytesIO
from typing import BinaryIO

from reportlab.lib.units import mm

from .content import Content
from .paper import GREY, SIZES, finish, fitted, flow, new_canvas, qr, text


@dataclass(frozen=True)
class WallLabelContent(Content):
    """A label of 90 by 40 mm for one piece of equipment."""

    language: str
    site: str
    label: str
    kind: str
    serial: str
    url: str


@dataclass(frozen=True)
class AccountSlipContent(Content):
    """A printed invitation; it never holds a password."""

    paper: str
    language: str
    organisation: str
    person: str
    address: str
    code: str
    good_until: str


def build_label(content: WallLabelContent, out: BinaryIO | None = None) -> bytes:
    """The PDF of one label."""
    buffer = BytesIO()
    c = new_canvas(buffer, f"Label: {content.label}", content.site, "A4", content.language)
    c.setPageSize((90 * mm, 40 * mm))
    qr(c, content.url, 3 * mm, 3 * mm, 34 * mm)
    room = 49 * mm
    text(c, 39 * mm, 27 * mm, content.label, "X", fitted(content.label, room, "X", 20))
    for n, words in enumerate((content.kind, f"serial {content.serial}" if content.serial else "", content.site)):
        text(c, 39 * mm, 20 * mm - n * 4.6 * mm, words, "R", fitted(words, room, "R", 9.5), GREY)
    text(c, 39 * mm, 5 * mm, "Who may do this now? Upkeep, stop.", "B", 8.5)
    c.showPage()
    return finish(c, buffer, out)


def build_slip(content: AccountSlipContent, out: BinaryIO | None = None) -> bytes:
    """The PDF of one slip."""
    buffer = BytesIO()
    c = new_canvas(buffer, f"Invitation for {content.person}", content.organisation, content.paper, content.language)
    width, top = SIZES[content.paper]
    left, room = 24 * mm, width - 40 * mm
    text(c, left, top - 25 * mm, content.organisation, "R", 11, GREY)
    text(c, left, top - 38 * mm, content.person, "X", fitted(content.person, room, "X", 30))
    y = flow(
        c,
        left,
        top - 50 * mm,
        f"Open {content.address} and type this code. It works once, until {content.good_until}.",
        room,
        "R",
        13,
    )
    text(c, left, y - 10 * mm, content.code, "X", fitted(content.code, room, "X", 28))
    flow(
        c,
        left,
        y - 24 * mm,
        "You then choose your own password. Nobody else knows it. Destroy this slip when you are done.",
        room,
        "R",
        11,
    )
    c.showPage()
    return finish(c, buffer, out)
