"""Pictures of days, drawn from plain stretches."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from .content import Content
from .paper import INK, LATE, STEEL, WHITE, rule, steel_days, text


@dataclass(frozen=True)
class Stretch(Content):
    """Days `first` through `last`, both shown, in one state. `late` hangs below the line."""

    first: str
    last: str
    state: str
    late: bool = False


@dataclass(frozen=True)
class Track(Content):
    """One labelled line of stretches, and single days marked with dots."""

    label: str
    stretches: list[Stretch]
    dots: list[str]


TALL = {"current": 1.0, "due": 1.0, "in time": 1.0, "learning": 0.33, "untrained": 0.0}


def draw_tracks(c: Canvas, x: float, y: float, width: float, first: str, last: str, tracks: Sequence[Track]) -> float:
    """The rule of days and one line a track below it; tall stretches mean yes. Returns the y below the last line."""
    start, end = date.fromisoformat(first), date.fromisoformat(last)
    steel_days(c, x, y, width, start, end)
    y -= 8 * mm
    for track in tracks:
        y -= 7.4 * mm
        _track(c, x, y, width, start, end, track)
    return y


def _track(c: Canvas, x: float, y: float, width: float, first: date, last: date, track: Track) -> None:
    days = max((last - first).days + 1, 1)
    c.setFillColor(STEEL)
    c.rect(x, y, width, 4 * mm, stroke=0, fill=1)
    for part in track.stretches:
        begin, end = max(date.fromisoformat(part.first), first), min(date.fromisoformat(part.last), last)
        if begin <= end:
            left, wide = x + width * (begin - first).days / days, width * ((end - begin).days + 1) / days
            _stretch(c, left, y, max(wide, 1.5), part)
    for dot in track.dots:
        if first <= date.fromisoformat(dot) <= last:
            c.setFillColor(INK)
            c.circle(
                x + width * (date.fromisoformat(dot) - first).days / days, y + 1.4 * mm, 0.9 * mm, stroke=0, fill=1
            )
    rule(c, x, y, x + width, heavy=True)
    c.setFillColor(WHITE)
    text(c, x, y + 4.5 * mm, track.label, "M", 7.5)


def _stretch(c: Canvas, x: float, y: float, width: float, part: Stretch) -> None:
    if part.late:
        c.setFillColor(LATE)
        c.rect(x, y - 2 * mm, width, 2 * mm, stroke=0, fill=1)
        return
    c.setFillColor(INK)
    c.rect(x, y, width, 4 * mm * TALL.get(part.state, 0.55), stroke=0, fill=1)
