"""Every state, weight and mark as vectors on the 24 unit grid of the screen's shapes (y grows downward)."""

from collections.abc import Callable

from reportlab.lib.colors import HexColor
from reportlab.pdfgen.canvas import Canvas

COLOUR = {
    "current": "#17613f",
    "due": "#7d4e00",
    "on-hold": "#593c8b",
    "lapsed": "#9d2a36",
    "withdrawn": "#14302b",
    "ready": "#2f4596",
    "learning": "#17607a",
    "untrained": "#52655f",
    "stop": "#9d2a36",
    "fix": "#7d4e00",
    "note": "#17607a",
    "critical": "#9d2a36",
}
STATES = ("current", "due", "on-hold", "lapsed", "withdrawn", "ready", "learning", "untrained")


def draw_shape(canvas: Canvas, name: str, x: float, y: float, size: float, colour: str | None = None) -> None:
    """Draws a shape with its lower left corner at x, y. Raises KeyError for a name that has no shape."""
    name = name.replace(" ", "-").replace("_", "-")
    draw = DRAWN[name]
    ink = HexColor(colour or COLOUR.get(name, "#14302b"))
    canvas.saveState()
    canvas.translate(x, y + size)
    canvas.scale(size / 24, -size / 24)
    canvas.setFillColor(ink)
    canvas.setStrokeColor(ink)
    canvas.setLineWidth(2.2)
    if name in STATES:
        top, foot = {"lapsed": (15, 21), "ready": (14, 21)}.get(name, (11, 20))
        _line(canvas, (3, top), (3, foot), (21, foot), (21, top))
    draw(canvas)
    canvas.restoreState()


def _line(c: Canvas, *points: tuple[float, float], close: bool = False, fill: int = 0, stroke: int = 1) -> None:
    path = c.beginPath()
    path.moveTo(*points[0])
    for point in points[1:]:
        path.lineTo(*point)
    if close:
        path.close()
    c.drawPath(path, fill=fill, stroke=stroke)


def _solid(c: Canvas, *points: tuple[float, float]) -> None:
    _line(c, *points, close=True, fill=1, stroke=0)


def _box(c: Canvas, x: float, y: float, w: float, h: float) -> None:
    _solid(c, (x, y), (x + w, y), (x + w, y + h), (x, y + h))


def _current(c: Canvas) -> None:
    _box(c, 7, 3, 10, 13.6)


def _due(c: Canvas) -> None:
    _solid(c, (7, 3), (10.6, 3), (10.6, 10.4), (17, 10.4), (17, 16.6), (7, 16.6))
    _box(c, 14, 3, 3, 3)


def _on_hold(c: Canvas) -> None:
    _box(c, 7, 2.5, 10, 3.6)
    _box(c, 7, 13, 10, 3.6)
    c.setLineWidth(2.6)
    c.line(1, 9.5, 23, 9.5)


def _lapsed(c: Canvas) -> None:
    _line(c, (12, 2), (18.2, 8.2), (12, 14.4), (5.8, 8.2), close=True)


def _withdrawn(c: Canvas) -> None:
    c.setLineWidth(3)
    c.line(6.5, 3.5, 17.5, 15.5)
    c.line(17.5, 3.5, 6.5, 15.5)


def _ready(c: Canvas) -> None:
    _box(c, 7.5, 1.5, 9, 8)
    _solid(c, (8.5, 12), (15.5, 12), (12, 17))


def _learning(c: Canvas) -> None:
    _box(c, 7, 11.5, 10, 5.1)
    c.setLineWidth(1.6)
    c.setDash(2.2, 1.8)
    _line(c, (8, 9), (8, 4), (16, 4), (16, 9))


def _untrained(c: Canvas) -> None:
    """The empty tray, already drawn."""


def _stop(c: Canvas) -> None:
    c.circle(12, 4.8, 3.2, fill=1, stroke=0)
    _solid(c, (6.5, 8.5), (17.5, 8.5), (22, 22), (2, 22))


def _fix(c: Canvas) -> None:
    c.setLineWidth(1.9)
    c.circle(12, 4.8, 2.3, fill=0)
    _line(c, (7.2, 9), (16.8, 9), (21, 21.2), (3, 21.2), close=True)
    _solid(c, (5.4, 15), (18.6, 15), (21, 21.5), (3, 21.5))


def _note(c: Canvas) -> None:
    c.setLineWidth(1.7)
    c.circle(12, 8, 2, fill=0)
    _line(c, (8.7, 11.5), (15.3, 11.5), (18, 20.5), (6, 20.5), close=True)


def _critical(c: Canvas) -> None:
    _box(c, 8.5, 1.5, 7, 8)
    _solid(c, (9.5, 11), (14.5, 11), (14.5, 16.5), (12, 22.5), (9.5, 16.5))


def _house(c: Canvas) -> None:
    c.setLineWidth(2.4)
    _line(c, (2, 8), (2, 21), (30, 21), (30, 8))
    _box(c, 8, 2, 10, 15)
    _box(c, 20.5, 11, 3.5, 6)


def _tick_box(c: Canvas) -> None:
    c.setLineWidth(1.6)
    _line(c, (4, 4), (20, 4), (20, 20), (4, 20), close=True)


DRAWN: dict[str, Callable[[Canvas], None]] = {
    "current": _current,
    "due": _due,
    "on-hold": _on_hold,
    "lapsed": _lapsed,
    "withdrawn": _withdrawn,
    "ready": _ready,
    "learning": _learning,
    "untrained": _untrained,
    "stop": _stop,
    "fix": _fix,
    "note": _note,
    "critical": _critical,
    "house": _house,
    "tick-box": _tick_box,
}
