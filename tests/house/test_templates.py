"""Lines and pieces of templates; nothing inline, days and instants in the one way, and a misspelt variable fails its page."""

import re
from pathlib import Path

import pytest
from django.template import engines
from django.template.base import Template

from tests.house.sources import ROOMS, ROOT, name_of, python_files, templates
from tests.misspelt import MisspeltVariable

INLINE = {
    "an inline style": re.compile(r"<[^>]*\sstyle\s*=", re.I),
    "a style block": re.compile(r"<style\b", re.I),
    "an inline handler": re.compile(r"<[^>]*\son[a-z]+\s*=", re.I),
    "an inline script": re.compile(r"<script\b(?![^>]*\bsrc=)[^>]*>", re.I),
    "a script link": re.compile(r"""(href|action|src)\s*=\s*["']\s*javascript:""", re.I),
    "a day or an instant in a way of its own (said, short, instant, clock, weekday)": re.compile(r"\|(date|time)\b"),
    "something from another host": re.compile(r"""(src|href|action)\s*=\s*["'](https?:)?//""", re.I),
}
WIDE = 120  # as wide as the code
LONGEST = 150  # lines of a page with a piece put back into it
SHELVES = ("parts/", "practice/")  # the shelf, and what the library of forms asks for by its own names
# JSON handed to a script is data, not script: json_script writes it, and the policy lets it stand.
DATA_BLOCK = re.compile(r"""<script\b[^>]*type=["']application/json["'][^>]*>""", re.I)


def faults(text: str) -> list[str]:
    text = DATA_BLOCK.sub("", text)
    return [name for name, pattern in INLINE.items() if pattern.search(text)]


def too_long(text: str) -> list[str]:
    """Lines that a reader, or who compares two versions, does not take in at once."""
    return [line for line in text.splitlines() if len(line) > WIDE]


def django_template(source: str) -> Template:
    return engines["django"].from_string(source).template


@pytest.mark.parametrize("path", templates(), ids=name_of)
def test_a_template_has_nothing_inline(path: Path) -> None:
    assert faults(path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize("path", templates(), ids=name_of)
def test_no_line_of_a_template_is_over_120(path: Path) -> None:
    assert too_long(path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize("path", templates(), ids=name_of)
def test_a_template_can_be_read(path: Path) -> None:
    assert django_template(path.read_text(encoding="utf-8")).nodelist is not None


def lonely(texts: dict[str, str], named_in_code: str) -> list[str]:
    """Pieces in the folder of a room that one page uses once and no code draws, where they would not make it too long."""
    found = []
    for name, text in texts.items():
        users = [each for each in texts.values() for _ in range(each.count(f'{{% include "{name}"'))]
        if len(users) != 1 or name.startswith(SHELVES) or f'"{name}"' in named_in_code:
            continue
        if text.count("\n") + users[0].count("\n") <= LONGEST:
            found.append(name)
    return found


def test_a_piece_that_one_page_uses_once_stands_in_the_page() -> None:
    texts = {str(path.relative_to(ROOT / "templates")): path.read_text(encoding="utf-8") for path in templates()}
    code = "".join(path.read_text(encoding="utf-8") for path in python_files(*ROOMS, "tests"))
    assert lonely(texts, code) == []


def test_a_piece_used_once_would_be_found_and_one_used_twice_or_drawn_by_code_not() -> None:
    texts = {"a/page.html": '{% include "a/once.html" %}', "a/once.html": "", "a/other.html": "", "a/drawn.html": ""}
    texts["a/page.html"] += (
        '{% include "a/other.html" %}{% include "a/other.html" with x=1 %}{% include "a/drawn.html" %}'
    )
    assert lonely(texts, 'render("a/drawn.html")') == ["a/once.html"]


def test_the_walk_over_templates_saw_them_all() -> None:
    assert len(templates()) >= 45


@pytest.mark.parametrize(
    "text",
    [
        '<p style="color: red">',
        "<style>p {}</style>",
        '<button onclick="go()">',
        "<script>go()</script>",
        '<a href="javascript:go()">',
        '<script src="https://elsewhere.example/x.js"></script>',
        '{{ fact.recorded_at|date:"j F Y" }}',
    ],
)
def test_something_inline_would_be_found(text: str) -> None:
    assert faults(text)


def test_a_long_line_would_be_found() -> None:
    assert too_long("<p>\n" + "x" * 121 + "\n</p>") == ["x" * 121]


def test_a_misspelt_variable_fails() -> None:
    template = engines["django"].from_string("{{ persn.name }}")
    with pytest.raises(MisspeltVariable, match=r"persn\.name"):
        template.render({"person": "Wren"})


def test_a_variable_may_be_asked_about_without_being_there() -> None:
    template = engines["django"].from_string("{% if note %}{{ note }}{% else %}none{% endif %}")
    assert template.render({}) == "none"
