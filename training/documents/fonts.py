"""The one family of the paper, with figures that line up in columns.

The tables of a font are read by their published format (OpenType, ISO/IEC 14496-22): of each of five faces, three numbers a
digit. A library for fonts reads them whole, which took longer than the first paper itself.
"""

from collections.abc import Iterator
from functools import cache, lru_cache
from pathlib import Path
from struct import unpack_from
from typing import Any

import fontpkg_alegreya_sans
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

FACES = {"R": "Regular", "I": "Italic", "M": "Medium", "B": "Bold", "X": "ExtraBold"}
SINGLE, EXTENSION = 1, 7  # kinds of a lookup: one glyph for another, and one that stands elsewhere


@cache
def register_fonts() -> None:
    """Registers R, I, M, B and X once a process."""
    for name, face in FACES.items():
        pdfmetrics.registerFont(_lining(TTFont(name, str(path_of(face)))))


def path_of(face: str) -> Path:
    return Path(fontpkg_alegreya_sans.ROOT) / "files" / f"AlegreyaSans-{face}.ttf"


def _lining(font: TTFont) -> TTFont:
    # The family writes old-style figures unless asked, and ReportLab cannot ask: point the digits elsewhere.
    face: Any = font.face
    widths, units = face.get_table("hmtx"), unpack_from(">H", face.get_table("head"), 18)[0]
    for digit, glyph in lined_figures(face).items():
        face.charToGlyph[ord(digit)] = glyph
        face.charWidths[ord(digit)] = unpack_from(">H", widths, 4 * glyph)[0] * 1000 / units
    # Most papers say the same letters: the part of the font that holds them is cut out once.
    cut = face.makeSubset
    kept = lru_cache(maxsize=16)(lambda letters: cut(list(letters)))
    face.makeSubset = lambda letters: kept(tuple(letters))
    return font


def lined_figures(face: Any) -> dict[str, int]:
    """The glyph of each digit that stands on the line and is as wide as the others."""
    table = face.get_table("GSUB")
    lining, tabular = swaps(table, b"lnum"), swaps(table, b"tnum")
    usual = {digit: face.charToGlyph[ord(digit)] for digit in "0123456789"}
    lined = {digit: lining.get(glyph, glyph) for digit, glyph in usual.items()}
    return {digit: tabular.get(glyph, glyph) for digit, glyph in lined.items()}


def swaps(table: bytes, feature: bytes) -> dict[int, int]:
    """Which glyph a feature puts in place of which, in each script that has it."""
    features, lookups = unpack_from(">HH", table, 6)
    found: dict[int, int] = {}
    for n in range(_number(table, features)):
        tag, at = unpack_from(">4sH", table, features + 2 + 6 * n)
        if tag == feature:
            for lookup in _numbers(table, features + at + 2):
                start = lookups + _numbers(table, lookups)[lookup]
                kind = _number(table, start)
                for offset in _numbers(table, start + 4):
                    found |= _single(table, start + offset, kind)
    return found


def _single(table: bytes, at: int, kind: int) -> dict[int, int]:
    if kind == EXTENSION:
        kind, offset = unpack_from(">HI", table, at + 2)
        at += offset
    if kind != SINGLE:
        return {}
    form, covered = unpack_from(">HH", table, at)
    glyphs = list(_covered(table, at + covered))
    if form == 1:
        by = _number(table, at + 4)
        return {glyph: glyph + by & 0xFFFF for glyph in glyphs}
    return dict(zip(glyphs, _numbers(table, at + 4), strict=True))


def _covered(table: bytes, at: int) -> Iterator[int]:
    """The glyphs of a list, or of a list of ranges, in order."""
    if _number(table, at) == 1:
        yield from _numbers(table, at + 2)
    else:
        for n in range(_number(table, at + 2)):
            first, last = unpack_from(">HH", table, at + 4 + 6 * n)
            yield from range(first, last + 1)


def _number(table: bytes, at: int) -> int:
    return int(unpack_from(">H", table, at)[0])


def _numbers(table: bytes, at: int) -> tuple[int, ...]:
    """A list that says first how long it is."""
    return unpack_from(f">{_number(table, at)}H", table, at + 2)


@cache
def has_glyph(letter: str) -> bool:
    """Whether the family can draw this character."""
    register_fonts()
    font: Any = pdfmetrics.getFont("R")
    return ord(letter) in font.face.charToGlyph
