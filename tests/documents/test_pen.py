"""The quick hand writes to the byte what the drawing library writes: the library itself is asked, string by string."""

import random
from io import BytesIO
from typing import Any

import pytest
from reportlab.pdfgen.canvas import Canvas

from training.documents.fonts import register_fonts
from training.documents.memo import Memo
from training.documents.paper import GREY, INK, LINE
from training.documents.pen import Look, Pen, number
from training.documents.tags import Canvas as Marking

LETTERS = "".join(map(chr, (*range(32, 127), *range(0xA1, 0x250), *range(0x370, 0x500), 0x2013, 0x2019, 0x2026)))
CHANCE = random.Random(7)


def both() -> tuple[Any, Any]:
    register_fonts()
    quick, library = (kind(BytesIO(), initialFontName="R", invariant=1) for kind in (Pen, Canvas))
    return quick, library


def strings(count: int, most: int = 40) -> list[str]:
    """Of every letter of several scripts, so that fonts come in parts, and with the signs that a string of the file escapes."""
    usual = ["", " ", "a (b) \\c", "Zoë Ångström-Łukasz", "2 Dec 2026", "№ 7"]
    return usual + ["".join(CHANCE.choices(LETTERS, k=CHANCE.randint(1, most))) for _ in range(count)]


def test_a_line_of_text_is_what_the_library_writes() -> None:
    quick, library = both()
    for words in strings(400) * 2:
        face, size = CHANCE.choice("RIMBX"), CHANCE.choice((8, 9.5, 10.123456))
        x, y = CHANCE.random() * 600, CHANCE.random()
        before = len(library._code)
        library.setFont(face, size)
        library.setFillColor(GREY)
        library.drawString(x, y, words)
        assert [GREY.fill, quick.line_of_text(x, y, words, face, size)] == library._code[before:]


def test_cells_are_what_the_library_writes() -> None:
    quick, library = both()
    for row in range(60):
        cells = [(x * 90.1, tuple(strings(3)[-CHANCE.randint(1, 5) :])) for x in range(4)]
        words = library.beginText()
        words.setFont("R", 9.5, 11.9)
        words.setFillColor(INK)
        for n, (x, lines) in enumerate(cells):
            words.setTextOrigin(x, row + 0.25)
            if n % 2:
                words._code.append("/TD BMC")
            for line in lines:
                words.textLine(line)
            if n % 2:
                words._code.append("EMC")
        marked = [("/TD BMC" if n % 2 else "", x, lines) for n, (x, lines) in enumerate(cells)]
        assert quick.text_of_cells(row + 0.25, marked, Look("R", 9.5, 11.9, INK)) == words.getCode()


def test_a_colour_and_a_number_are_what_the_library_writes() -> None:
    _, library = both()
    library.setStrokeColor(LINE)
    assert library._code == [LINE.stroke]
    for value in (0, -0.0, 1, 0.5, 1 / 3, -841.8897637795277, 1e-9, 12345.678901):
        library.setLineWidth(value)
        assert library._code[-1] == f"{number(value)} w"


def test_a_stamp_is_what_the_library_writes_with_its_mark() -> None:
    register_fonts()
    quick, library = (kind(BytesIO(), initialFontName="R", invariant=1) for kind in (Marking, Canvas))
    for canvas in (quick, library):
        canvas.beginForm("star")
        canvas.endForm()
    library.saveState()
    library.transform(0.25, 0, 0, 0.25, 77.1, 500.25)
    library.doForm("star")
    library.restoreState()
    quick.tag("P")
    quick.stamp("star", 77.1, 500.25, 0.25, "on hold")
    drawn = "\n".join(quick._code).split("\n")
    assert [line for line in drawn if "BDC" not in line] == library._code
    assert [line for line in drawn if "BDC" in line] == ["/Span<</MCID 0/ActualText(on hold)>>BDC"]


def test_what_is_kept_of_a_font_stays_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("training.documents.pen.KEPT", 50)
    quick, library = both()
    for words in strings(120):
        library.setFont("R", 10)
        library.drawString(1, 2, words)
        assert quick.line_of_text(1, 2, words, "R", 10) == library._code[-1]
        assert len(quick._words["R"]) <= 50


def test_a_memo_works_each_out_once_and_lets_all_go_where_they_are_too_many() -> None:
    asked: list[int] = []
    memo = Memo(lambda key: asked.append(key) or key * 2, most=3)
    assert [memo[key] for key in (1, 1, 2, 3, 1)] == [2, 2, 4, 6, 2] and asked == [1, 2, 3]
    assert memo[4] == 8 and list(memo) == [4] and memo[1] == 2
