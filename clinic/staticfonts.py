"""Serves the type of the pages from the installed font package. The repository keeps no font.

The first time a face is asked for, a Latin subset of it (all layout features kept) is made into `FONTS_DIR`, or into
`var/fonts` where the setting is absent. The licence of the type (OFL 1.1, no reserved name) allows this.
"""

import os
import tempfile
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import fontpkg_alegreya_sans
from django.conf import settings
from django.contrib.staticfiles.finders import BaseFinder
from django.core.files.storage import FileSystemStorage
from fontTools import subset
from fontTools.ttLib import TTFont

FACES = ("Regular", "Italic", "Medium", "Bold", "ExtraBold")
# Latin, Latin-1, Latin Extended-A, the dashes, quotes, ellipsis, primes, arrows and the signs of measures.
LETTERS = [
    *range(0x20, 0x7F),
    *range(0xA0, 0x180),
    *range(0x2010, 0x2034),
    0x2039,
    0x203A,
    0x20AC,
    0x2212,
    0x2264,
    0x2265,
]
FOLDER = "register/fonts"


class FontFinder(BaseFinder):
    """Finds `register/fonts/AlegreyaSans-….woff`, making it when it is not there yet."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        var = getattr(settings, "VAR_DIR", Path(settings.BASE_DIR) / "var")
        self.folder = Path(getattr(settings, "FONTS_DIR", var / "fonts"))

    def check(self, **kwargs: Any) -> list[Any]:
        return []

    def find(self, path: str, find_all: bool = False, **kwargs: Any) -> Any:
        """The file of one face, or an empty list where the path is none of them."""
        names = {f"{FOLDER}/{name_of(face)}": face for face in FACES}
        face = names.get(path.replace("\\", "/"))
        if face is None:
            return []
        made = str(made_face(face, self.folder))
        return [made] if find_all or kwargs.get("all") else made

    def list(self, ignore_patterns: Iterable[str] | None) -> Iterable[tuple[str, FileSystemStorage]]:
        storage = FileSystemStorage(location=str(self.folder))
        storage.prefix = FOLDER  # type: ignore[attr-defined]
        for face in FACES:
            yield made_face(face, self.folder).name, storage


def name_of(face: str) -> str:
    return f"AlegreyaSans-{face}.woff"


def made_face(face: str, folder: Path) -> Path:
    """The subset of a face, made once. Written aside, then moved, so that no second server reads half a file."""
    target = folder / name_of(face)
    if not target.exists():
        folder.mkdir(parents=True, exist_ok=True)
        handle, aside = tempfile.mkstemp(dir=folder, suffix=".part")
        os.close(handle)
        write_subset(fontpkg_alegreya_sans.ROOT / "files" / f"AlegreyaSans-{face}.ttf", Path(aside))
        Path(aside).replace(target)
    return target


def write_subset(source: Path, target: Path) -> None:
    options = subset.Options(layout_features=["*"], flavor="woff")
    with TTFont(source) as font:
        cutter = subset.Subsetter(options)
        cutter.populate(unicodes=LETTERS)
        cutter.subset(font)
        font.flavor = "woff"
        font.save(target)
