"""Who may do what on the day: people by procedures, shapes only, with a count row and the key on every page."""

from collections.abc import Sequence

from reportlab.lib.units import mm

from training.documents.paper import GREY, INK, SHADE, fitted, rule, said, text, width_of
from training.documents.shapes import STATES, draw_shape

from .content import BinderContent, MatrixRow
from .sheet import Sheet

ROW, NAMES, HEAD, WIDEST = 7.6 * mm, 46 * mm, 40 * mm, 22


def draw(sheet: Sheet, content: BinderContent) -> None:
    for start in range(0, max(len(content.procedures), 1), WIDEST):
        done = 0
        while done < max(len(content.matrix), 1):
            first = not start and not done
            done += _page(sheet, content, start, content.matrix[done:], done, first)
            if sheet.page >= sheet.limit:
                return


def _page(sheet: Sheet, content: BinderContent, start: int, people: Sequence[MatrixRow], done: int, first: bool) -> int:
    sheet.new_page(wide=True)
    if first:
        sheet.bookmark("matrix", "Who may do what", 0)
    title = f"Who may do what on {said(content.as_of)}"
    text(sheet.c, sheet.left, sheet.y, title, "X", 17)
    fits = int((sheet.y - 5 * mm - HEAD - 26 * mm - ROW) / ROW)
    shown = people[:fits]
    total = len(content.matrix)
    part = f"people {done + 1 if total else 0} to {done + len(shown)} of {total}"
    columns = f", procedures {start + 1} to {min(start + WIDEST, len(content.procedures))} of {len(content.procedures)}"
    left_out = len(people) > fits or start + WIDEST < len(content.procedures)
    cut = "; the full binder holds the rest" if left_out and sheet.page >= sheet.limit else ""
    part += columns if len(content.procedures) > WIDEST else ""
    text(sheet.c, sheet.right, sheet.y, part + cut, "R", 9.5, GREY, side="right")
    _grid(sheet, content, start, shown)
    return max(len(shown), 1)


def _grid(sheet: Sheet, content: BinderContent, start: int, people: Sequence[MatrixRow]) -> None:
    heads = content.procedures[start : start + WIDEST]
    step = min((sheet.right - sheet.left - NAMES) / max(len(heads), 1), 14 * mm)
    top = sheet.y - 5 * mm - HEAD
    right = sheet.left + NAMES + step * len(heads)
    for i, head in enumerate(heads):
        x = sheet.left + NAMES + step * i
        if i % 2 == 0:
            sheet.c.setFillColor(SHADE)
            sheet.c.rect(x, top - ROW * (len(people) + 1), step, ROW * (len(people) + 1) + HEAD, stroke=0, fill=1)
        sheet.c.saveState()
        sheet.c.translate(x + step / 2 + 1.1 * mm, top + 2 * mm)
        sheet.c.rotate(90)
        text(
            sheet.c,
            0,
            0,
            f"{head.code}  {head.title}",
            "M",
            fitted(f"{head.code}  {head.title}", HEAD - 3 * mm, "M", 9),
        )
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
        count = sum(row.states[start + i] in ("current", "due") for row in content.matrix)
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
