"""What a screen reader meets: every word once, in order, with its heads; nothing drawn that is neither read nor set aside.

ISO 32000-1, 14.7 and 14.8. Read back by another library than the one that drew, from the finished files.
"""

from collections import Counter
from functools import cache
from io import BytesIO
from typing import Any

import pikepdf
import pytest

from tests.documents.aloud import PLAIN, read_aloud
from tests.documents.made_up import certificate
from tests.documents.made_up_binder import full
from tests.documents.papers import PAPERS, paper, told
from tests.documents.pieces import blank, card
from tests.documents.reading import read
from tests.documents.rules import is_signature
from tests.documents.structure import Node, Pressed, Told
from training.documents.binder.build import BY_KEY
from training.documents.certificate_content import rows, sentence
from training.documents.checklist import MARKS, ONLY_WITH_A_WHEN, TO_TICK
from training.documents.paper import finish, flow, new_canvas, text
from training.documents.strings import text_string
from training.documents.tags import ROOT, Canvas, aside, figure, stands_for, tagged

BLOCKS = ("P", "H1", "H2", "H3", "TH", "TD", "Lbl")


def sheet(draw: Any) -> Told:
    buffer = BytesIO()
    canvas = new_canvas(buffer, "A sheet", "", "A4")
    draw(canvas)
    canvas.showPage()
    return Told(finish(canvas, buffer, None))


def letters(words: str) -> Counter[str]:
    return Counter(words.replace(" ", "").replace("\n", ""))


def spoken(node: Node) -> list[str]:
    """The words of each block, in order."""
    if node.kind in BLOCKS or (node.kind == "LBody" and not node.of("P")):
        words = " ".join(node.words().split())
        return [words] if words else []
    return [words for part in node.parts if isinstance(part, Node) for words in spoken(part)]


def parts_of(root: Node) -> dict[str, list[str]]:
    """The words of each part of a binder by its title, the title first."""
    found: dict[str, list[str]] = {}
    for part in root.parts:
        words = spoken(part)
        if part.kind == "H1":
            title = words[0]
            found[title] = []
        found.setdefault(title if found else "", []).extend(words)
    return found


@pytest.mark.parametrize("name", PAPERS)
def test_nothing_is_drawn_outside_of_every_mark(name: str) -> None:
    assert told(name).strays() == []


@pytest.mark.parametrize("name", PAPERS)
def test_every_mark_is_read_exactly_once(name: str) -> None:
    document = told(name)
    assert sorted(document.read) == sorted(document.marks())


@pytest.mark.parametrize("name", PAPERS)
def test_the_tree_and_what_is_set_aside_are_all_the_words_of_each_page(name: str) -> None:
    """Against the page as a library reads it that knows nothing of marks; where a mark reads otherwise, by its drawn words."""
    document = told(name)
    for n, page in enumerate(read(paper(name)).pages):
        said = [mark for mark in document.pages[n][0] if not mark.stands]
        drawn = letters("".join(mark.says for mark in said))
        assert not drawn - letters(page.extract_text()), n + 1
        left = letters(page.extract_text()) - drawn
        assert not left - letters("".join(mark.drawn for mark in document.pages[n][0] if mark.stands)), n + 1


@pytest.mark.parametrize("name", PAPERS)
def test_every_mark_and_link_leads_back_to_the_element_that_holds_it(name: str) -> None:
    """ISO 32000-1, 14.7.4.4: the parent tree."""
    document = told(name)
    numbers = list(document.pdf.Root.StructTreeRoot.ParentTree.Nums)
    owners = {int(numbers[n]): numbers[n + 1] for n in range(0, len(numbers), 2)}
    for node in document.root.all():
        for part in node.parts:
            if isinstance(part, Pressed):
                assert owners[int(part.entry.StructParent)].objgen == node.entry.objgen
            elif not isinstance(part, Node):
                page = document.pdf.pages[part.page].obj
                assert owners[int(page.StructParents)][part.number].objgen == node.entry.objgen
    assert len(owners) == len(document.pdf.pages) + len(document.pressed)


@pytest.mark.parametrize("name", PAPERS)
def test_every_note_of_every_page_is_in_the_tree_once(name: str) -> None:
    document = told(name)
    notes = [note.objgen for page in document.pdf.pages for note in page.get("/Annots", []) if not is_signature(note)]
    assert sorted(notes) == sorted(entry.objgen for entry in document.pressed)


@pytest.mark.parametrize("name", PAPERS)
def test_only_heads_feet_and_drawing_are_set_aside(name: str) -> None:
    """What is set aside with words in it is a head or a foot of its page."""
    for marks, _ in told(name).pages:
        assert all(mark.kind in ("/Header", "/Footer") for mark in marks if mark.number is None and mark.says.strip())


