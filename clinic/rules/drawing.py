"""Where everything stands in a picture of days: fractions of its width, so that page and paper draw the same numbers.

A picture shows the days from `first` up to, not including, `after`. Every x and width is a fraction 0..1 of that
stretch; heights are fractions of the height of a bar. What is recorded through `today` is drawn as it is; the days
after it are `ahead`: what follows if nothing more is recorded.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import lru_cache
from typing import Any, Protocol

from clinic.rules.days import plus_months
from clinic.rules.words import begun, day_of_month, day_words, short_month

# How tall a state stands. Tall = may work alone, low = may not: readable without colour.
TALL, HALF, LOW, FLAT = 1.0, 0.55, 0.33, 0.0
HEIGHTS = {
    "current": TALL,
    "due": TALL,
    "on hold": HALF,
    "lapsed": HALF,
    "withdrawn": HALF,
    "ready": HALF,
    "learning": LOW,
    "untrained": FLAT,
    "in time": TALL,
    "upkeep due": HALF,
    "overdue": HALF,
    "paused": HALF,
    "out of service": HALF,
}
# A late stretch is never narrower than this, or one late day in a year would vanish.
LEAST_LATE = 0.01
# Two shapes nearer than this touch on the narrowest page (22 px on 360 px).
APART = 0.065
# On the narrowest page that shows words beside the marks (880 px): where they begin, and one letter of 15 px.
BESIDE, LETTER = 0.018, 0.0077
MOST_LANES = 4
KEPT = frozenset({"in time", "upkeep due"})
NOTHING = "Nothing is recorded in these days"


class SpanLike(Protocol):
    """A span, as the rules make them: `first` up to, not including, `after` (None: open)."""

    @property
    def first(self) -> date: ...
    @property
    def after(self) -> date | None: ...
    @property
    def state(self) -> Any: ...


@dataclass(frozen=True, slots=True)
class Tick:
    """A line across the rule. Kind: day, week (a Monday) or month (its first day, named where there is room)."""

    x: float
    kind: str
    words: str = ""


@dataclass(frozen=True, slots=True)
class DayMark:
    """A shape standing on its day. Lane 0 touches the rule, others have stems. Words: right, left, none."""

    x: float
    lane: int
    state: str
    words: str
    side: str


@dataclass(frozen=True, slots=True)
class Bar:
    """A stretch of one state. `height`: a fraction of the tallest. `hangs`: drawn below the line, as it was late."""

    x: float
    width: float
    height: float
    state: str
    ahead: bool
    hangs: bool


@dataclass(frozen=True, slots=True)
class Picture:
    """Everything a rule or a timeline draws, and the same in words."""

    ticks: tuple[Tick, ...]
    says: str
    today: float | None = None
    today_says: str = ""
    marks: tuple[DayMark, ...] = ()
    bars: tuple[Bar, ...] = ()
    entries: tuple[float, ...] = ()
    lanes: int = 0


def at(day: date, first: date, after: date) -> float:
    """Where the beginning of a day stands, held inside the picture. Raises ValueError where the picture has no days."""
    if after <= first:
        raise ValueError("A picture of days needs at least one day.")
    return min(1.0, max(0.0, (day - first).days / (after - first).days))


class Places:
    """Where days of one picture stand. A year of a daily task has several hundred, each counted from the first day."""

    def __init__(self, first: date, after: date) -> None:
        at(first, first, after)  # a picture without days is refused
        self.first, self.after = first, after
        self.start, self.days = first.toordinal(), (after - first).days

    def of(self, day: date) -> float:
        """Of a day inside the picture, or its end."""
        return (day.toordinal() - self.start) / self.days


def steel_rule(first: date, after: date, today: date | None, marks: Iterable[tuple[date, str, str]] = ()) -> Picture:
    """The rule of days with marks (day, state, words) standing on it."""
    ordered = sorted(mark for mark in marks if first <= mark[0] < after)
    placed = placed_marks(ordered, first, after)
    return Picture(
        ticks=(*day_ticks(first, after), *months(first, after, today)),
        says=rule_in_words(first, after, today, ordered),
        today=_today(first, after, today),
        today_says=day_of_month(today) if today else "",
        marks=placed,
        lanes=1 + max(mark.lane for mark in placed) if placed else 0,
    )


def timeline(spans: Sequence[SpanLike], first: date, after: date, today: date, entries: Iterable[date] = ()) -> Picture:
    """Spans as bars. Spans without a bar (untrained) leave the floor line alone."""
    return drawn(spans, first, after, today, entries, spans_in_words(spans, first, after, today))


def year(spans: Sequence[SpanLike], first: date, after: date, today: date, entries: Iterable[date] = ()) -> Picture:
    """The year of an upkeep task: a timeline whose words tell only what is out of the ordinary."""
    return drawn(spans, first, after, today, entries, year_in_words(spans, first, after, today))


def drawn(
    spans: Sequence[SpanLike], first: date, after: date, today: date, entries: Iterable[date], says: str
) -> Picture:
    """The bars of the spans, with words that the caller gives."""
    place = Places(first, after)
    return Picture(
        ticks=months(first, after, None),
        says=says,
        today=_today(first, after, today),
        bars=tuple(bar for span in spans for bar in _bars(span, place, today) if bar.height),
        entries=tuple(place.of(day) for day in sorted(entries) if first <= day < after),
    )


TAG_HANGS_RIGHT = 0.2  # of the rule, as templates/parts/steel.html draws it


def _today(first: date, after: date, today: date | None) -> float | None:
    return at(today, first, after) if today and first <= today < after else None


def day_ticks(first: date, after: date) -> tuple[Tick, ...]:
    """One tick a day, longer on Mondays, while days are wide enough to be told apart; otherwise none."""
    count = (after - first).days
    if count > 100:
        return ()
    days = (first + timedelta(days=n) for n in range(count))
    return tuple(Tick(at(day, first, after), "day" if day.weekday() else "week") for day in days)


@lru_cache(maxsize=256)
def months(first: date, after: date, today: date | None) -> tuple[Tick, ...]:
    """A line at the first of each month (of each year, in a picture of more than six), with as many names as fit."""
    firsts = list(_month_firsts(first, after))
    step = _named_every(len(firsts))
    shown = firsts if len(firsts) <= 72 else [day for day in firsts if day.month == 1]
    tag = _today(first, after, today)
    return tuple(Tick(x, "month", _month_name(day, step, x, tag)) for day in shown for x in [at(day, first, after)])


def _month_firsts(first: date, after: date) -> Iterable[date]:
    day = first if first.day == 1 else plus_months(first.replace(day=1), 1)
    while day < after:
        yield day
        day = plus_months(day, 1)


def _named_every(count: int) -> int:
    """Name every month, every second, every third …, so that names never touch on a phone."""
    return next((step for step, most in ((1, 7), (2, 15), (3, 24), (6, 48)) if count <= most), 12)


def _month_name(day: date, step: int, x: float, tag: float | None) -> str:
    """Nothing where the name would run off the rule or under the tag of today."""
    if (day.month - 1) % step or x > 0.94 or (tag is not None and _is_under_tag(x, tag)):
        return ""
    return str(day.year) if day.month == 1 else short_month(day)


def _is_under_tag(x: float, tag: float) -> bool:
    """On a phone the tag is as wide as a fifth of the rule. It hangs to the left of today, and at the left edge to the right of
    it, where a name that begins just before runs under it too."""
    return tag - 0.1 < x < tag + 0.24 if tag < TAG_HANGS_RIGHT else tag - 0.24 < x < tag


def placed_marks(ordered: Sequence[tuple[date, str, str]], first: date, after: date) -> tuple[DayMark, ...]:
    """Marks in the order of their days. One whose shape or words would reach the next goes above it, so that the words
    of a mark never cross the stem of another."""
    placed: list[DayMark] = []
    for day, state, words in reversed(ordered):
        x = at(day, first, after)
        placed.insert(0, _placed(DayMark(x, 0, str(state), words, _side(x, words)), placed))
    return tuple(_without_crowded_words(placed))


def _side(x: float, words: str) -> str:
    if not words:
        return "none"
    return "right" if x + _room(words) <= 1 else "left"


def _room(words: str) -> float:
    return BESIDE + len(words) * LETTER


def _placed(mark: DayMark, later: Sequence[DayMark]) -> DayMark:
    """On the lowest lane that is free; where all are taken, without its words."""
    lane = _lane(mark.x + _reach(mark), later)
    if lane >= MOST_LANES:
        return replace(mark, side="none", lane=min(_lane(mark.x + APART / 2, later), MOST_LANES - 1))
    return replace(mark, lane=lane)


def _reach(mark: DayMark) -> float:
    return max(APART / 2, _room(mark.words)) if mark.side == "right" else APART / 2


def _lane(end: float, later: Sequence[DayMark]) -> int:
    return 1 + max((mark.lane for mark in later if mark.x - APART / 2 < end), default=-1)


def _without_crowded_words(placed: Sequence[DayMark]) -> Iterable[DayMark]:
    """Words that go left, at the right edge, stay only where no earlier mark stands in their way."""
    reached = 0.0
    for mark in placed:
        crowded = mark.side == "left" and mark.x - _room(mark.words) < reached
        reached = max(reached, mark.x + _reach(mark))
        yield replace(mark, side="none") if crowded else mark


def _bars(span: SpanLike, place: Places, today: date) -> Iterable[Bar]:
    """The recorded part of a span, then the part after today."""
    begin, end = max(span.first, place.first), min(span.after or place.after, place.after)
    if begin >= end:
        return
    known = today + timedelta(days=1)
    for start, stop, ahead in ((begin, min(end, known), False), (max(begin, known), end, True)):
        if start < stop:
            yield _bar(str(span.state), place.of(start), place.of(stop), ahead)


def _bar(state: str, left: float, right: float, ahead: bool) -> Bar:
    late = state == "overdue"
    width = max(right - left, LEAST_LATE) if late else right - left
    return Bar(min(left, 1 - width), width, HEIGHTS[state], state, ahead, hangs=late)


def rule_in_words(first: date, after: date, today: date | None, marks: Sequence[tuple[date, str, str]]) -> str:
    last = after - timedelta(days=1)
    stretch = f"The days from {day_words(first)} through {day_words(last)}"
    here = f", today is {day_words(today)}" if today else ""
    return ". ".join([stretch + here, *(f"{day_words(day)}: {_told(state, words)}" for day, state, words in marks)])


def _told(state: str, words: str) -> str:
    return f"{words}, {state}" if words else str(state)


def spans_in_words(spans: Sequence[SpanLike], first: date, after: date, today: date) -> str:
    """What the bars show, for whoever hears the page; coming days are told as such."""
    seen = [span for span in spans if span.first < after and (span.after is None or span.after > first)]
    told = [f"{_tense(span, today)} from {day_words(span.first)}" for span in seen]
    return begun(", ".join(told)) if told else NOTHING


def year_in_words(spans: Sequence[SpanLike], first: date, after: date, today: date) -> str:
    """A weekly task changes its state a hundred times a year: each stretch that was neither in time nor due, whether the
    rest was, and what follows if nothing more is recorded."""
    seen = [span for span in spans if span.first < after and (span.after is None or span.after > first)]
    past, coming = [span for span in seen if span.first <= today], [span for span in seen if span.first > today]
    end = min(after, today + timedelta(days=1))
    amiss = [
        f"{span.state} {_through(max(span.first, first), min(span.after or end, end))}"
        for span in past
        if str(span.state) not in KEPT
    ]
    rest = ["otherwise in time" if amiss else "in time throughout"] if len(past) > len(amiss) else []
    follows = [f"{_tense(span, today)} from {day_words(span.first)}" for span in coming]
    told = "; ".join(", ".join(part) for part in ([*amiss, *rest], follows) if part)
    return begun(told) or NOTHING


def _through(first: date, after: date) -> str:
    """On 24 February 2026; from 24 February 2026 through 26 February 2026."""
    last = after - timedelta(days=1)
    return f"on {day_words(first)}" if last == first else f"from {day_words(first)} through {day_words(last)}"


def _tense(span: SpanLike, today: date) -> str:
    state = "due" if str(span.state) == "upkeep due" else str(span.state)
    return f"would be {state}" if span.first > today else state
