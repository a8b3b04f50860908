"""What every paper is drawn with: one family, the screen's shapes, the rules' days, and text that is only ever text."""

import json
import re
import xml.etree.ElementTree as ET
from datetime import date
from io import BytesIO
from itertools import pairwise
from pathlib import Path
from struct import pack
from typing import Any

import pytest
from fontTools.ttLib import TTFont as Tables
from reportlab.lib.units import mm
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

import clinic
from clinic.rules.drawing import HEIGHTS, steel_rule
from tests.documents.made_up import LONG, certificate
from tests.documents.pieces import PAPERS, blank, card, documents, label, made, slip
from tests.documents.reading import FORBIDDEN, fonts, read, words
from training.documents.charts import ShownDays, Track, draw_rule, draw_tracks
from training.documents.fonts import FACES, lined_figures, path_of, register_fonts, swaps
from training.documents.paper import (
    INK,
    clean,
    finish,
    fit_line,
    new_canvas,
    page_foot,
    punch,
    said,
    short,
    width_of,
    wrap,
)
from training.documents.shapes import COLOUR, draw_shape, drawn

SHAPES = Path(clinic.__file__).parent / "static" / "register" / "shapes.svg"


def sheet(draw: Any, paper: str = "A4") -> bytes:
    buffer = BytesIO()
    canvas = new_canvas(buffer, "A sheet", "", paper)
    draw(canvas)
    canvas.showPage()
    return finish(canvas, buffer, None)


@pytest.mark.parametrize("name", documents())
def test_every_font_is_embedded_and_of_one_family(name: str) -> None:
    embedded = fonts(documents()[name])
    assert embedded and all(embedded.values())
    assert all("AlegreyaSans" in font for font in embedded)


def test_a_sheet_that_is_never_written_on_names_no_font_of_its_own() -> None:
    assert b"Helvetica" not in sheet(lambda canvas: canvas.rect(0, 0, 10, 10))


@pytest.mark.parametrize("name", documents())
def test_no_document_prints_a_forbidden_word(name: str) -> None:
    text = words(documents()[name]).casefold()
    assert [word for word in FORBIDDEN if word.casefold() in text] == []


def test_the_same_content_gives_the_same_bytes() -> None:
    assert made() == documents()


@pytest.mark.parametrize("name", documents())
def test_every_document_has_a_title_an_author_and_a_language(name: str) -> None:
    found = read(documents()[name])
    assert found.metadata.title and found.metadata.author == "Millroom Register"
    assert found.trailer["/Root"]["/Lang"] == "en-GB"
    assert found.xmp_metadata.dc_title["x-default"] == found.metadata.title


@pytest.mark.parametrize("content", [certificate(), card(), blank(), label(), slip()], ids=lambda c: type(c).__name__)
def test_content_comes_back_from_its_json_whole(content: Any) -> None:
    assert type(content).from_plain(json.loads(content.to_json())) == content


def test_content_with_an_unknown_field_is_refused() -> None:
    with pytest.raises(TypeError, match="has no field luck"):
        type(card()).from_plain({"luck": 1})


def test_digits_line_up_in_columns() -> None:
    register_fonts()
    for font in "RMBX":  # the zero of the italic is 0.7 % of an em wider, by its maker's hand
        assert len({pdfmetrics.stringWidth(digit, font, 100) for digit in "0123456789"}) == 1, font


def test_every_shape_of_the_screen_can_be_drawn_on_paper() -> None:
    symbols = ET.parse(SHAPES).getroot().iter("{http://www.w3.org/2000/svg}symbol")
    assert {symbol.attrib["id"] for symbol in symbols} == set(drawn()) - {"tick-box"}


def test_a_shape_has_as_many_pieces_as_its_symbol() -> None:
    for symbol in ET.parse(SHAPES).getroot().iter("{http://www.w3.org/2000/svg}symbol"):
        assert len(drawn()[symbol.attrib["id"]]) == len(list(symbol)), symbol.attrib["id"]


