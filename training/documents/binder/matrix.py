"""Who may do what on the day: people by procedures, shapes only, with a count row and the key on every page."""

from collections import Counter
from collections.abc import Sequence

from reportlab.lib.units import mm

from training.documents.paper import GREY, INK, SHADE, SIZES, fitted, rule, said, text, width_of
from training.documents.shapes import STATES, draw_shape

from .content import BinderContent, MatrixRow
from .sheet import Sheet
from .summary import spelt

TOP = 44 * mm
ROW, NAMES, HEAD, WIDEST, CODE = 7.2 * mm, 46 * mm, 40 * mm, 22, 8 * mm


def sentence(content: BinderContent) -> str:
    """How many procedures fewer people hold than the site asks for; says nothing of what is enough."""
    columns = range(len(content.procedures))
    thin = sum(usable(content, i) < content.minimum for i in columns)
    if not columns:
        return "No procedure is asked of anybody."
    if not thin:
        return f"Every procedure is held by at least {people_of(content.minimum)}."
    many = f"{spelt(thin).capitalize()} of {len(columns)} procedures {'is' if thin == 1 else 'are'}"
    return f"{many} held by fewer than {people_of(content.minimum)}."


def people_of(count: int) -> str:
    """One person, two people."""
    return f"{spelt(count)} {'person' if count == 1 else 'people'}"


def usable(content: BinderContent, column: int) -> int:
    """How many may work alone at the procedure of this column, of everybody in the matrix."""
    return sum(row.states[column] in ("current", "due") for row in content.matrix)


def draw(sheet: Sheet, content: BinderContent) -> None:
    if not content.procedures or not content.matrix:
        sheet.part("matrix", "Who may do what", fresh=False)
        sheet.none("No procedure is asked of anybody on this day.")
        return
    last = sheet.limit - 1 if _pages(sheet, content) > sheet.limit - sheet.page else sheet.limit
    for start in range(0, len(content.procedures), WIDEST):
        done = 0
        while done < len(content.matrix) and sheet.page < last:
            done += _page(sheet, content, start, done, last)
    if last < sheet.limit:
        _by_procedure(sheet, content)


