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
    figures = lined_figures("R")  # of one face: the names of glyphs are those of the family, which a test holds
    for name, face in FACES.items():
        pdfmetrics.registerFont(_lining(TTFont(name, str(path_of(face))), _tables(face), figures))


def path_of(face: str) -> Path:
    return Path(fontpkg_alegreya_sans.ROOT) / "files" / f"AlegreyaSans-{face}.ttf"


def _tables(face: str) -> Tables:
    return Tables(path_of(face), lazy=True)


def lined_figures(name: str) -> dict[str, str]:
    """The glyph of each digit that stands on the line and is as wide as the others."""
    tables = _tables(FACES[name])
    lining, tabular, characters = _swaps(tables, "lnum"), _swaps(tables, "tnum"), tables.getBestCmap()
    found = {digit: lining.get(characters[ord(digit)], characters[ord(digit)]) for digit in "0123456789"}
    return {digit: tabular.get(glyph, glyph) for digit, glyph in found.items()}


def _lining(font: TTFont, tables: Tables, figures: dict[str, str]) -> TTFont:
    # The family writes old-style figures unless asked, and ReportLab cannot ask: point the digits elsewhere.
    widths, units = tables["hmtx"], tables["head"].unitsPerEm
    for digit, glyph in figures.items():
        font.face.charToGlyph[ord(digit)] = tables.getGlyphID(glyph)
        font.face.charWidths[ord(digit)] = widths[glyph][0] * 1000 / units
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