@pytest.mark.parametrize("name", PAPERS)
def test_every_cell_of_data_leads_to_a_head(name: str) -> None:
    document = told(name)
    named = {str(node.entry.ID): node for node in document.root.of("TH") if "/ID" in node.entry}
    for table in document.root.of("Table"):
        lines = [[cell for cell in row.parts if cell.kind in ("TH", "TD")] for row in table.of("TR")]
        for n, cells in enumerate(lines):
            for i, cell in enumerate(cells):
                if cell.kind == "TD" and cell.words().strip():
                    assert heads(cell, cells, i, lines[:n], named), cell.words()


def heads(cell: Node, row: list[Node], i: int, above: list[list[Node]], named: dict[str, Node]) -> list[str]:
    """The heads of a cell: those it names, else those of its row and column (ISO 32000-1, 14.8.4.3.4 and table 349)."""
    entry = cell.entry.get("/A", {})
    if "/Headers" in entry:
        return [named[str(name)].words() for name in entry.Headers]
    found = [head for head in row[:i] if head.kind == "TH" and head.entry.A.Scope == "/Row"]
    found += [
        line[i] for line in above if len(line) > i and line[i].kind == "TH" and line[i].entry.A.Scope == "/Column"
    ]
    return [head.words() for head in found]


@pytest.mark.parametrize("name", PAPERS)
def test_rows_of_a_table_are_of_one_width(name: str) -> None:
    for table in told(name).root.of("Table"):
        assert (
            len({sum(int(cell.entry.get("/A", {}).get("/ColSpan", 1)) for cell in row.parts) for row in table.of("TR")})
            == 1
        )


def test_a_grouped_cell_leads_to_its_column_and_to_its_group() -> None:
    document = told("binder")
    named = {str(node.entry.ID): node for node in document.root.of("TH") if "/ID" in node.entry}
    cell = next(node for node in document.root.of("TD") if node.words().startswith("signed by Tomas"))
    assert heads(cell, [], 0, [], named) == ["Because", "P01 Chamber safety"]


def test_the_names_of_heads_are_found_in_their_tree() -> None:
    """ISO 32000-1, 14.7.2: a name tree, in the order of its names."""
    document = told("binder")
    names = list(document.pdf.Root.StructTreeRoot.IDTree.Names)
    keys = [bytes(name) for name in names[::2]]
    assert keys == sorted(keys) and len(keys) == len(set(keys))
    ids = {bytes(node.entry.ID): node.entry.objgen for node in document.root.all() if "/ID" in node.entry}
    assert ids == {bytes(names[n]): names[n + 1].objgen for n in range(0, len(names), 2)}


@pytest.mark.parametrize("key", PLAIN)
def test_the_way_through_a_binder_is_the_reading_of_its_content(key: str) -> None:
    title = BY_KEY[key].title
    assert parts_of(told("binder").root)[title] == aloud()[key]


@cache
def aloud() -> dict[str, list[str]]:
    return read_aloud(full())


def test_a_matrix_is_read_name_by_name_and_each_square_by_its_word() -> None:
    content = full(15, 28, paper="Letter")
    tables = [table for table in told("letter binder").root.of("Table") if "Good in it" in table.words()]
    read_out: dict[str, list[str]] = {row.name: [] for row in content.matrix}
    for table in tables:
        for row in table.of("TR")[1:-1]:
            read_out[row.parts[0].words()] += [cell.words() for cell in row.parts[1:]]
    assert read_out == {row.name: [state.replace("-", " ") for state in row.states] for row in content.matrix}


def test_a_square_of_the_matrix_is_a_link_to_the_line_that_bears_it() -> None:
    table = next(table for table in told("letter binder").root.of("Table") if "Good in it" in table.words())
    squares = [cell for cell in table.of("TD") if cell.words() and cell.of("Link")]
    assert squares and all(link.links()[0].Contents for cell in squares for link in cell.of("Link"))


def test_questions_are_read_with_their_answers_and_where() -> None:
    table = next(table for table in told("binder").root.of("Table") if "Who watched them" in table.words())
    asked = [[" ".join(cell.words().split()) for cell in row.parts] for row in table.of("TR")]
    want = [[each.ask, " ".join(filter(None, (each.answer, each.source)))] for each in full().questions]
    assert [row[:2] for row in asked] == want


def test_a_procedure_is_read_as_a_numbered_list_with_its_cautions() -> None:
    listed = told("binder").root.of("L")[0]
    steps = full().texts[0].steps
    said = [[" ".join(part.words().split()) for part in item.parts] for item in listed.of("LI")]
    for n, (step, (number, body)) in enumerate(zip(steps, said, strict=True), start=1):
        words = f"When {step.when}: {step.words}" if step.when else step.words
        caution = f"Caution: {step.caution}" if step.caution else ""
        assert number == (f"Critical: {n}" if step.critical else str(n))
        assert body.replace(" ", "") == (words + caution).replace(" ", "")


