"""Who may do what on the day: people by procedures, shapes only, with a count row and the key on every page."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from reportlab.lib.units import mm

from clinic.rules.words import begun, counted, number_words, several
from training.documents.paper import GREY, INK, SHADE, SIZES, fit_line, rule, said, spaced, text, width_of
from training.documents.shapes import STATES
from training.documents.tags import COLUMN_HEAD, ROW_HEAD, aside, tagged

from .content import BinderContent, MatrixRow
from .people import square
from .sheet import GRID as STAMPED
from .sheet import Sheet

TOP = 44 * mm
ROW, LEAST_ROW, NAMES, HEAD, WIDEST, CODE = 7.2 * mm, 5.8 * mm, 46 * mm, 40 * mm, 27, 8 * mm
# A title stands in at most two lines, at the largest of these sizes at which they fit.
TITLE_SIZES = (9, 8.5, 8, 7.5, 7, 6.5, 6)


@dataclass(frozen=True, slots=True)
class MatrixPages:
    """What every page of the matrix shares: how many may work alone at each procedure, the last page it may have, how many
    people stand on a page, and how high a row is."""

    content: BinderContent
    counts: tuple[int, ...]
    last: int
    people: int
    row: float


def sentence_of(minimum: int, counts: Sequence[int]) -> str:
    """How many procedures fewer people hold than the site asks for; says nothing of what is enough."""
    thin = sum(count < minimum for count in counts)
    if not thin:
        return f"Every procedure is held by at least {people_of(minimum)}."
    many = f"{begun(number_words(thin))} of {counted(len(counts), 'procedure')} {'is' if thin == 1 else 'are'}"
    return f"{many} held by fewer than {people_of(minimum)}."


def people_of(count: int) -> str:
    """One person, two people."""
    return several(count, "person", "people")


def usable(content: BinderContent) -> tuple[int, ...]:
    """How many of everybody in the matrix may work alone at each procedure."""
    columns = range(len(content.procedures))
    return tuple(sum(row.states[i] in ("current", "due") for row in content.matrix) for i in columns)


def draw(sheet: Sheet, content: BinderContent) -> None:
    if not content.procedures or not content.matrix:
        sheet.part("matrix", "Who may do what", fresh=False)
        sheet.none("Nobody needs any procedure on this day.")
        return
    people, row = layout(sheet.setting.paper, len(content.matrix))
    pages = -(-len(content.procedures) // WIDEST) * -(-len(content.matrix) // people)
    cut = pages > sheet.limit - sheet.page
    view = MatrixPages(content, usable(content), sheet.limit - 1 if cut else sheet.limit, people, row)
    sheet.running = ""
    for start in range(0, len(content.procedures), WIDEST):
        done = 0
        while done < len(content.matrix) and sheet.page < view.last:
            done += _page(sheet, view, start, done)
    if cut:
        _by_procedure(sheet, content)


def layout(paper: str, people: int) -> tuple[int, float]:
    """How many people stand on a page, as evenly as can be on as few pages as can be, and how high their rows are."""
    room = SIZES[paper][0] - TOP - 19 * mm - HEAD - 13 * mm
    most = int(room / LEAST_ROW) - 2
    pages = -(-people // most)
    each = -(-people // pages)
    return each, min(ROW, room / (each + 2))


def _by_procedure(sheet: Sheet, content: BinderContent) -> None:
    """Instead of the pages that a short form has no room for: everybody, counted."""
    sheet.new_page()
    sheet.title(f"All {counted(len(content.matrix), 'person', 'people')}, by procedure", 17)
    rows, words = [], [state.replace("-", " ") for state in STATES]
    for i, head in enumerate(content.procedures):
        states = Counter(row.states[i].replace("-", " ") for row in content.matrix)
        rows.append((f"{head.code} {head.title}", *(str(states[word] or "") for word in words)))
    sheet.table((("Procedure", 50), *((word, 15.5) for word in words)), rows)
    # Nothing follows on this page, so that a short form counts the same pages with it and without.
    sheet.y = sheet.bottom


def _page(sheet: Sheet, view: MatrixPages, start: int, done: int) -> int:
    """One page from person `done` and procedure `start` on; returns how many people it shows."""
    content = view.content
    sheet.new_page(wide=True)
    if not start and not done:
        sheet.bookmark("matrix", "Who may do what", 0)
    days = f"Who may do what on {said(content.as_of)}, as known on {said(content.known_by)}"
    above = sheet.y + 1 * mm
    sheet.y -= 6 * mm
    if start or done:  # the sentence is the same on each page, and is read once
        with aside(sheet.c, "Header"):
            sheet.title(sentence_of(content.minimum, view.counts), 17)
    else:
        sheet.title(sentence_of(content.minimum, view.counts), 17)
    text(sheet.c, sheet.left, above, days, "R", 10, GREY)
    shown = content.matrix[done : done + view.people]
    text(sheet.c, sheet.right, above, _part(sheet, view, start, done, len(shown)), "R", 9.5, GREY, side="right")
    step = min((sheet.right - sheet.left - NAMES) / len(content.procedures[start : start + WIDEST]), 14 * mm)
    with tagged(sheet.c, "Table"):
        _heads(sheet, content, start, step, view.row * (len(shown) + 1))
        with tagged(sheet.c, "TBody"):
            _rows(sheet, view, shown, start, step)
            _counts(sheet, view, start, step)
    _key(sheet, content.minimum)
    return len(shown)


def _part(sheet: Sheet, view: MatrixPages, start: int, done: int, shown: int) -> str:
    """Which people and procedures these are, of how many; and on the last page of a cut matrix, where the rest is."""
    people, procedures = len(view.content.matrix), len(view.content.procedures)
    end = min(start + WIDEST, procedures)
    columns = f", procedures {start + 1} to {end} of {procedures}" if procedures > WIDEST else ""
    left_out = (done + shown < people or end < procedures) and sheet.page >= view.last
    rest = "; the full binder holds the rest" if left_out else ""
    return f"people {done + 1} to {done + shown} of {people}{columns}{rest}"


def _heads(sheet: Sheet, content: BinderContent, start: int, step: float, below: float) -> None:
    """Codes and titles standing on end, every other column shaded down to its count."""
    heads, top = content.procedures[start : start + WIDEST], sheet.y + 3 * mm - HEAD
    sheet.c.tag("THead")
    sheet.c.row([""])
    for i, head in enumerate(heads):
        x = sheet.left + NAMES + step * i
        if i % 2 == 0:
            sheet.c.setFillColor(SHADE)
            sheet.c.rect(x, top - below, step, below + HEAD, stroke=0, fill=1)
        sheet.c.upright(x + step / 2, top + 2 * mm)
        with tagged(sheet.c, "TH", COLUMN_HEAD):
            text(sheet.c, 0, -1.1 * mm, f"{head.code} ", "X", 9)
            _title(sheet, head.title)
        sheet.c.lie()
    sheet.c.untag()
    sheet.c.untag()
    rule(sheet.c, sheet.left, top, sheet.left + NAMES + step * len(heads), heavy=True)
    sheet.y = top


def _title(sheet: Sheet, title: str) -> None:
    """One line, or two smaller ones, around the middle of the column; a still longer one ends with dots."""
    size, lines = title_lines(title)
    lead = size * 0.98
    for n, line in enumerate(lines):
        text(sheet.c, CODE, -0.36 * size + lead * ((len(lines) - 1) / 2 - n), line, "M", size)


@lru_cache(maxsize=1024)
def title_lines(title: str) -> tuple[float, tuple[str, ...]]:
    """The size and at most two lines of a title in the head of its column."""
    room = HEAD - CODE - 3 * mm
    for size in TITLE_SIZES:
        lines = spaced(title, room, "M", size)
        if len(lines) <= 2:
            return size, lines
    return size, (lines[0], f"{lines[1].rstrip()}…")


def _rows(sheet: Sheet, view: MatrixPages, people: Sequence[MatrixRow], start: int, step: float) -> None:
    size = min(5.4 * mm, view.row - 1.2 * mm)
    codes = [head.code for head in view.content.procedures[start : start + WIDEST]]
    for person in people:
        sheet.y -= view.row
        sheet.term("People", person.name)
        if sheet.dry:
            continue
        middle = sheet.y + view.row / 2
        record = view.content.record_of(person.name)
        sheet.c.tag("TR")
        with tagged(sheet.c, "TH", ROW_HEAD), sheet.link(record):
            fit_line(sheet.c, sheet.left, middle - 1.2 * mm, person.name, NAMES - 2 * mm, "B", 10)
            sheet.jump(record, sheet.left, sheet.y, sheet.left + NAMES, sheet.y + view.row)
        states = person.states[start : start + WIDEST]
        for i, (state, code) in enumerate(zip(states, codes, strict=True)):
            if state:
                line = square(record, code)
                x = sheet.left + NAMES + step * (i + 0.5)
                _square(sheet, state, line if line in sheet.known else record, (x, middle, size), (step, view.row))
            else:
                sheet.c.tag("TD")
                sheet.c.untag()
        sheet.c.untag()
        rule(sheet.c, sheet.left, sheet.y, sheet.left + NAMES + step * len(states))


def _square(sheet: Sheet, state: str, leads: str, at: tuple[float, float, float], box: tuple[float, float]) -> None:
    """A state, which leads to its line. `at`: the middle of its shape, and how large that is; `box`: how large the square is."""
    (x, middle, size), (step, row) = at, box
    low, says = (x - size / 2, middle - size / 2), state.replace("-", " ")
    if leads not in sheet.known:
        with tagged(sheet.c, "TD"):
            sheet.shape(state, *low, size, says)
        return
    where = (x - step / 2, sheet.y, x + step / 2, sheet.y + row)
    sheet.c.stamp_link(sheet.stamps[state], (*low, size / STAMPED), says, leads, where, f"page {sheet.known[leads]}")


def _counts(sheet: Sheet, view: MatrixPages, start: int, step: float) -> None:
    sheet.y -= view.row
    base = sheet.y + view.row / 2 - 1.2 * mm
    sheet.c.tag("TR")
    with tagged(sheet.c, "TH", ROW_HEAD):
        text(sheet.c, sheet.left, base, f"Good in it, of all {len(view.content.matrix)}", "X", 9.5)
    counts = view.counts[start : start + WIDEST]
    for i, count in enumerate(counts):
        x = sheet.left + NAMES + step * (i + 0.5)
        with tagged(sheet.c, "TD"):
            text(sheet.c, x, base, str(count), "X", 10.5, side="centre")
        if count < view.content.minimum:
            sheet.c.setStrokeColor(INK)
            sheet.c.setLineWidth(1.4)
            sheet.c.circle(x, base + 1.2 * mm, min(3.2 * mm, view.row / 2 - 0.3 * mm))
    sheet.c.untag()
    rule(sheet.c, sheet.left, sheet.y, sheet.left + NAMES + step * len(counts), heavy=True)


def _key(sheet: Sheet, minimum: int) -> None:
    x, y = sheet.left, sheet.y - 8 * mm
    for state in STATES:
        sheet.shape(state, x, y, 5 * mm)
        word = state.replace("-", " ")
        text(sheet.c, x + 6.5 * mm, y + 1.4 * mm, word, "M", 10)
        x += 11 * mm + width_of(word, "M", 10)
    says = f"blank: not needed for this job role · ringed: fewer than {minimum}"
    text(sheet.c, sheet.left, y - 5 * mm, says, "R", 9, GREY)
