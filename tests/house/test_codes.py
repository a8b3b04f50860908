"""No code of the library stands in the code: what a procedure or a task stands for is said in its own file."""

import ast
import re
from collections.abc import Iterator

from tests.house.sources import ROOMS, ROOT, name_of, python_files, templates
from training.rules.library import read_library

LIBRARY = read_library(ROOT / "fixtures" / "library")
CODES = {one.code for one in LIBRARY.procedures} | {one.code for one in LIBRARY.upkeep_tasks}
DEMO = "training/demo/"  # the invented practice lives by this very library
WORD = re.compile(r"[A-Za-z0-9]+")


def codes_in(text: str) -> Iterator[str]:
    """Codes that the code compares or passes on: a text that is nothing but codes. An example in a sentence is none."""
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            words = WORD.findall(node.value)
            if words and set(words) <= CODES:
                yield f"{node.lineno}: {node.value}"


def test_no_code_of_the_library_stands_in_the_code() -> None:
    files = [path for path in python_files(*ROOMS) if not name_of(path).startswith(DEMO)]
    found = [f"{name_of(path)}:{one}" for path in files for one in codes_in(path.read_text())]
    assert not found, f"{found}: say what it stands for in its file of the library (`stands_for`, `returns`)."


def test_no_page_names_one_either() -> None:
    pages = [(name_of(path), set(WORD.findall(path.read_text())) & CODES) for path in templates()]
    assert [page for page in pages if page[1]] == []


def test_a_code_would_be_found() -> None:
    text = '"""P03 in words."""\nSWAP = "P03"\nTASKS = ("U12, U13",)\nHELP = "Such as P03."\nOTHER = "P99"\n'
    assert list(codes_in(text)) == ["2: P03", "3: U12, U13"]


def test_there_are_codes_to_look_for() -> None:
    assert {"P01", "T01", "U01"} <= CODES and len(CODES) > 40