def test_a_certificate_is_read_in_its_order() -> None:
    said, content = spoken(told("certificate").root), certificate()
    labels = [words for row in rows(content) for words in row]
    elements = [f"{each.name}: {each.how or 'no part of what was watched'}" for each in content.elements]
    wanted = [content.organisation, content.person, sentence(content), *labels, "Signed", content.signer, *elements]
    at = [said.index(words) for words in wanted]
    assert at == sorted(at)


def test_what_is_printed_across_a_certificate_is_read_first() -> None:
    assert spoken(told("withdrawn").root)[0] == "Not in force: withdrawn."


def test_a_wall_card_is_read_line_by_line() -> None:
    items = told("card").root.of("LI")
    said = [" ".join(" ".join(part.words() for part in item.parts).split()) for item in items]
    assert said == [
        f"{'Critical: ' if each.critical else ''}{n} {each.words}" for n, each in enumerate(card().lines, 1)
    ]


def test_a_checklist_says_where_there_is_a_box_to_tick() -> None:
    body = told("checklist").root.of("TBody")[0]
    for step, row in zip(blank().steps, body.of("TR"), strict=True):
        boxes = [cell.words() for cell in row.parts[1:]]
        assert boxes == [TO_TICK if step.when or mark not in ONLY_WITH_A_WHEN else "" for mark in MARKS]


def test_a_line_that_is_cut_is_read_whole() -> None:
    assert certificate().person not in ("", None)
    assert "".join(told("withdrawn").root.of("H1")[0].words().split()).count("Łukaszewska") == 3


def test_words_between_two_lines_are_parted_and_a_cut_word_is_not() -> None:
    words = "one two " * 30 + "x" * 400
    assert sheet(lambda c: flow(c, 60, 700, words, 200)).root.words() == words


def test_text_that_nobody_said_more_of_is_a_paragraph_of_its_own() -> None:
    assert spoken(sheet(lambda c: [text(c, 60, 700 - n * 20, f"line {n}") for n in range(3)]).root) == [
        "line 0",
        "line 1",
        "line 2",
    ]


def test_an_element_in_which_nothing_is_drawn_is_left_out() -> None:
    def draw(c: Any) -> None:
        with tagged(c, "L"), tagged(c, "LI"):
            text(c, 60, 700, "")
        text(c, 60, 600, "words")

    assert [node.kind for node in sheet(draw).root.all()] == ["Document", "P"]


def test_words_of_any_script_are_said_as_they_are() -> None:
    for words in ("plain", "a (b) \\c", "Zoë", "漢字", "שלום", "🦷"):
        said = pikepdf.Object.parse(text_string(words).encode())
        assert str(said) == words


# Each check above fails once: on a page that breaks just what it looks at.


class Unmarked(Canvas):
    """Draws its lines as the library does."""

    def _paint(self) -> None:
        self._mark(None)


def test_the_check_finds_what_is_drawn_outside_of_every_mark() -> None:
    buffer = BytesIO()
    canvas = Unmarked(buffer, initialFontName="R")
    canvas.about = new_canvas(BytesIO(), "x", "", "A4").about
    canvas.line(0, 0, 9, 9)
    canvas.showPage()
    assert Told(finish(canvas, buffer, None)).strays() == [(1, "S")]


def test_the_check_finds_a_mark_that_is_never_read() -> None:
    def draw(c: Any) -> None:
        text(c, 60, 700, "kept")
        text(c, 60, 600, "lost")
        c.tree.put(ROOT, c.tree.things(ROOT)[:-1])

    document = sheet(draw)
    assert sorted(document.read) != sorted(document.marks())


def test_the_check_finds_words_that_are_set_aside_though_they_are_text() -> None:
    def draw(c: Any) -> None:
        with aside(c):
            text(c, 60, 700, "lost")

    marks = sheet(draw).pages[0][0]
    assert [mark.kind for mark in marks if mark.says] == [""]


def test_the_check_finds_a_cell_without_a_head() -> None:
    def draw(c: Any) -> None:
        with tagged(c, "Table"), tagged(c, "TR"), tagged(c, "TD"):
            text(c, 60, 700, "alone")

    cell = sheet(draw).root.of("TD")[0]
    assert heads(cell, [cell], 0, [], {}) == []


def test_the_check_finds_another_order() -> None:
    def draw(c: Any) -> None:
        text(c, 60, 700, "second")
        text(c, 60, 600, "first")
        c.read_first(1)

    assert spoken(sheet(draw).root) == ["first", "second"]


def test_a_picture_reads_as_its_words_and_so_does_what_stands_for_others() -> None:
    def draw(c: Any) -> None:
        with figure(c, "a square", (0, 0, 9, 9)):
            c.rect(0, 0, 9, 9)
        with tagged(c, "P"), stands_for(c, "a line"):
            c.line(0, 0, 9, 9)

    document = sheet(draw)
    assert document.root.of("Figure")[0].entry.Alt == "a square" and spoken(document.root) == ["a line"]
