"""Rows of the handbook that the library, the code or a page rests on: each is named beside a test that holds it.

A test holds a row where it names it, in its own lines or in the table of values that it goes through, and where every
definition of the product that it names is reached from a page, a command or a document. A row that stands beside a rule
which nobody asks would look covered and reach no user.
"""

import ast
import re
from collections.abc import Iterator
from functools import cache

import pytest

from tests.house.product import module_of, product, reached
from tests.house.reach import Code, Key, read_code
from tests.house.sources import python_files, written_files

ROW = re.compile(r"\b[AEFKOSTWZ]-\d{2}\b")


def rows_of(texts: list[str]) -> set[str]:
    return {row for text in texts for row in ROW.findall(text)}


def texts_of(module: str, text: str) -> Iterator[tuple[Key, str]]:
    """The lines of each definition at the top of a module, with its decorators and the comments in and above it."""
    lines, above = text.splitlines(), 0
    for node in ast.parse(text).body:
        first = min([node.lineno, *(one.lineno for one in getattr(node, "decorator_list", []))])
        comments = [line for line in lines[above : first - 1] if line.startswith("#")]
        above = node.end_lineno or above
        names = [node.name] if isinstance(node, ast.FunctionDef | ast.ClassDef) else []
        if isinstance(node, ast.Assign):
            names = [one.id for target in node.targets for one in ast.walk(target) if isinstance(one, ast.Name)]
        yield from (((module, name), "\n".join([*comments, *lines[first - 1 : node.end_lineno]])) for name in names)


def held_rows(tests: dict[str, str], product: Code, reached: frozenset[Key]) -> set[str]:
    """The rows that tests hold, of modules by their names."""
    code = read_code(tests | dict.fromkeys(product.imports, ""))
    texts = {key: text for module, text in tests.items() for key, text in texts_of(module, text)}
    rows: set[str] = set()
    for key in code.pieces:
        if key[1].startswith("test_"):
            here = within(code, key)
            asked = {found for one in here for found in outside(code, product, one)}
            if all(one in reached for one in asked):
                rows |= rows_of([texts.get(one, "") for one in here])
    return rows


def within(code: Code, key: Key) -> set[Key]:
    """The definitions of the test's own module that it names, through one another."""
    found: set[Key] = set()
    work = {key}
    while work:
        found |= work
        work = {named for one in work for named in code.named_by(one) if named[0] == key[0]} - found
    return found


def outside(code: Code, product: Code, key: Key) -> set[Key]:
    """The definitions of the product that a piece of a test names."""
    return {found for name in code.pieces[key].names if (found := product.defined(name))}


RESTED_ON = rows_of([path.read_text() for path in written_files()])


@cache
def held() -> set[str]:
    return held_rows({module_of(path): path.read_text() for path in python_files("tests")}, product(), reached())


@pytest.mark.parametrize("row", sorted(RESTED_ON))
def test_what_is_rested_on_is_tested(row: str) -> None:
    assert row in held(), (
        f"{row} is cited, and no test of what users reach names it: hold its worked number, or cite it no longer."
    )


RULES = "def asked(): ...\ndef alone(): ...\n"
TESTS = """
from room.rules import alone, asked
VALUES = [("S-01", 1)]
LEFT = [("S-02", 1)]
def helper(): return alone()
def test_one(): assert asked() == VALUES
def test_two(): assert alone() == "S-03"
def test_three(): assert helper() == "S-04"
def test_four():
    # S-05
    assert True
# S-06: of what follows
def test_five(): asked()
"""


def test_a_row_beside_a_rule_that_nobody_asks_would_not_count() -> None:
    code = read_code({"room.rules": RULES})
    held = held_rows({"tests.test_it": TESTS}, code, frozenset({("room.rules", "asked")}))
    assert held == {"S-01", "S-05", "S-06"}


def test_there_are_rows_to_hold() -> None:
    assert len(RESTED_ON) > 100
