"""Files and folders of the register are readable by its owner only, whatever the machine's usual rights are."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from clinic.start import shut
from tests.house.sources import ROOT

pytestmark = pytest.mark.one_database
SERVED = "from clinic.wsgi import application; from django.db import connection; connection.cursor()"


def rights(folder: Path) -> dict[str, str]:
    places = [folder, *folder.rglob("*")]
    return {str(place.relative_to(folder)): f"{place.stat().st_mode & 0o777:o}" for place in places}


@pytest.mark.parametrize("started", [["manage.py", "showmigrations", "clinic"], ["-c", SERVED]])
def test_what_the_register_makes_is_for_its_owner_only(tmp_path: Path, started: list[str]) -> None:
    """By its commands, and behind any other server of its door."""
    var, usual = tmp_path / "var", os.umask(0o022)
    try:
        known = {
            name: words
            for name, words in os.environ.items()
            if not name.startswith(("MILLROOM", "DATABASE_URL", "DJANGO"))
        }
        subprocess.run(
            [sys.executable, *started],
            cwd=ROOT,
            env=known | {"MILLROOM_VAR": str(var)},
            check=True,
            capture_output=True,
        )
    finally:
        os.umask(usual)
    found = rights(var)
    assert {"secret", "register.sqlite3", "static"} <= set(found)
    assert {name: mode for name, mode in found.items() if mode not in ("600", "700")} == {}


def test_a_folder_that_others_could_read_is_shut_at_the_start(tmp_path: Path) -> None:
    tmp_path.chmod(0o755)
    shut(tmp_path)
    assert rights(tmp_path) == {".": "700"}
