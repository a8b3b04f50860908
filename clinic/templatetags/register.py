"""Tags and filters of the register: shapes, state tags, days in words, and pictures of days.

They only turn plain data into markup. What stands where is `clinic.rules.drawing`; pages and paper share its numbers.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date, datetime, time
from functools import lru_cache
from typing import Any

import segno
from django import forms, template
from django.core.exceptions import ValidationError
from django.forms import BoundField
from django.template.loader import render_to_string
from django.templatetags.static import static
from django.utils import timezone
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe
from django.utils.text import slugify

from clinic.record import Refusal
from clinic.rules import drawing
from clinic.rules.days import written_later
from clinic.rules.phones import with_numbers
from clinic.rules.spans import Span, merged
from clinic.rules.words import clock_words, counted, day_words, instant_words, listed, short_day, weekday_words
from clinic.rules.words import ended as ended_words
from clinic.rules.words import in_text as in_text_words

register = template.Library()
FOLDS_OVER = 12  # boxes of one question, before they are folded


@register.filter
def said(day: date | None) -> str:
    """2 December 2026. Nothing for nothing."""
    return day_words(day)


@register.filter
def short(day: date | None) -> str:
    """2 Dec 2026. Nothing for nothing."""
    return short_day(day)


@register.filter
def instant(at: datetime | None) -> str:
    """2 December 2026 at 09:30, on the site's clock: the door sets its time zone. Nothing for nothing."""
    return instant_words(timezone.localtime(at)) if at else ""


@register.filter
def clock(at: time | None) -> str:
    """09:30, of a time that was written down on the site's clock. Nothing for nothing."""
    return clock_words(at) if at else ""


@register.filter
def to_call(text: str) -> SafeString:
    """What somebody wrote, with each number in it as a link that a phone dials."""
    pieces = [
        format_html('<a href="tel:{}">{}</a>', to, words) if to else format_html("{}", words)
        for words, to in with_numbers(text)
    ]
    return format_html_join("", "{}", ((piece,) for piece in pieces))


@register.filter
def weekday(day: date) -> str:
    """Wednesday."""
    return weekday_words(day)


@register.filter
def in_text(words: str) -> str:
    """As it goes on inside a sentence: Tool swap → tool swap, and SDS stays SDS."""
    return in_text_words(words)


@register.filter
def ended(words: str) -> str:
    """What somebody typed, with its full stop, so that the next sentence does not run into it."""
    return ended_words(words)


@register.filter
def either(names: Iterable[Any]) -> str:
    """A, B or C."""
    return listed([str(name) for name in names], "or")


