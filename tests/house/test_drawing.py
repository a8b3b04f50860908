"""The drawing of the house in DEVELOPERS.md is what the imports are, and its walks go forward only."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.house.sources import ROOMS, ROOT, python_files

DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
FLOOR = re.compile(r"^  ([a-z, ]+?) *►((?: [a-z]+)*)", re.MULTILINE)
WALK = re.compile(r"^- \*\*[a-z -]+\*\*: (`[a-z]+/.*(?:\n  .*)*)", re.MULTILINE)
ONE_FILE = {"addresses"}  # a floor that is one file in each room
BEYOND = {"migrations", "formats", "sqlite3"}  # no floors of the house: written once, and named by Django only


def drawn(text: str) -> dict[str, set[str]]:
    """By floor, the floors that it may import."""
    found: dict[str, set[str]] = {}
    for floors, may in FLOOR.findall(text):
        for floor in floors.split(", "):
            found.setdefault(floor, set()).update(may.split())
    return found


def imported(path: Path) -> Iterator[str]:
    """Modules of this project that the file names, dotted; of `from a import b` both a and a.b."""
    package = path.relative_to(ROOT).parts[:-1]
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            above = package[: len(package) - node.level + 1] if node.level else ()
            base = ".".join([*above, *filter(None, [node.module])])
            yield from (base, *(f"{base}.{alias.name}" for alias in node.names))


def floor_of(module: str) -> str:
    parts = module.split(".")
    in_a_room = parts[0] in ROOMS and len(parts) > 1
    is_floor = in_a_room and (parts[1] in ONE_FILE or (ROOT / parts[0] / parts[1]).is_dir())
    return parts[1] if is_floor else ""


def against(floors: dict[str, set[str]]) -> set[str]:
    """Each import from floor to floor that the drawing does not have."""
    found = set()
    for path in python_files(*ROOMS):
        own = floor_of(".".join(path.relative_to(ROOT).with_suffix("").parts))
        if own and own not in BEYOND:
            asked = {floor_of(module) for module in imported(path)} - {"", own}
            found |= {f"{path.relative_to(ROOT)}: {floor}" for floor in asked - floors[own]}
    return found


def test_every_floor_is_drawn_and_none_that_is_not_there() -> None:
    there = {path.name for room in ROOMS for path in (ROOT / room).iterdir() if (path / "__init__.py").exists()}
    there |= {name for name in ONE_FILE for room in ROOMS if (ROOT / room / f"{name}.py").exists()}
    assert set(drawn(DEVELOPERS)) == there - BEYOND


def test_no_file_imports_what_the_drawing_does_not_let_it() -> None:
    assert against(drawn(DEVELOPERS)) == set()


def test_an_arrow_taken_out_of_the_drawing_would_be_missed() -> None:
    floors = drawn(DEVELOPERS)
    floors["reads"] = floors["reads"] - {"rules"}
    assert any(line.startswith("training/reads/ground.py") for line in against(floors))


WALKS = [re.findall(r"`([a-z_/]+\.py)`", walk) for walk in WALK.findall(DEVELOPERS)]


def test_there_are_four_walks() -> None:
    assert len(WALKS) == 4 and all(len(walk) > 3 for walk in WALKS)


@pytest.mark.parametrize("walk", WALKS, ids=lambda walk: walk[0])
def test_each_file_of_a_walk_is_there_and_imported_by_one_before_it(walk: list[str]) -> None:
    known: set[str] = set()
    for name in walk:
        module = name.removesuffix(".py").removesuffix("/__init__").replace("/", ".")
        assert not known or module in known or module == "training.spans", name  # which hears of facts by a signal
        known |= set(imported(ROOT / name))
