"""Where everything stands in the charts of judging and coverage: fractions, so that page and paper draw the same numbers.

x and width are fractions of the width; heights are fractions of the chart's height, measured up from its floor.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from clinic.rules.drawing import Tick, at, months
from training.rules.cover_wording import count_runs, in_words, unsigned_gaps
from training.rules.coverage import DutyCoverage


@dataclass(frozen=True, slots=True)
class CoverColumn:
    """Working days side by side with the same number of people. `missing`: what stands between them and the least."""

    x: float
    width: float
    height: float
    missing: float
    count: int


@dataclass(frozen=True, slots=True)
class CoverPicture:
    """A duty over the coming days. `unsigned`: stretches (x, width) on which nobody can sign, drawn below the floor."""

    ticks: tuple[Tick, ...]
    columns: tuple[CoverColumn, ...]
    least: float
    unsigned: tuple[tuple[float, float], ...]
    says: str


def cover_picture(cover: DutyCoverage, first: date, after: date) -> CoverPicture:
    """Columns of people at work, the least as a line."""
    minimum = max((each.minimum for each in cover.days), default=0)
    tallest = max([minimum, 1, *(len(each.usable) for each in cover.days)])
    return CoverPicture(
        ticks=months(first, after, None),
        columns=tuple(
            CoverColumn(
                *_stretch(run.first, run.last, first, after),
                height=count / tallest,
                missing=max(0, minimum - count) / tallest,
                count=count,
            )
            for run, count in count_runs(cover)
        ),
        least=minimum / tallest,
        unsigned=tuple(_stretch(gap.first, gap.last, first, after) for gap in unsigned_gaps(cover)),
        says=in_words(cover),
    )


def _stretch(begin: date, last: date, first: date, after: date) -> tuple[float, float]:
    left = at(begin, first, after)
    return left, at(last + timedelta(days=1), first, after) - left


@dataclass(frozen=True, slots=True)
class ChartPoint:
    """One performance in a chart: where, and whether it met its standard."""

    x: float
    y: float
    met: bool


@dataclass(frozen=True, slots=True)
class ScorePicture:
    """A chart of scores against its limit. `band`: (x, lower, upper) of an interval, where the chart has one. `levels`:
    heights with their words; `numbers`: performances named below the floor."""

    points: tuple[ChartPoint, ...]
    limit: float
    band: tuple[tuple[float, float, float], ...]
    says: str
    levels: tuple[tuple[float, str], ...] = ()
    numbers: tuple[tuple[float, str], ...] = ()


def score_picture(scores: Sequence[float], met: Sequence[bool], h: float, says: str) -> ScorePicture:
    """Scores of a watch-keeping chart in the order of the performances; the limit lies at h."""
    top = max([h * 1.1, *scores]) * 1.05
    places = [_place(number, len(scores)) for number in range(len(scores))]
    points = tuple(ChartPoint(x, score / top, good) for x, score, good in zip(places, scores, met, strict=True))
    return ScorePicture(points, h / top, (), says, ((h / top, f"limit {h:g}"),), _numbers(len(scores)))


def share_picture(shares: Sequence[tuple[float, float, float]], says: str) -> ScorePicture:
    """A share over time (share, lower, upper), from 0 at the floor to 1 at the top."""
    places = [_place(number, len(shares)) for number in range(len(shares))]
    points = tuple(ChartPoint(x, share, True) for x, (share, _, _) in zip(places, shares, strict=True))
    band = tuple((x, lower, upper) for x, (_, lower, upper) in zip(places, shares, strict=True))
    return ScorePicture(points, 1.0, band, says, ((1.0, "100 %"), (0.5, "50 %")), _numbers(len(shares)))


def _place(number: int, count: int) -> float:
    return (number + 0.5) / count


def _numbers(count: int) -> tuple[tuple[float, str], ...]:
    """The first performance, and as many of the others as stand apart on a phone."""
    step = next((step for step, most in ((1, 10), (5, 50), (10, 100)) if count <= most), 50)
    return tuple((_place(n - 1, count), str(n)) for n in range(1, count + 1) if n == 1 or n % step == 0)