@register.filter
def minutes(seconds: int) -> str:
    """5 minutes; one minute. Rounded down, as a lock may come up to a minute early."""
    return counted(seconds // 60, "minute")


@register.filter
def written_on(fact: Any) -> str:
    """2 December 2026, where a fact was written on a later day than it happened; nothing otherwise. The day is that of the
    site whose page it is: the door sets its time zone."""
    later = written_later(fact.happened_on, timezone.localdate(fact.recorded_at))
    return day_words(later)


@register.filter
def state_class(state: Any) -> str:
    """The class that gives a state its colours: "on hold" → is-on-hold."""
    return f"is-{shape_name(state)}"


@register.filter
def shape_name(state: Any) -> str:
    """The shape of a state, mark or weight: "on hold", "on_hold" and State.ON_HOLD all give on-hold."""
    return _slug(str(state))


@lru_cache(maxsize=256)
def _slug(words: str) -> str:
    return slugify(words.replace("_", " "))


@register.filter
def square(words: str) -> SafeString:
    """A QR code that says the words, as an SVG without any style: black on white, whatever the colours of the page."""
    drawn = segno.make(words, error="m", micro=False)
    svg = drawn.svg_inline(border=4, dark="#000", light="#fff", svgclass="square", lineclass=None, omitsize=True)
    return mark_safe(svg.replace("<svg ", '<svg role="img" aria-label="QR code" ', 1))


@register.filter
def in_fours(words: str) -> str:
    """Letters in groups of four, as people type them."""
    return " ".join(words[start : start + 4] for start in range(0, len(words), 4))


@register.filter
def percent(fraction: float) -> str:
    """A fraction as an SVG length: 0.5 → 50%."""
    return f"{round(fraction * 100, 3):g}%"


@register.filter
def percent_of_days(share: float) -> str:
    """A share of days in words, never rounded up to all of them: 0.998 → 99 %."""
    return f"{int(share * 100)} %"


@register.filter
def commas(words: str | None) -> list[str]:
    """The parts of a list written with commas."""
    return [word.strip() for word in (words or "").split(",") if word.strip()]


@register.filter
def any_there(pieces: Iterable[Any]) -> bool:
    """Whether any piece is in its tray."""
    return any(piece["there"] if isinstance(piece, dict) else piece.there for piece in pieces)


@register.filter
def first_shown(form: forms.BaseForm) -> BoundField:
    """The first field of a form that is seen: what names a folded one."""
    return form.visible_fields()[0]


@register.filter
def folds(field: BoundField) -> bool:
    """Whether a group of boxes is so long that it is folded until somebody changes it."""
    return isinstance(field.field.widget, forms.CheckboxSelectMultiple) and len(field) > FOLDS_OVER


@register.filter
def chosen(field: BoundField) -> str:
    """The boxes that are ticked, in words."""
    ticked, boxes = {str(value) for value in field.value() or ()}, getattr(field.field, "choices", ())
    return listed([str(words) for value, words in boxes if str(value) in ticked]) or "nothing"


@register.filter
def is_tick(field: BoundField) -> bool:
    """Whether a field is a single box to tick."""
    return isinstance(field.field.widget, forms.CheckboxInput)


@register.filter
def is_group(field: BoundField) -> bool:
    """Whether a field is several boxes or dots under one legend."""
    return isinstance(field.field.widget, forms.RadioSelect)


@register.filter
def wrong_fields(form: forms.BaseForm) -> list[BoundField]:
    """The fields of a form that must be put right."""
    return [form[name] for name in form.errors if name in form.fields and not form[name].is_hidden]


@register.filter
def reasons(form: forms.BaseForm) -> list[Refusal]:
    """Why a form is refused, apart from what stands at its fields: what is about the whole of it, or about a hidden field."""
    shown = {field.name for field in wrong_fields(form)}
    return [reason_of(error) for name, found in form.errors.as_data().items() if name not in shown for error in found]


@register.filter
def every_reason(form: forms.BaseForm) -> list[Refusal]:
    """The same with what is about a field, for a form of buttons whose fields are not drawn."""
    return [reason_of(error) for found in form.errors.as_data().values() for error in found]


def reason_of(error: ValidationError) -> Refusal:
    """What is wrong and what supplies it, each by itself where an action said so; otherwise the form's own sentence."""
    return getattr(error, "refusal", None) or Refusal(" ".join(error.messages))


@register.simple_tag
def shape(name: Any, label: str = "", size: str = "", css: str = "") -> SafeString:
    """A drawn shape. Without a label it is decoration and its word must stand beside it. `size`: "" or "large"."""
    return _shape(static("register/shapes.svg"), str(name), label, size, css)


@lru_cache(maxsize=2048, typed=True)
def _shape(drawings: str, name: str, label: str, size: str, css: str) -> SafeString:
    """A page draws the same few of them hundreds of times. What is marked as safe is told apart from what is not."""
    classes = " ".join(word for word in ("shape", f"is-{size}" if size else "", css) if word)
    hearing = format_html('role="img" aria-label="{}"', label) if label else SafeString('aria-hidden="true"')
    return format_html('<svg class="{}" {}><use href="{}#{}"/></svg>', classes, hearing, drawings, shape_name(name))


@register.simple_block_tag
def sentence(content: str) -> SafeString:
    """Words that a part is given, too long to stand in its tag: `{% sentence as lead %}…{% endsentence %}` before it."""
    return mark_safe(" ".join(content.split()))


@register.simple_block_tag(takes_context=True)
def nothing(context: template.Context, content: str, do: str = "", href: str = "", if_may: str = "") -> SafeString:
    """What it means that nothing is there, in a sentence, and a link (`do`, `href`) to where that is mended: for whoever
    may do one of `if_may`, where that is said."""
    leads = not if_may or any(each in context["may"] for each in commas(if_may))
    shown = {"means": sentence(content), "do": do, "href": href if leads else ""}
    return mark_safe(render_to_string("parts/empty.html", shown))


@register.inclusion_tag("parts/state_tag.html")
def state_tag(state: Any, kind: str = "") -> dict[str, Any]:
    """Word and shape of a standing, mark or weight. `kind="upkeep"` for a task's state: its "due" looks different."""
    return {"word": str(state).replace("_", " "), "key": upkeep_key(state) if kind == "upkeep" else str(state)}


@register.filter
def upkeep_key(state: Any) -> str:
    """A task's state under the name of its shape: its "due" is a sight glass, not a block."""
    return "upkeep due" if str(state) == "due" else str(state)


@register.inclusion_tag("parts/steel.html")
def steel_rule(
    first: date, after: date, today: date | None = None, marks: Iterable[tuple[date, str, str]] = ()
) -> dict[str, Any]:
    """The steel rule for the days from `first` up to, not including, `after`. Marks are (day, state, words)."""
    picture = drawing.steel_rule(first, after, today, [(day, str(state), words) for day, state, words in marks])
    return {"picture": picture, "edge": 6 + 24 * picture.lanes if picture.lanes else 6}


@register.inclusion_tag("parts/timeline.html")
def timeline(
    spans: Sequence[Any], first: date, after: date, today: date, label: str = "", tall: bool = False
) -> dict[str, Any]:
    """Spans of a standing as bars. `label` goes before them in words; `tall` for the one picture a page is about."""
    full = 52 if tall else 24
    picture = drawing.timeline(spans, first, after, today)
    drawn = {"picture": picture, "months": month_lines(picture.ticks, full + 9)}
    return {**drawn, "label": label, "full": full, "floor": full + 9}


@lru_cache(maxsize=256)
def month_lines(ticks: tuple[drawing.Tick, ...], floor: int, top: int = 2) -> SafeString:
    """The lines of the months. A page has one picture under the other, all with the same."""
    lines = ((percent(tick.x), percent(tick.x), top, floor) for tick in ticks)
    return format_html_join(" ", '<line class="months" x1="{}" x2="{}" y1="{}" y2="{}"/>', lines)


@register.simple_tag
def year_picture(
    spans: Sequence[Any], first: date, after: date, today: date, entries: Iterable[date] = (), label: str = ""
) -> SafeString:
    """Spans of an upkeep task: on the line in time, half high due, hanging below it overdue; a dot for each entry."""
    return year_as_markup(tuple(spans), first, after, today, tuple(entries), label)


@lru_cache(maxsize=512)
def year_as_markup(
    spans: tuple[Any, ...], first: date, after: date, today: date, entries: tuple[date, ...], label: str
) -> SafeString:
    """The same: most tasks of a site have a picture that was drawn today already."""
    drawn = {"label": label, **drawn_year(spans, first, after, today, entries)}
    return mark_safe(render_to_string("parts/year_picture.html", drawn))


def drawn_year(spans: Sequence[Any], first: date, after: date, today: date, entries: Iterable[date]) -> dict[str, Any]:
    """What the template puts together."""
    named = merged(_named(span) for span in spans)
    picture = drawing.year(named, first, after, today, entries)
    marks = {"months": "".join(f"M{across(tick.x)} 2v27" for tick in picture.ticks)}
    marks |= {"dots": "".join(f"M{across(x)} 29h0" for x in picture.entries)}
    return {"picture": picture, "bars": year_bars(picture.bars), **marks}


def year_bars(bars: Iterable[drawing.Bar]) -> dict[tuple[bool, str], str]:
    """One path for all bars of a state, recorded or ahead: a weekly task has a hundred of them."""
    found: dict[tuple[bool, str], str] = defaultdict(str)
    for one in bars:
        high = round(23 * one.height, 2)
        found[one.ahead, one.state] += (
            f"M{across(one.x)} 29h{across(one.width)}v{high if one.hangs else -high:g}H{across(one.x)}z"
        )
    return dict(found)


@lru_cache(maxsize=4096)
def across(fraction: float) -> str:
    """A fraction of the width of a year, which is drawn a thousand wide. The pictures of a page have their days in common."""
    return f"{round(fraction * 1000, 1):g}"


def _named(span: Any) -> Span[str]:
    """A task's span whose "due" carries the name of its own shape."""
    return Span(span.first, span.after, upkeep_key(span.state))


@register.inclusion_tag("parts/weights.html")
def weights(stop: int, fix: int, note: int, href: str = "") -> dict[str, Any]:
    """Counts of findings by weight, each a link to its part of the list (`href`#stop, #fix, #note)."""
    by_weight = (
        ("stop", stop, "work must not go on"),
        ("fix", fix, "by a day"),
        ("note", note, "past; to be explained"),
    )
    return {"weights": by_weight, "href": href}


@register.inclusion_tag("parts/person_line.html")
def person_line(name: str, says: str = "", href: str = "", state: Any = "") -> dict[str, Any]:
    """One person in a list: name, what is to be said, and the shape of a state where there is one."""
    return {"name": name, "says": says, "href": href, "state": state}


@register.inclusion_tag("parts/bar.html")
def bar(of: drawing.Bar, floor: float, full: float) -> dict[str, Any]:
    """A bar that stands on the floor, or hangs below it; `full` is the height of the tallest."""
    high = full * of.height
    top = floor if of.hangs else floor - high
    places = {"y": f"{top:g}", "high": f"{high:g}", "middle": f"{top + high / 2:g}"}
    return {"bar": of, "x": percent(of.x), "width": percent(of.width), "end": percent(of.x + of.width), **places}


@register.simple_tag
def times(one: float, other: float) -> str:
    """A product, as an SVG length."""
    return f"{one * other:g}"
