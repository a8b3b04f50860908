"""Every command of the register says what it does, with an example to copy, and refuses a wrong option with exit code 2."""

import os
import subprocess
import sys

import pytest
from django.core.management import call_command, get_commands, load_command_class
from django.core.management.base import BaseCommand

from tests.house.sources import ROOMS, ROOT

COMMANDS = sorted(name for name, app in get_commands().items() if app in ROOMS)


def command(name: str) -> BaseCommand:
    return load_command_class(get_commands()[name], name)


def help_of(name: str) -> str:
    return command(name).create_parser("manage.py", name).format_help()


@pytest.mark.parametrize("name", COMMANDS)
def test_help_has_an_example(name: str) -> None:
    assert f"manage.py {name}" in help_of(name).split("options:", 1)[0].split("\n", 1)[1]


@pytest.mark.parametrize("name", COMMANDS)
def test_help_says_what_the_command_does(name: str) -> None:
    assert len(command(name).help.strip()) > 20


@pytest.mark.parametrize("name", COMMANDS)
def test_a_wrong_option_is_refused(name: str) -> None:
    with pytest.raises((SystemExit, Exception)) as refused:
        call_command(name, "--no-such-option")
    assert refused.type.__name__ in ("SystemExit", "CommandError")


def test_what_few_pages_ask_is_not_loaded_at_the_start() -> None:
    """numpy and scipy took half of it. What signs papers need not even be there."""
    late = {"numpy", "scipy", "pyhanko"}
    asked = f"import sys, django; django.setup(); import clinic.urls; print(sorted({late} & set(sys.modules)))"
    environment = os.environ | {"DJANGO_SETTINGS_MODULE": "clinic.settings"}
    told = subprocess.run(
        [sys.executable, "-c", asked], cwd=ROOT, env=environment, capture_output=True, text=True, check=True
    )
    assert told.stdout.strip() == "[]"
