"""DEVELOPERS.md names every setting, command, standing and fact; the README's two commands are the ones that are run."""

import re

import pytest
from django.core.management import get_commands

from clinic.permissions import WHOM_TO_ASK, May
from tests.house.sources import DOCUMENTS, ROOMS, ROOT, python_files
from training.rules.facts import Basis, Evidence, Mark, Method, Outcome, State

DEVELOPERS, README = ((ROOT / name).read_text(encoding="utf-8") for name in ("DEVELOPERS.md", "README.md"))
SETTINGS = sorted(
    {word for path in python_files(*ROOMS) for word in re.findall(r"\"(MILLROOM_[A-Z_]+)\"", path.read_text("utf-8"))}
    | {"DATABASE_URL", "TEST_DATABASE_URL"}
)
COMMANDS = sorted(name for name, app in get_commands().items() if app in ROOMS)
WORDS = [word.value for kind in (State, Basis, Evidence, Mark, Method, Outcome, May) for word in kind]
TWO_COMMANDS = (
    ".ci/setup && .venv/bin/python manage.py demo",
    ".ci/setup dev && .venv/bin/python -m pytest",
)


@pytest.mark.parametrize("name", SETTINGS)
def test_every_setting_is_explained(name: str) -> None:
    assert f"`{name}`" in DEVELOPERS


def test_no_setting_is_explained_that_does_not_exist() -> None:
    assert set(re.findall(r"`(MILLROOM_[A-Z_]+)`", DEVELOPERS)) <= set(SETTINGS)


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_is_named(name: str) -> None:
    assert f"`{name}`" in DEVELOPERS


@pytest.mark.parametrize("word", WORDS)
def test_every_word_of_standing_is_named(word: str) -> None:
    assert f"*{word}*" in DEVELOPERS


def test_every_refusal_at_a_door_says_whom_to_ask() -> None:
    assert set(WHOM_TO_ASK) == set(May)


@pytest.mark.parametrize("command", TWO_COMMANDS)
def test_the_readme_has_the_command_on_a_line_of_its_own(command: str) -> None:
    assert command in README.splitlines()


def test_the_check_of_a_clean_clone_runs_the_readmes_test_command() -> None:
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    assert TWO_COMMANDS[1] in script.replace('"$VENV/bin/python"', ".venv/bin/python")


@pytest.mark.parametrize("name", DOCUMENTS)
def test_every_link_within_the_repository_leads_somewhere(name: str) -> None:
    text = (ROOT / name).read_text(encoding="utf-8")
    targets = [target.split("#")[0] for target in re.findall(r"\]\(([^)\s]+)\)", text) if "://" not in target]
    assert [target for target in targets if target and not (ROOT / target).exists()] == []
