"""Small prints: the label that leads from a piece of equipment to its page, and the slip that invites somebody."""

from dataclasses import dataclass
from io import BytesIO
from typing import BinaryIO

from reportlab.lib.units import mm

from .content import Content
from .paper import GREY, SIZES, finish, fit_line, flow, new_canvas, qr, rule, steel, text
from .shapes import draw_shape
from .tags import ROW_HEAD, Canvas, tagged


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
    """A printed invitation; it never holds a password. `good_until` is the code's last day, in words."""

    paper: str
    language: str
    organisation: str
    person: str
    address: str
    code: str
    good_until: str
    sign_in_name: str = ""


def build_label(content: WallLabelContent, out: BinaryIO | None = None) -> bytes:
    """The PDF of one label."""
    buffer = BytesIO()
    c = new_canvas(buffer, f"Label: {content.label}", content.site, "A4", content.language)
    c.setPageSize((90 * mm, 40 * mm))
    with tagged(c, "P"), tagged(c, "Link"):
        qr(c, content.url, 3 * mm, 3 * mm, 34 * mm, f"Code square that leads to {content.url}")
        c.linkURL(content.url, (3 * mm, 3 * mm, 37 * mm, 37 * mm), says=f"The page of {content.label}: {content.url}")
    room = 49 * mm
    with tagged(c, "H1"):
        fit_line(c, 39 * mm, 27 * mm, content.label, room, "X", 20)
    for n, words in enumerate((content.kind, f"serial {content.serial}" if content.serial else "", content.site)):
        fit_line(c, 39 * mm, 20 * mm - n * 4.6 * mm, words, room, "R", 9.5, colour=GREY)
    text(c, 39 * mm, 5 * mm, "Log upkeep. Who may use it. Stop it.", "B", 8.5)
    c.showPage()
    return finish(c, buffer, out)


def build_slip(content: AccountSlipContent, out: BinaryIO | None = None) -> bytes:
    """The PDF of one slip: a page whose upper half is cut off and handed over."""
    buffer = BytesIO()
    c = new_canvas(buffer, f"Invitation for {content.person}", content.organisation, content.paper, content.language)
    width, top = SIZES[content.paper]
    _slip(c, content, 24 * mm, width - 16 * mm, top)
    c.showPage()
    return finish(c, buffer, out)


def _slip(c: Canvas, k: AccountSlipContent, left: float, right: float, top: float) -> None:
    room = right - left
    draw_shape(c, "house", left, top - 24 * mm, 8 * mm)
    fit_line(c, left + 13 * mm, top - 22 * mm, f"{k.organisation} · invitation", room - 13 * mm, "R", 11, colour=GREY)
    with tagged(c, "H1"):
        fit_line(c, left, top - 38 * mm, k.person, room, "X", 30)
    steel(c, left, top - 43 * mm, room)
    y = top - 58 * mm
    rows = (("Open", k.address, 15), ("Sign-in name", k.sign_in_name, 15), ("One-time code", k.code, 26))
    c.tag("Table")
    for label, words, size in rows:
        if words:
            with tagged(c, "TR"):
                with tagged(c, "TH", ROW_HEAD):
                    text(c, left, y, label, "R", 11, GREY)
                with tagged(c, "TD"):
                    fit_line(c, left + 36 * mm, y, words, room - 36 * mm, "X", size, 9)
            rule(c, left, y - 4 * mm, right)
            y -= 12 * mm
    c.untag()
    says = (
        f"The code works once, until {k.good_until}. You then choose your own password; nobody else knows it. Whoever holds "
        "this slip can use the code: give it to nobody, and destroy it when you are done."
    )
    y = flow(c, left, y - 1 * mm, says, room, "R", 12)
    c.setDash(3, 3)
    rule(c, 0, y - 6 * mm, right + 16 * mm)
    c.setDash()
