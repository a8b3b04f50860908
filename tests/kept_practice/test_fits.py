"""Where the kept practice is of another scenario, library or table, all is played, and that is said in a sentence."""

import json
import lzma
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings

from tests.demo import TODAY
from tests.kept_practice.taking_up import kept
from training.demo import play as playing
from training.demo.kept import FILE, DoesNotFit, Kept


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The scenario with what is kept of it, to be changed."""
    for each in settings.DEMO_DIR.iterdir():
        (tmp_path / each.name).write_bytes(each.read_bytes())
    return tmp_path


def with_tables(folder: Path, change: Any) -> None:
    said = kept().said
    change(said["tables"])
    (folder / FILE).write_bytes(lzma.compress(json.dumps(said).encode(), preset=0))


@pytest.mark.parametrize("file", ["practice.yaml", "walk_round.yaml"])
def test_another_scenario_does_not_fit(folder: Path, file: str) -> None:
    assert Kept.read(folder, settings.LIBRARY_DIR)
    (folder / file).write_text((folder / file).read_text(encoding="utf-8") + "\n# more", encoding="utf-8")
    with pytest.raises(DoesNotFit, match="scenario or the library has changed"):
        Kept.read(folder, settings.LIBRARY_DIR)


def test_lines_that_end_otherwise_are_no_other_scenario(folder: Path) -> None:
    file = folder / "practice.yaml"
    file.write_bytes(file.read_bytes().replace(b"\n", b"\r\n"))
    assert Kept.read(folder, settings.LIBRARY_DIR)


@pytest.mark.parametrize(
    "change",
    [
        lambda tables: tables["clinic.use"].pop("units"),
        lambda tables: tables["clinic.use"].update({"gone": []}),
        lambda tables: tables.update({"clinic.gone": {"id": []}}),
    ],
)
def test_other_tables_do_not_fit(folder: Path, change: Any) -> None:
    with_tables(folder, change)
    with pytest.raises(DoesNotFit, match="tables have changed"):
        Kept.read(folder, settings.LIBRARY_DIR)


def test_where_it_does_not_fit_all_is_played_and_that_is_said(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (folder / FILE).unlink()
    said: list[str] = []
    monkeypatch.setattr(playing, "play", lambda *asked, **more: asked[2])
    assert playing.make(folder, settings.LIBRARY_DIR, TODAY, said.append) == TODAY
    [sentence] = said
    assert sentence.startswith("There is no kept practice, so all of it is played.") and "demo --keep" in sentence
