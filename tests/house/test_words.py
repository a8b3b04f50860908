"""Words that are never printed: claims of approval that nobody gave (row K-11), and where packages come from."""

import re
from pathlib import Path

import pytest

from tests.house.sources import name_of, python_files, written_files

# K-11 of the handbook: honesty. Spelt in pieces, so that the list does not find itself.
NEVER = {
    "a certification that was not given": re.compile(r"ISO/IEC\s*17024\s+certified", re.I),
    "a claim of CLIA": re.compile(r"CLIA[\s-]+compliant", re.I),
    "an approval that does not exist": re.compile(r"OSHA[\s-]+approved", re.I),
    "a paragraph that does not exist": re.compile(re.escape("1910.132(f)" + "(4)")),
    "the host of a package registry": re.compile(r"(?:pypi|pythonhosted|npmjs|golang|debian)\.(?:org|com)", re.I),
    "a placeholder": re.compile(r"\bTODO\b|\bFIXME\b|lorem ipsum", re.I),
}
FILES = list(written_files())


def found_in(text: str) -> list[str]:
    return [name for name, pattern in NEVER.items() if pattern.search(text)]


@pytest.mark.parametrize("path", FILES, ids=name_of)
def test_a_file_never_says_it(path: Path) -> None:
    assert found_in(path.read_text(encoding="utf-8")) == []


def test_the_walk_over_written_files_saw_them_all() -> None:
    assert len(FILES) >= 150


@pytest.mark.parametrize(
    "text",
    [
        "ISO/IEC 17024 certified",
        "CLIA compliant",
        "OSHA approved",
        "29 CFR 1910.132(f)" + "(4)",
        "files.pythonhosted" + ".org",
    ],
)
def test_a_false_claim_would_be_found(text: str) -> None:
    assert found_in(text)


CHOICE = re.compile(r"ModelChoiceField\((?:[^()]|\([^()]*\))*\)")


@pytest.mark.parametrize("path", python_files("clinic/forms", "training/forms"), ids=name_of)
def test_no_choice_begins_with_a_row_of_dashes(path: Path) -> None:
    """The usual first choice of the framework says nothing to whoever hears it."""
    assert [call for call in CHOICE.findall(path.read_text()) if "empty_label" not in call] == []


LOWERS = re.compile(r"\.(capitalize|title)\(\)")
MAY_LOWER = {"clinic/forms/base.py"}  # a day that was typed, such as 25 NOV 2026


@pytest.mark.parametrize("path", python_files("clinic", "training"), ids=name_of)
def test_a_first_capital_lowers_no_name_and_no_abbreviation(path: Path) -> None:
    """`clinic.rules.words.begun` raises the first letter alone; these would print "Hepatitis b" and "Real work by p04"."""
    assert name_of(path) in MAY_LOWER or not LOWERS.search(path.read_text(encoding="utf-8"))


def test_a_lowered_name_would_be_found() -> None:
    assert LOWERS.search('f"{words}".capitalize()')
