"""The look holds: parts draw without a misspelt variable, every state has its shape, contrast is enough in every mode.

Contrast formula and limits: WCAG 2.2, relative luminance, SC 1.4.3 (text 4.5) and SC 1.4.11 (lines of fields 3).
"""

import json
import re
from datetime import date
from pathlib import Path

import pytest
from crispy_forms.helper import FormHelper
from crispy_forms.layout import Submit
from django import forms
from django.template import engines
from django.template.loader import render_to_string

from tests.clinic.look_examples import PIECES, SAMPLE_PAGE, page_context

ROOT = Path(__file__).resolve().parents[2]
REGISTER = ROOT / "clinic" / "static" / "register"
TEMPLATES = ROOT / "templates"
SHAPES = set(re.findall(r'<symbol id="([\w-]+)"', (REGISTER / "shapes.svg").read_text()))
TOKENS = (REGISTER / "tokens.css").read_text()
CONTRAST = json.loads((ROOT / "tests" / "published" / "vectors.json").read_text())["contrast"]
MODES = ["light", "dark", "more", "more dark"]
WASHED = ["good", "due", "hold", "lapse", "learn"]
TEXT_PAIRS = [
    ("ink", "sheet"),
    ("ink", "page"),
    ("ink", "steel"),
    ("ink-2", "sheet"),
    ("ink-2", "page"),
    ("rail-ink", "rail"),
    ("rail-2", "rail"),
    ("brass", "rail"),
    ("act", "sheet"),
    ("act", "page"),
    ("act-ink", "act"),
    ("none", "sheet"),
    *((name, ground) for name in WASHED for ground in ("sheet", f"{name}-wash")),
    *(("ink", f"{name}-wash") for name in [*WASHED, "gone", "act"]),
]
LINE_PAIRS = [("line-strong", "sheet"), ("line-strong", "page"), ("focus", "sheet"), ("focus", "page")]


class Example(forms.Form):
    day = forms.DateField(help_text="Such as 25 Nov 2026.")
    role = forms.ChoiceField(choices=[("a", "assistant")])
    dry = forms.BooleanField(label="Floor and door are dry")
    how = forms.ChoiceField(widget=forms.RadioSelect, choices=[("r", "real work")], help_text="One of these.")
    units = forms.MultipleChoiceField(
        widget=forms.CheckboxSelectMultiple, choices=[("1", "unit 1"), ("2", "unit 2")], required=False
    )
    note = forms.CharField(widget=forms.Textarea, required=False)


def refused_form() -> Example:
    form = Example({"day": "03/04", "note": "typed before"})
    form.helper = FormHelper(form)
    form.helper.add_input(Submit("go", "Save the entry"))
    form.is_valid()
    return form


def sample_page() -> str:
    return engines["django"].from_string(SAMPLE_PAGE).render(page_context(refused_form()))


def test_the_parts_draw_example_data() -> None:
    page = sample_page()
    assert page.count("<h1") == 1
    assert 'id="refused"' in page


@pytest.mark.parametrize(
    ("part", "data"),
    [
        ("message", {"kind": "saved", "says": "Saved.", "lead": "Good."}),
        ("message", {"kind": "refused", "says": "Not saved."}),
        ("empty", {"means": "Nothing.", "do": "Start", "href": "#"}),
        ("refusal", {"id": "r", "title": "Not yet", "lead": "Missing:", "pieces": PIECES, "actions": [("Go", "#")]}),
        ("refusal", {"pieces": PIECES}),
        ("statement", {"says": "I watched it."}),
        ("confirm", {"says": "It ends today.", "go": "Withdraw", "back": "#", "csrf_token": "token"}),
        ("day_stepper", {"day": date(2026, 11, 25)}),
        ("key", {"states": "current,due"}),
        ("facts", {"rows": [("Stop", "red button")]}),
        ("progress", {"says": "Being built", "done": 1, "of": 2}),
        ("table", {"caption": "All", "heads": ["a", "b"], "rows": [["one", "two"]]}),
    ],
)
def test_a_part_asks_for_no_variable_that_is_not_told(part: str, data: dict) -> None:
    assert render_to_string(f"parts/{part}.html", data).strip()


def test_a_refusal_shows_every_missing_piece_at_once() -> None:
    page = render_to_string("parts/refusal.html", {"pieces": PIECES})
    missing = [piece for piece in PIECES if not piece.there]
    assert all(piece.says in page and piece.supply in page for piece in missing)
    assert page.count('aria-label="missing"') == len(missing)


def test_a_refused_form_keeps_what_was_typed_and_ties_each_error_to_its_field() -> None:
    page = sample_page()
    assert 'value="03/04"' in page and "typed before" in page
    told = set(re.findall(r'aria-describedby="([^"]+)"', page))
    ids = set(re.findall(r'id="([^"]+)"', page))
    assert {word for words in told for word in words.split()} <= ids


def test_pages_carry_no_inline_style_or_script() -> None:
    sources = "\n".join(path.read_text() for path in TEMPLATES.rglob("*.html")) + sample_page()
    assert not re.search(r'\sstyle=|\son[a-z]{3,}="|<style|<script(?![^>]*\bsrc=)', sources)


def test_every_state_class_has_a_shape() -> None:
    rules = re.findall(r"^(\.is-[^{]+)\{ --c", TOKENS, flags=re.M)
    states = {name for rule in rules for name in re.findall(r"\.is-([\w-]+)", rule)}
    assert len(states) >= 22
    assert states <= SHAPES


def test_every_shape_named_in_a_template_exists() -> None:
    sources = "\n".join(path.read_text() for path in TEMPLATES.rglob("*.html"))
    named = set(re.findall(r'{% shape "([\w -]+)"', sources))
    assert {name.replace(" ", "-") for name in named} <= SHAPES


def luminance(colour: str) -> float:
    channels = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return sum(weight * c for weight, c in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def contrast(one: str, other: str) -> float:
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def tokens(mode: str) -> dict[str, str]:
    """The colours of a mode: later blocks of the sheet override earlier ones, as in a browser."""
    light, dark, more, more_dark = re.findall(r":root \{(.*?)\n\}", TOKENS, flags=re.S)
    blocks = {
        "light": [light],
        "dark": [light, dark],
        "more": [light, more],
        "more dark": [light, dark, more, more_dark],
    }
    return dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6});", "\n".join(blocks[mode])))


@pytest.mark.parametrize(("one", "other", "ratio", "enough"), CONTRAST)
def test_contrast_is_measured_as_published(one: str, other: str, ratio: float, enough: bool) -> None:
    assert contrast(one, other) == pytest.approx(ratio, abs=5e-4)
    assert (contrast(one, other) >= 4.5) is enough


@pytest.mark.parametrize("mode", MODES)
@pytest.mark.parametrize("pair", TEXT_PAIRS, ids="/".join)
def test_text_stands_out_from_its_ground(pair: tuple[str, str], mode: str) -> None:
    colours = tokens(mode)
    assert contrast(colours[pair[0]], colours[pair[1]]) >= 4.5


@pytest.mark.parametrize("mode", MODES)
@pytest.mark.parametrize("pair", LINE_PAIRS, ids="/".join)
def test_lines_of_fields_and_the_focus_stand_out(pair: tuple[str, str], mode: str) -> None:
    colours = tokens(mode)
    assert contrast(colours[pair[0]], colours[pair[1]]) >= 3
