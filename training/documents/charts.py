"""Pictures of days on paper, drawn from the same fractions as the pictures of the screen."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from reportlab.lib.colors import Color, HexColor
from reportlab.lib.units import mm

from clinic.rules.drawing import Bar, Picture, steel_rule, timeline
from clinic.rules.words import counted

from .content import Content
from .paper import INK, LATE, STEEL, WHITE, rule, short, text
from .shapes import COLOUR
from .tags import Canvas, figure

RULE_HEIGHT, BAR_HEIGHT = 7 * mm, 4 * mm


@dataclass(frozen=True)
class ShownDays(Content):
    """Days `first` through `last`, both shown, in one state. `late` hangs below the line."""

    first: str
    last: str
    state: str
    late: bool = False


@dataclass(frozen=True)
class Track(Content):
    """One labelled line of stretches, and single days marked with dots."""

    label: str
    stretches: list[ShownDays]
    dots: list[str]


@dataclass(frozen=True, slots=True)
class DrawnDays:
    """A stretch as the drawing rules take it: `first` up to, not including, `after`."""

    first: date
    after: date | None
    state: str


def draw_tracks(c: Canvas, x: float, y: float, width: float, first: str, last: str, tracks: Sequence[Track]) -> float:
    """The rule of days and one line a track below it; tall stretches mean yes. Returns the y below the last line.

    Raises KeyError for a state that no picture of days draws.
    """
    begin, end = date.fromisoformat(first), date.fromisoformat(last)
    after = end + timedelta(days=1)
    below = y - RULE_HEIGHT - 1 * mm - 8.6 * mm * len(tracks)
    with figure(c, tracks_said(first, last, tracks), (x, below - BAR_HEIGHT / 2, x + width, y)):
        draw_rule(c, steel_rule(begin, after, None), x, y, width)
        y -= RULE_HEIGHT + 1 * mm
        for track in tracks:
            y -= 8.6 * mm
            text(c, x, y + BAR_HEIGHT + 0.5 * mm, track.label, "M", 7.5)
            dots = [date.fromisoformat(day) for day in track.dots]
            draw_bars(c, timeline([_days(part) for part in track.stretches], begin, after, end, dots), x, y, width)
    return y


def tracks_said(first: str, last: str, tracks: Sequence[Track]) -> str:
    """The picture in words: of each line what was in time as a count of days, and each other stretch by its days."""
    return f"Days from {short(first)} to {short(last)}. " + " ".join(f"{_track_said(track)}." for track in tracks)


def _track_said(track: Track) -> str:
    good = sum(_length(part) for part in track.stretches if _in_time(part))
    others = [part for part in track.stretches if not _in_time(part)]
    parts = [f"in time on {counted(good, 'day')}"] if good else []
    parts += [f"{_days(part).state} from {short(part.first)} to {short(part.last)}" for part in others]
    parts += [f"done on {counted(len(track.dots), 'day')}"] if track.dots else []
    return f"{track.label}: {'; '.join(parts) or 'nothing on any day'}"


def _length(part: ShownDays) -> int:
    return (date.fromisoformat(part.last) - date.fromisoformat(part.first)).days + 1


def _in_time(part: ShownDays) -> bool:
    return _days(part).state == "in time"


def _days(part: ShownDays) -> DrawnDays:
    state = "overdue" if part.late else part.state.replace("-", " ").replace("_", " ")
    return DrawnDays(date.fromisoformat(part.first), date.fromisoformat(part.last) + timedelta(days=1), state)


def draw_rule(c: Canvas, picture: Picture, x: float, y: float, width: float, height: float = RULE_HEIGHT) -> None:
    """The steel rule with its days engraved; y is its upper edge. Today stands out as a pole."""
    c.setFillColor(STEEL)
    c.rect(x, y - height, width, height, stroke=0, fill=1)
    rule(c, x, y, x + width, heavy=True)
    for tick in picture.ticks:
        at = x + width * tick.x
        c.setLineWidth(0.9 if tick.kind == "month" else 0.5)
        c.line(at, y, at, y - {"month": 7, "week": 4.5}.get(tick.kind, 2.6))
        text(c, at + 2.5, y - height + 5, tick.words, "M", 7.5)
    if picture.today is not None:
        c.setLineWidth(1.6)
        c.line(x + width * picture.today, y + 3, x + width * picture.today, y - height - 2)


def draw_bars(
    c: Canvas, picture: Picture, x: float, y: float, width: float, height: float = BAR_HEIGHT, ink: Color | None = None
) -> None:
    """Bars standing on the line y, late ones hanging below it, entries as dots. `ink` draws every state in one colour."""
    for bar in picture.bars:
        if bar.hangs:
            c.setFillColor(LATE)
            c.rect(x + width * bar.x, y - height / 2, width * bar.width, height / 2, stroke=0, fill=1)
        else:
            colour = ink or HexColor(COLOUR[bar.state.replace(" ", "-")])
            _stand(c, bar, x + width * bar.x, y, width * bar.width, height * bar.height, colour)
    rule(c, x, y, x + width, heavy=True)
    c.setFillColor(INK)
    for entry in picture.entries:
        c.circle(x + width * entry, y + 1.3 * mm, 0.9 * mm, stroke=0, fill=1)


def _stand(c: Canvas, bar: Bar, x: float, y: float, width: float, height: float, colour: Color) -> None:
    """A bar in the fill of its state, so that states differ without colour."""
    c.saveState()
    c.setStrokeColor(colour)
    c.setFillColor(colour)
    c.setLineWidth(0.8)
    if bar.ahead:
        c.setDash(3, 2)
        _hollow(c, x, y, width, height)
    else:
        FILLS.get(bar.state, _solid)(c, x, y, width, height)
    c.restoreState()


def _solid(c: Canvas, x: float, y: float, width: float, height: float) -> None:
    c.rect(x, y, width, height, stroke=0, fill=1)


def _pale(c: Canvas, x: float, y: float, width: float, height: float) -> None:
    c.setFillColor(STEEL)
    _solid(c, x, y, width, height)


def _hollow(c: Canvas, x: float, y: float, width: float, height: float) -> None:
    c.setFillColor(WHITE)
    c.rect(x + 0.4, y, max(width - 0.8, 0.4), height - 0.4, stroke=1, fill=1)


def _cut(c: Canvas, x: float, y: float, width: float, height: float) -> None:
    _solid(c, x, y, width, height)
    c.setStrokeColor(WHITE)
    for n in range(1, int(width / 3)):
        c.line(x + n * 3, y, x + n * 3, y + height)


def _strapped(c: Canvas, x: float, y: float, width: float, height: float) -> None:
    _hollow(c, x, y, width, height)
    c.setLineWidth(1.6)
    c.line(x, y + height / 2, x + width, y + height / 2)


def _hatched(c: Canvas, x: float, y: float, width: float, height: float) -> None:
    _hollow(c, x, y, width, height)
    edge = c.beginPath()
    edge.rect(x, y, width, height)
    c.clipPath(edge, stroke=0, fill=0)
    for n in range(int((width + height) / 3) + 1):
        c.line(x + n * 3 - height, y, x + n * 3, y + height)


FILLS: dict[str, Callable[[Canvas, float, float, float, float], None]] = {
    "in time": _pale,
    "due": _cut,
    "on hold": _strapped,
    "lapsed": _hatched,
    "ready": _hollow,
    "paused": _hollow,
    "out of service": _hollow,
}
