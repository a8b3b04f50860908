"""Every state, mark and weight on paper, drawn from the very file that the screen draws them from."""

import xml.etree.ElementTree as ET
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from fontTools.pens.basePen import BasePen
from fontTools.svgLib.path import parse_path
from reportlab.lib.colors import HexColor
from reportlab.pdfgen.pathobject import PDFPathObject

from .tags import Canvas

GOOD, DUE, HOLD, LAPSE, INK = "#17613f", "#7d4e00", "#593c8b", "#9d2a36", "#14302b"
ACT, LEARN, NONE = "#2f4596", "#17607a", "#52655f"
COLOUR = {
    "current": GOOD,
    "due": DUE,
    "on-hold": HOLD,
    "lapsed": LAPSE,
    "withdrawn": INK,
    "ready": ACT,
    "learning": LEARN,
    "untrained": NONE,
    "in-time": GOOD,
    "upkeep-due": DUE,
    "overdue": LAPSE,
    "paused": HOLD,
    "out-of-service": INK,
    "alone": GOOD,
    "prompted": DUE,
    "helped": LAPSE,
    "wrong": LAPSE,
    "asked": GOOD,
    "not-needed": NONE,
    "not-seen": NONE,
    "stop": LAPSE,
    "fix": DUE,
    "note": LEARN,
    "critical": LAPSE,
}
STATES = ("current", "due", "on-hold", "lapsed", "withdrawn", "ready", "learning", "untrained")
# How far a control point stands from the end of a quarter circle, as a fraction of its radius.
ROUND = 0.5523
# The box to tick, which only paper needs.
TICK_BOX = '<path xmlns="{0}" d="M4 4h16v16H4z" fill="none" stroke="currentColor" stroke-width="1.6"/>'
SVG = "http://www.w3.org/2000/svg"


@dataclass(frozen=True, slots=True)
class ShapePath:
    """One path of a shape on the 24 unit grid (y grows downward). Colours: "ink", "gap" (the paper) or empty."""

    commands: tuple[tuple[str, tuple[float, ...]], ...]
    fill: str
    stroke: str
    width: float
    dash: tuple[float, ...]


def draw_shape(canvas: Canvas, name: str, x: float, y: float, size: float, colour: str | None = None) -> None:
    """Draws a shape with its lower left corner at x, y. Raises KeyError for a name that has no shape."""
    name = name.replace(" ", "-").replace("_", "-")
    pieces = drawn()[name]
    inks = {"ink": HexColor(colour or COLOUR.get(name, INK)), "gap": HexColor("#ffffff")}
    canvas.saveState()
    canvas.translate(x, y + size)
    canvas.scale(size / 24, -size / 24)
    for piece in pieces:
        _draw(canvas, piece, inks)
    canvas.restoreState()


def _draw(canvas: Canvas, piece: ShapePath, inks: dict[str, Any]) -> None:
    path = canvas.beginPath()
    for command, numbers in piece.commands:
        getattr(path, command)(*numbers)
    if piece.fill:
        canvas.setFillColor(inks[piece.fill])
    if piece.stroke:
        canvas.setStrokeColor(inks[piece.stroke])
        canvas.setLineWidth(piece.width)
        canvas.setDash(list(piece.dash))
    canvas.drawPath(path, fill=int(bool(piece.fill)), stroke=int(bool(piece.stroke)))


@cache
def drawn() -> dict[str, tuple[ShapePath, ...]]:
    """Every shape of the screen by its name, and the box to tick, which only paper needs."""
    whole = ET.fromstring(files("clinic").joinpath("static/register/shapes.svg").read_text(encoding="utf-8"))
    shapes = {symbol.attrib["id"]: tuple(map(_piece, symbol)) for symbol in whole.iter(f"{{{SVG}}}symbol")}
    return shapes | {"tick-box": (_piece(ET.fromstring(TICK_BOX.format(SVG))),)}


def _piece(element: ET.Element) -> ShapePath:
    pen = _Pen()
    parse_path(_outline(element), pen)
    return ShapePath(
        tuple(pen.commands),
        _ink(element.get("fill", "currentColor" if element.get("stroke") is None else "none")),
        _ink(element.get("stroke", "none")),
        float(element.get("stroke-width", 1)),
        tuple(map(float, element.get("stroke-dasharray", "").split())),
    )


def _ink(paint: str) -> str:
    return {"none": "", "currentColor": "ink"}.get(paint, "gap")


def _outline(element: ET.Element) -> str:
    """The path data of a path, a circle or a rounded rectangle."""
    kind = element.tag.removeprefix(f"{{{SVG}}}")
    if kind == "path":
        return element.attrib["d"]
    if kind == "circle":
        x, y, r = _numbers(element, "cx", "cy", "r")
        return f"M{x - r} {y}a{r} {r} 0 1 1 {2 * r} 0a{r} {r} 0 1 1 {-2 * r} 0z"
    x, y, w, h, r = _numbers(element, "x", "y", "width", "height", "rx")
    k = r * (1 - ROUND)
    return (
        f"M{x + r} {y}h{w - 2 * r}c{r - k} 0 {r} {k} {r} {r}v{h - 2 * r}c0 {r - k} {-k} {r} {-r} {r}"
        f"h{2 * r - w}c{k - r} 0 {-r} {-k} {-r} {-r}v{2 * r - h}c0 {k - r} {k} {-r} {r} {-r}z"
    )


def _numbers(element: ET.Element, *names: str) -> Iterable[float]:
    return (float(element.get(name, 0)) for name in names)


class _Pen(BasePen):
    """Turns path data into the calls of a path on a canvas."""

    def __init__(self) -> None:
        super().__init__(None)
        self.commands: list[tuple[str, tuple[float, ...]]] = []

    def _moveTo(self, pt: tuple[float, float]) -> None:
        self.commands.append((PDFPathObject.moveTo.__name__, pt))

    def _lineTo(self, pt: tuple[float, float]) -> None:
        self.commands.append((PDFPathObject.lineTo.__name__, pt))

    def _curveToOne(self, pt1: tuple[float, float], pt2: tuple[float, float], pt3: tuple[float, float]) -> None:
        self.commands.append((PDFPathObject.curveTo.__name__, (*pt1, *pt2, *pt3)))

    def _closePath(self) -> None:
        self.commands.append((PDFPathObject.close.__name__, ()))

    def _endPath(self) -> None:
        """An open path needs no call."""