@pytest.mark.parametrize("name", drawn())
def test_a_shape_stays_near_its_grid(name: str) -> None:
    edge = 32 if name == "house" else 24
    numbers = [n for piece in drawn()[name] for _, pair in piece.commands for n in pair]
    assert numbers and min(numbers) >= 0 and max(numbers) <= edge


def test_every_state_of_a_picture_has_a_colour() -> None:
    assert {state.replace(" ", "-") for state in HEIGHTS} <= set(COLOUR)


def test_a_name_without_a_shape_is_refused() -> None:
    with pytest.raises(KeyError):
        sheet(lambda canvas: draw_shape(canvas, "luck", 0, 0, 10))


def test_the_rule_of_days_names_the_months_that_the_rules_name() -> None:
    picture = steel_rule(date(2026, 1, 1), date(2026, 7, 1), None)
    shown = words(sheet(lambda canvas: draw_rule(canvas, picture, 50, 700, 400)))
    assert shown.split() == [tick.words for tick in picture.ticks if tick.words]


def test_tracks_of_every_state_are_drawn_and_unknown_ones_refused() -> None:
    days = [ShownDays("2026-02-01", "2026-03-01", state, state == "overdue") for state in HEIGHTS]
    track = Track("all of them", days, ["2026-02-14"])
    shown = words(sheet(lambda canvas: draw_tracks(canvas, 50, 700, 400, "2026-01-01", "2026-12-31", [track])))
    assert "all of them" in shown
    luck = Track("x", [ShownDays("2026-02-01", "2026-03-01", "lucky")], [])
    with pytest.raises(KeyError):
        sheet(lambda canvas: draw_tracks(canvas, 50, 700, 400, "2026-01-01", "2026-12-31", [luck]))


def test_what_people_typed_is_drawn_as_typed() -> None:
    shown = words(sheet(lambda canvas: fit_line(canvas, 30, 700, LONG, 500, "R", 12)))
    assert shown == LONG


def test_letters_in_two_parts_are_joined_and_control_characters_dropped() -> None:
    assert clean("Zoe\u0308 \x07Ł\n") == "Zoë  Ł "
    assert clean("漢") == "?"


def test_a_line_that_cannot_fit_ends_with_a_sign_of_it() -> None:
    shown = words(sheet(lambda canvas: fit_line(canvas, 30, 700, "word " * 80, 200, "R", 12)))
    assert shown.endswith("…") and shown.startswith("word word")


@pytest.mark.parametrize("width", range(20, 260, 7))
def test_a_long_name_is_parted_after_its_hyphen_and_never_before_one(width: int) -> None:
    name = "Wilhelmina-Marguerite Featherstonehaugh-Montgomery-Cholmondeley-Abercrombie-Wolfeschlegel"
    lines = wrap(name, width, "R", 10)
    assert "".join(lines).replace(" ", "") == name.replace(" ", "") and not any(line.startswith("-") for line in lines)
    assert all(width_of(line, "R", 10) <= width or len(line) == 1 for line in lines)
    parts = re.findall(r"[^- ]+-?", name)
    if all(width_of(part, "R", 10) <= width for part in parts):
        assert all(any(part in line for line in lines) for part in parts)


@pytest.mark.parametrize("size", [6, 10.5, 21])
def test_wrapped_lines_are_never_wider_than_asked_and_lose_nothing(size: float) -> None:
    lines = wrap(LONG * 3, 120, "R", size)
    assert all(pdfmetrics.stringWidth(line, "R", size) <= 120 for line in lines)
    assert "".join("".join(lines).split()) == "".join((LONG * 3).split())


@pytest.mark.parametrize("paper", PAPERS)
def test_a_foot_says_which_page_of_how_many(paper: str) -> None:
    shown = words(sheet(lambda canvas: page_foot(canvas, 60, 500, LONG, 3, 12), paper))
    assert shown.endswith("page 3 of 12")


