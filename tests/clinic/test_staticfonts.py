"""The type of the pages comes from the installed package; the repository keeps none."""

import re
import subprocess
from pathlib import Path

from django.contrib.staticfiles import finders
from fontTools.ttLib import TTFont

from clinic.staticfonts import FACES, FontFinder, made_face, name_of

# ŉ (deprecated by Unicode) and ſ (the long s of old print) are not in the type
OUT_OF_USE = {0x149, 0x17F}
ROOT = Path(__file__).resolve().parents[2]


def test_every_face_the_sheet_asks_for_is_found() -> None:
    asked = re.findall(r'url\("(fonts/[^"]+)"\)', (ROOT / "clinic/static/register/tokens.css").read_text())
    assert len(asked) == len(FACES)
    assert all(finders.find(f"register/{path}") for path in asked)


def test_a_face_holds_every_letter_of_latin_extended_a_and_tabular_figures(tmp_path: Path) -> None:
    with TTFont(made_face("Regular", tmp_path)) as font:
        assert set(range(0x100, 0x180)) - OUT_OF_USE <= set(font.getBestCmap())
        assert {"tnum", "lnum"} <= {record.FeatureTag for record in font["GSUB"].table.FeatureList.FeatureRecord}


def test_a_subset_is_small_and_made_only_once(tmp_path: Path) -> None:
    first = made_face("Bold", tmp_path)
    made_at = first.stat().st_mtime_ns
    assert first.stat().st_size < 90_000
    assert made_face("Bold", tmp_path).stat().st_mtime_ns == made_at


def test_no_other_path_is_found() -> None:
    assert FontFinder().find("register/fonts/Other.woff") == []
    assert FontFinder().find("../secret") == []


def test_collecting_lists_every_face_under_its_folder() -> None:
    listed = {f"{storage.prefix}/{name}" for name, storage in FontFinder().list([])}
    assert listed == {f"register/fonts/{name_of(face)}" for face in FACES}


def test_the_repository_holds_no_font() -> None:
    held = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True).stdout.split()
    assert not [path for path in held if path.endswith((".ttf", ".otf", ".woff", ".woff2"))]
