"""A wall card: at most fifteen lines, readable from the bench, and anybody may stop it."""

from dataclasses import replace
from io import BytesIO

import pytest
from PIL import Image

from tests.documents.pieces import PAPERS, card
from tests.documents.reading import read, words
from tests.documents.structure import Told
from training.documents.wall_card import CardLine, TooLong, build


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("lines", [1, 15])
def test_it_is_one_page_with_every_line_and_the_stop_panel(paper: str, lines: int) -> None:
    data = build(card(lines, paper=paper))
    assert len(read(data).pages) == 1
    assert all(f"Line {n}: wait" in words(data) for n in range(1, lines + 1))
    assert "Anybody may stop it. Hands out. Press the red button. Leave it off." in words(data)


def numbers_on(data: bytes) -> list[list[int]]:
    """Of each page, the numbers of its lines as they are read."""
    pages: dict[int, list[int]] = {}
    told = Told(data)
    for label in told.root.of("Lbl"):
        mark = label.parts[-1]
        pages.setdefault(mark.page, []).append(int(mark.says.split()[-1]))
    return [pages[n] for n in sorted(pages)]


def test_more_lines_than_a_page_holds_stand_on_two_the_critical_ones_first() -> None:
    data = build(card(25))
    critical = [n for n in range(1, 26) if n % 2 == 0]
    first, second = numbers_on(data)
    assert set(critical) <= set(first) and first == sorted(first) and second == sorted(second)
    assert sorted(first + second) == list(range(1, 26))
    assert words(data).count("Anybody may stop it.") == 2 and "sheet 1 of 2" in words(data)


def test_lines_keep_the_numbers_of_their_steps_and_critical_ones_their_cautions() -> None:
    lines = [
        replace(line, number=n * 3, caution="Never with fingers." if line.critical else "")
        for n, line in enumerate(card(6).lines, 1)
    ]
    data = build(card(lines=lines))
    assert numbers_on(data) == [[3, 6, 9, 12, 15, 18]]
    assert words(data).count("Never with fingers.") == 3


@pytest.mark.parametrize("lines", [31, 18])
def test_a_card_that_two_pages_cannot_hold_is_refused_by_name(lines: int) -> None:
    long = [
        CardLine("Wait until each spindle stands still and the lamp is out. " * (1 if lines > 30 else 40), True)
    ] * lines
    with pytest.raises(TooLong, match="P06 Chamber cleaning has too much for a wall card"):
        build(card(lines=long))


def test_it_says_what_comes_first_what_is_critical_and_what_it_leaves_out() -> None:
    shown = words(build(card(more="14 more steps, 2 of them critical: see the checklist.")))
    assert "The maker’s instructions, edition 7 and local rules come first." in shown
    assert "done wrong, somebody can be hurt or the unit wrecked" in shown
    assert "14 more steps, 2 of them critical: see the checklist." in shown


def test_fifteen_long_lines_stay_above_the_stop_panel() -> None:
    lowest: list[float] = []

    def visit(text: str, cm: object, tm: list[float], font: object, size: float) -> None:
        if "Wait" in text:
            lowest.append(tm[5])

    long = [CardLine("Wait until each spindle stands still and the lamp over the door is out. " * 3, True)] * 15
    read(build(card(lines=long))).pages[0].extract_text(visitor_text=visit)
    assert len(lowest) >= 15 and min(lowest) > 165


def type_size(data: bytes) -> float:
    sizes: list[float] = []

    def visit(text: str, cm: object, tm: object, font: object, size: float) -> None:
        if "each spindle" in text:
            sizes.append(size)

    read(data).pages[0].extract_text(visitor_text=visit)
    return max(sizes)


def test_lines_are_set_as_large_as_their_length_allows() -> None:
    long = [CardLine("Wait until each spindle stands still and the lamp is out, then open the door.", True)] * 15
    assert type_size(build(card())) == 20
    assert 12 <= type_size(build(card(lines=long))) < 20


def jpeg(shade: int = 200) -> bytes:
    out = BytesIO()
    Image.new("RGB", (60, 40), (shade, 90, 60)).save(out, "JPEG")
    return out.getvalue()


def test_pictures_stand_beside_their_lines_and_never_make_them_small() -> None:
    few, many = {0: jpeg(), 3: jpeg(90)}, {n: jpeg(n * 9) for n in range(15)}
    assert len(read(build(card(5), pictures=few)).pages[0].images) == 2
    shown = build(card(15), pictures=many)
    assert 0 < len(read(shown).pages[0].images) < 15 and len(read(shown).pages) == 1
    long = [CardLine("Wait until each spindle stands still and the lamp over the door is out. " * 3, True)] * 15
    assert len(read(build(card(lines=long), pictures=few)).pages[0].images) == 0


def test_a_card_with_pictures_is_the_same_bytes_each_time() -> None:
    assert build(card(4), pictures={1: jpeg()}) == build(card(4), pictures={1: jpeg()})


def test_a_line_that_the_maker_wins_over_says_so_under_its_number_and_the_foot_says_what_it_means() -> None:
    shown = words(build(card(lines=[CardLine("Wait 90 seconds.", False, maker=True), CardLine("Wipe it.", False)])))
    assert shown.count("maker wins") == 2 and "most of all where a line says “maker wins”" in shown
    assert "maker wins" not in words(build(card(lines=[CardLine("Wipe it.", False)])))