@pytest.mark.parametrize(
    ("width", "height", "apart", "holes"),
    [(210, 297, 80, 2), (297, 210, 80, 2), (215.9, 279.4, 107.95, 3), (279.4, 215.9, 107.95, 3)],
)
def test_holes_stand_on_the_long_edge_as_far_apart_as_the_paper_has_them(
    width: float, height: float, apart: float, holes: int
) -> None:
    """ISO 838: two holes, 80 mm between their middles (from memory); 4¼ inches on Letter (common practice, no source).
    The edge is the left one, of a page that lies across the upper one; the holes are about its middle."""
    ticks: list[tuple[float, ...]] = []

    class Pen:
        def line(self, *ends: float) -> None:
            ticks.append(tuple(n / mm for n in ends))

        def rule(self, x: float, y: float, right: float, *look: object) -> None:
            self.line(x, y, right, y)

        def __getattr__(self, name: str) -> Any:
            return lambda *args: None

    punch(Pen(), width * mm, height * mm)  # type: ignore[arg-type]
    along, edge = (0, [end[1] for end in ticks]) if width > height else (1, [end[0] for end in ticks])
    at = [end[along] for end in ticks]
    assert edge == pytest.approx([height if width > height else 0] * holes)
    assert [b - a for a, b in pairwise(at)] == pytest.approx([apart] * (holes - 1))
    assert sum(at) / holes == pytest.approx(max(width, height) / 2)


def test_days_are_said_in_one_way() -> None:
    assert said("2026-12-02") == "2 December 2026"
    assert short("2026-12-02T07:05") == "2 Dec 2026, 07:05"
    assert INK.hexval() == "0x14302b"


def swapped(tables: Any, feature: str) -> dict[str, str]:
    """What a library for fonts finds that the feature puts in place of each glyph."""
    found: dict[str, str] = {}
    table = tables["GSUB"].table
    for record in table.FeatureList.FeatureRecord:
        for index in record.Feature.LookupListIndex if record.FeatureTag == feature else ():
            for each in table.LookupList.Lookup[index].SubTable:
                found |= getattr(getattr(each, "ExtSubTable", each), "mapping", {})
    return found


@pytest.mark.parametrize("face", FACES)
def test_the_figures_of_each_face_are_the_lined_ones_with_their_own_widths(face: str) -> None:
    """Checked against a library for fonts."""
    register_fonts()
    tables = Tables(path_of(FACES[face]))
    usual, lining, tabular = tables.getBestCmap(), swapped(tables, "lnum"), swapped(tables, "tnum")
    glyphs = {digit: lining.get(usual[ord(digit)], usual[ord(digit)]) for digit in "0123456789"}
    glyphs = {digit: tabular.get(glyph, glyph) for digit, glyph in glyphs.items()}
    drawn: Any = pdfmetrics.getFont(face)
    assert lined_figures(TTFont("fresh", str(path_of(FACES[face]))).face) == {
        digit: tables.getGlyphID(glyph) for digit, glyph in glyphs.items()
    }
    widths = [tables["hmtx"][glyph][0] * 1000 / tables["head"].unitsPerEm for glyph in glyphs.values()]
    assert [drawn.face.charWidths[ord(digit)] for digit in glyphs] == widths


def test_a_swap_of_glyphs_by_a_distance_and_of_a_range_is_read_as_the_format_says() -> None:
    """OpenType, single substitution format 1 with coverage format 2: glyphs 5 to 7 become the one before each."""
    single = pack(">HHh", 1, 6, -1) + pack(">HHHHH", 2, 1, 5, 7, 0)
    lookup = pack(">HHHH", 1, 0, 1, 8) + single
    features = pack(">H4sH", 1, b"lnum", 8) + pack(">HHH", 0, 1, 0)
    table = pack(">HHHHH", 1, 0, 0, 10, 10 + len(features)) + features + pack(">HH", 1, 4) + lookup
    assert swaps(table, b"lnum") == {5: 4, 6: 5, 7: 6} and swaps(table, b"tnum") == {}
