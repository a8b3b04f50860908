"""The one family of the paper, with figures that line up in columns."""

from functools import cache
from pathlib import Path
from typing import Any

import fontpkg_alegreya_sans
from fontTools.ttLib import TTFont as Tables
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

FACES = {"R": "Regular", "I": "Italic", "M": "Medium", "B": "Bold", "X": "ExtraBold"}


@cache
def register_fonts() -> None:
    """Registers R, I, M, B and X once a process."""
    for name, face in FACES.items():
        path = Path(fontpkg_alegreya_sans.ROOT) / "files" / f"AlegreyaSans-{face}.ttf"
        pdfmetrics.registerFont(_lining(TTFont(name, str(path)), Tables(path)))


def _lining(font: TTFont, tables: Tables) -> TTFont:
    # The family writes old-style figures unless asked, and ReportLab cannot ask: point the digits elsewhere.
    lining, tabular, characters = _swaps(tables, "lnum"), _swaps(tables, "tnum"), tables.getBestCmap()
    for digit in "0123456789":
        glyph = lining.get(characters[ord(digit)], characters[ord(digit)])
        glyph = tabular.get(glyph, glyph)
        font.face.charToGlyph[ord(digit)] = tables.getGlyphID(glyph)
        font.face.charWidths[ord(digit)] = tables["hmtx"][glyph][0] * 1000 / tables["head"].unitsPerEm
    return font


def _swaps(tables: Tables, tag: str) -> dict[str, str]:
    lookups = tables["GSUB"].table
    pairs: dict[str, str] = {}
    for record in lookups.FeatureList.FeatureRecord:
        if record.FeatureTag == tag:
            for index in record.Feature.LookupListIndex:
                for sub in lookups.LookupList.Lookup[index].SubTable:
                    pairs.update(getattr(getattr(sub, "ExtSubTable", sub), "mapping", {}))
    return pairs


@cache
def has_glyph(letter: str) -> bool:
    """Whether the family can draw this character."""
    register_fonts()
    font: Any = pdfmetrics.getFont("R")
    return ord(letter) in font.face.charToGlyph
