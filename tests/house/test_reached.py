"""What only tests call reaches nobody: a public rule, read, action or document is asked by a page, a command or a paper."""

import pytest

from tests.house.product import is_entry, product, reached
from tests.house.reach import Key, read_code


def orphans() -> set[Key]:
    def is_public(name: str) -> bool:
        return bool(name) and not any(part.startswith("_") for part in name.split("."))

    return {key for key in product().pieces if not is_entry(key[0]) and is_public(key[1])} - reached()


def test_whatever_is_public_is_called_outside_tests() -> None:
    found = sorted(f"{module}.{name}" for module, name in orphans())
    assert not found, f"Nothing but tests calls {', '.join(found)}: call it where a user meets it, or delete it."


PAGE = """
from room.rules import counting
from room.rules.wording import said as told
def page(total):
    return counting.counted(), told, Shape().area
def lonely(): ...
"""
COUNTING = """
MOST = 3
FEWEST = 1
def counted(): return helper() + MOST
def helper(): ...
def lonely(): return total()
def total(): ...
class Shape:
    def area(self): ...
"""
WORDING = "from room.rules.other import said\nfrom room.rules import writers\n"
WRITERS = """
def writes(kind): ...
@writes("use")
def use(fact): return worded(fact)
def worded(fact): ...
def unwritten(fact): ...
"""
OTHER = "def said(): ...\ndef unsaid(): return said()\n"
SMALL = {
    "room.views": PAGE + "from room.rules.counting import Shape\n", "room.rules.counting": COUNTING,
    "room.rules.wording": WORDING, "room.rules.other": OTHER,
    "room.rules.writers": WRITERS,
}  # fmt: skip


@pytest.mark.parametrize(
    ("module", "name", "is_reached"),
    [
        ("counting", "counted", True),  # as an attribute of its imported module
        ("counting", "helper", True),  # by what is reached
        ("counting", "MOST", True),
        ("counting", "FEWEST", False),
        ("counting", "lonely", False),  # the page has one of its own that is called so
        ("counting", "total", False),  # by what nothing reaches; an argument of the page is called so
        ("counting", "Shape.area", True),
        ("other", "said", True),  # under another name, handed on by a third module
        ("other", "unsaid", False),
        ("writers", "use", True),  # handed to a decorator in a module that is imported with another
        ("writers", "worded", True),
        ("writers", "unwritten", False),
    ],
)
def test_what_nothing_reaches_would_be_found(module: str, name: str, is_reached: bool) -> None:
    found = read_code(SMALL).reached(lambda one: one == "room.views")
    assert ((f"room.rules.{module}", name) in found) is is_reached


def test_most_of_the_code_was_read() -> None:
    assert len(product().pieces) > 3000
