"""The charts of coverage and judging as SVG. What stands where is `training.rules.drawing`."""

from itertools import pairwise
from typing import Any

from django import template

from clinic.templatetags.register import month_lines
from training.rules.drawing import CoverPicture, ScorePicture

register = template.Library()

# CSS pixels: columns, the room for a number over them; charts of scores, the room for words over them.
COVER_HIGH, HEAD, SCORE_HIGH, TOP = 46, 16, 160, 24


@register.inclusion_tag("training/judging/cover_picture.html")
def cover_chart(picture: CoverPicture, label: str) -> dict[str, Any]:
    """People at work who may do a duty, day by day; `label` goes before it in words."""
    columns = [
        {
            "left": shared(one.x),
            "wide": shared(one.width),
            "middle": shared(one.x + one.width / 2),
            "count": one.count if one.width > 0.03 else "",
            "css": "is-lapsed" if one.missing else "is-current",
            "over": f"{HEAD + COVER_HIGH * (1 - one.height - one.missing) - 3:g}",
            **upright("full", 0, one.height, COVER_HIGH),
            **upright("missing", one.height, one.missing, COVER_HIGH),
        }
        for one in picture.columns
    ]
    unsigned = [(shared(left), shared(wide)) for left, wide in picture.unsigned]
    least = f"{HEAD + COVER_HIGH * (1 - picture.least):g}"
    return {
        "picture": picture,
        "label": label,
        "columns": columns,
        "unsigned": unsigned,
        "least": least,
        "months": month_lines(picture.ticks, HEAD + COVER_HIGH, 14),
        "floor": HEAD + COVER_HIGH,
    }


@register.inclusion_tag("training/judging/score_picture.html")
def score_chart(picture: ScorePicture, label: str) -> dict[str, Any]:
    """A line of scores with its limit, or of shares with its band."""
    points = [(shared(one.x), down(one.y), one.met) for one in picture.points]
    lines = [(before[0], before[1], here[0], here[1]) for before, here in pairwise(points)]
    bands = [(shared(x), down(upper), f"{SCORE_HIGH * (upper - lower):g}") for x, lower, upper in picture.band]
    limit = "" if picture.band else down(picture.limit)
    words = {
        "levels": [(down(height), f"{SCORE_HIGH * (1 - height) + TOP - 8:g}", says) for height, says in picture.levels],
        "numbers": [(shared(x), says) for x, says in picture.numbers],
        "floor": TOP + SCORE_HIGH,
    }
    return {
        "picture": picture,
        "label": label,
        "points": points,
        "lines": lines,
        "bands": bands,
        "limit": limit,
    } | words


def upright(name: str, bottom: float, height: float, high: int) -> dict[str, str]:
    top = HEAD + high * (1 - bottom - height)
    return {f"{name}_top": f"{top:g}", f"{name}_high": f"{high * height:g}" if height else ""}


def down(y: float) -> str:
    return f"{SCORE_HIGH * (1 - y) + TOP:g}"


def shared(fraction: float) -> str:
    """A fraction as an SVG length."""
    return f"{round(fraction * 100, 3):g}%"
