"""The code of both rooms read together, and what of it is reached from pages, commands, documents and the like."""

import re
from functools import cache
from pathlib import Path

from tests.house.reach import Code, Key, read_code
from tests.house.sources import ROOMS, ROOT, python_files, templates

LAYERS = {"rules", "reads", "actions", "documents", "gather"}
"""What only answers: everything else is an entry (a page, a command, a form, a model, the start) or is asked by name."""
WORD = re.compile(r"\w+")


def module_of(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def is_entry(module: str) -> bool:
    return not LAYERS & set(module.split(".")[:2])


@cache
def product() -> Code:
    return read_code({module_of(path): path.read_text() for path in python_files(*ROOMS)})


@cache
def reached() -> frozenset[Key]:
    words = {word for path in templates() for word in WORD.findall(path.read_text())}
    return frozenset(product().reached(is_entry, words))
