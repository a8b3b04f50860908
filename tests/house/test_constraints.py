"""What is installed for a check is what the tests ran with: every requirement has its exact version, within its range."""

import re
import tomllib

import pytest
from packaging.requirements import Requirement

from tests.house.sources import ROOT

PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
ASKED = [
    Requirement(line)
    for lines in (PROJECT["dependencies"], *PROJECT["optional-dependencies"].values())
    for line in lines
]
LINES = [line for line in (ROOT / ".ci" / "constraints.txt").read_text().splitlines() if not line.startswith("#")]


def plain(name: str) -> str:
    """PyPA, names and normalization: case, dots and lines do not matter (from memory)."""
    return re.sub(r"[-_.]+", "-", name).lower()


PINNED = {plain(name): version for name, version in (line.split("==") for line in LINES)}


@pytest.mark.parametrize("asked", ASKED, ids=str)
def test_a_requirement_is_pinned_within_its_range(asked: Requirement) -> None:
    assert asked.specifier.contains(PINNED[plain(asked.name)])


def test_every_line_is_one_exact_version_and_in_order() -> None:
    assert [line for line in LINES if not re.fullmatch(r"[A-Za-z0-9._-]+==[0-9][A-Za-z0-9.+!]*", line)] == []
    assert list(PINNED) == sorted(PINNED) and len(PINNED) == len(LINES)


def test_the_check_installs_from_it() -> None:
    assert "-c .ci/constraints.txt" in (ROOT / ".ci" / "setup").read_text()