def _pages(sheet: Sheet, content: BinderContent) -> int:
    rows = _fits(SIZES[sheet.setting.paper][0] - TOP - 19 * mm)
    return -(-len(content.procedures) // WIDEST) * -(-len(content.matrix) // rows)


def _fits(room: float) -> int:
    """How many people stand on a page with this much room below its title."""
    return int((room - HEAD - 12 * mm - 2 * ROW) / ROW)


def _by_procedure(sheet: Sheet, content: BinderContent) -> None:
    """Instead of the pages that a short form has no room for: everybody, counted."""
    sheet.new_page()
    sheet.title(f"All {len(content.matrix)} people, by procedure", 17)
    rows = []
    for i, head in enumerate(content.procedures):
        states = Counter(row.states[i].replace("-", " ") for row in content.matrix)
        counts = [str(states[state.replace("-", " ")] or "") for state in STATES]
        rows.append((f"{head.code} {head.title}", *counts))
    sheet.table((("Procedure", 62), *((state.replace("-", " "), 14) for state in STATES)), rows)
    # Nothing follows on this page, so that a short form counts the same pages with it and without.
    sheet.y = sheet.bottom


def _page(sheet: Sheet, content: BinderContent, start: int, done: int, last: int) -> int:
    """One page from person `done` and procedure `start` on; returns how many people it shows."""
    sheet.new_page(wide=True)
    if not start and not done:
        sheet.bookmark("matrix", "Who may do what", 0)
    days = f"Who may do what on {said(content.as_of)}, as known on {said(content.known_by)}"
    text(sheet.c, sheet.left, sheet.y + 1 * mm, days, "R", 10, GREY)
    above = sheet.y + 1 * mm
    sheet.y -= 6 * mm
    sheet.title(sentence(content), 17)
    shown = content.matrix[done : done + _fits(sheet.y - sheet.bottom)]
    total = len(content.matrix)
    part = f"people {done + 1} to {done + len(shown)} of {total}"
    columns = f", procedures {start + 1} to {min(start + WIDEST, len(content.procedures))} of {len(content.procedures)}"
    left_out = done + len(shown) < total or start + WIDEST < len(content.procedures)
    cut = "; the full binder holds the rest" if left_out and sheet.page >= last else ""
    part += columns if len(content.procedures) > WIDEST else ""
    text(sheet.c, sheet.right, above, part + cut, "R", 9.5, GREY, side="right")
    _grid(sheet, content, start, shown)
    return len(shown)


def _grid(sheet: Sheet, content: BinderContent, start: int, people: Sequence[MatrixRow]) -> None:
    heads = content.procedures[start : start + WIDEST]
    step = min((sheet.right - sheet.left - NAMES) / max(len(heads), 1), 14 * mm)
    top = sheet.y + 3 * mm - HEAD
    right = sheet.left + NAMES + step * len(heads)
    for i, head in enumerate(heads):
        x = sheet.left + NAMES + step * i
        if i % 2 == 0:
            sheet.c.setFillColor(SHADE)
            sheet.c.rect(x, top - ROW * (len(people) + 1), step, ROW * (len(people) + 1) + HEAD, stroke=0, fill=1)
        sheet.c.saveState()
        sheet.c.translate(x + step / 2 + 1.1 * mm, top + 2 * mm)
        sheet.c.rotate(90)
        text(sheet.c, 0, 0, head.code, "X", 9)
        text(sheet.c, CODE, 0, head.title, "M", fitted(head.title, HEAD - CODE - 3 * mm, "M", 9))
        sheet.c.restoreState()
    rule(sheet.c, sheet.left, top, right, heavy=True)
    y = top
    for person in people:
        y -= ROW
        sheet.term("People", person.name)
        text(sheet.c, sheet.left, y + 2.4 * mm, person.name, "B", fitted(person.name, NAMES - 2 * mm, "B", 10))
        for i, state in enumerate(person.states[start : start + WIDEST]):
            if state:
                draw_shape(sheet.c, state, sheet.left + NAMES + step * (i + 0.5) - 2.7 * mm, y + 1.2 * mm, 5.4 * mm)
        rule(sheet.c, sheet.left, y, right)
    _counts(sheet, content, start, len(heads), step, y - ROW)
    _key(sheet, content.minimum, y - ROW - 8 * mm)


def _counts(sheet: Sheet, content: BinderContent, start: int, wide: int, step: float, y: float) -> None:
    text(sheet.c, sheet.left, y + 2.4 * mm, f"May work alone, of all {len(content.matrix)}", "X", 9.5)
    for i in range(wide):
        count = usable(content, start + i)
        x = sheet.left + NAMES + step * (i + 0.5)
        text(sheet.c, x, y + 2.4 * mm, str(count), "X", 10.5, side="centre")
        if count < content.minimum:
            sheet.c.setStrokeColor(INK)
            sheet.c.setLineWidth(1.4)
            sheet.c.circle(x, y + 3.6 * mm, 3.2 * mm)
    rule(sheet.c, sheet.left, y, sheet.left + NAMES + step * wide, heavy=True)


def _key(sheet: Sheet, minimum: int, y: float) -> None:
    x = sheet.left
    for state in STATES:
        draw_shape(sheet.c, state, x, y, 5 * mm)
        word = state.replace("-", " ")
        text(sheet.c, x + 6.5 * mm, y + 1.4 * mm, word, "M", 10)
        x += 11 * mm + width_of(word, "M", 10)
    says = f"blank: not asked of this job role · ringed: fewer than {minimum}"
    text(sheet.c, sheet.left, y - 5 * mm, says, "R", 9, GREY)
