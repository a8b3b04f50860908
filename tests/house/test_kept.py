"""Every form that is typed into is kept by the tablet until the register has it; one that is not says why, and stands here.

The walk over every page (`tests/demo_practice/test_walks.py`) asks `tests.house.html.faults` of what is really drawn."""

import re

import pytest

from tests.house.html import faults
from tests.house.sources import ROOT, python_files, templates

REASON = re.compile(r"""data-unkept(?:="|": ")([^"]+)\"""")
BESIDE = re.compile(r"<form\b[^>]*\starget=")
NOT_KEPT = {
    "clinic/forms/accounts.py": "a name and a password, and nobody is there yet to keep it for",
    "templates/clinic/account/second_factor.html": "a code that counts once",
    "templates/clinic/by_pin.html": "who comes in types a PIN and nothing else",
    "templates/clinic/incidents/near_miss.html": "no name is kept, and a tablet keeps under one",
    "templates/training/observe/bench.html": "the bench keeps its marks itself",
}
OPEN_BESIDE_THE_PAGE = {"templates/clinic/roster/invited.html"}  # a slip to print: nothing is typed

PAGE = "<html><title>T</title><h1>H</h1><i data-locks-in='9'></i>{}</html>"
TYPED = '<form method="post"><input name="why"></form>'
KEPT = TYPED + '<script id="entry"></script><template id="kept-notice"></template><script src="kept_form.js"></script>'


def test_the_forms_that_are_not_kept_are_these_each_for_its_reason() -> None:
    texts = {
        str(path.relative_to(ROOT)): path.read_text() for path in [*templates(), *python_files("clinic", "training")]
    }
    assert {name: found for name, text in texts.items() for found in REASON.findall(text)} == NOT_KEPT
    assert {name for name, text in texts.items() if BESIDE.search(text)} == OPEN_BESIDE_THE_PAGE


@pytest.mark.parametrize(
    ("form", "is_right"),
    [
        (TYPED, False),
        (KEPT, True),
        (TYPED.replace("<form", '<form data-unkept="so"'), True),
        ('<form method="post"><input type="hidden" name="a"><input type="password" name="b"><button></form>', True),
        ('<form method="get"><input name="q"></form>', True),
        ('<form method="post"><input type="checkbox" name="a"></form>', False),
    ],
)
def test_a_form_that_would_lose_what_is_typed_would_be_found(form: str, is_right: bool) -> None:
    assert (faults(PAGE.format(form)) == []) is is_right
