"""Who may do what on the day: people by procedures, shapes only, with a count row and the key on every page."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from reportlab.lib.units import mm

from training.documents.paper import GREY, INK, SHADE, SIZES, fitted, rule, said, text, width_of
from training.documents.shapes import STATES

from .content import BinderContent, MatrixRow
from .sheet import Sheet
from .summary import spelt

TOP = 44 * mm
ROW, NAMES, HEAD, WIDEST, CODE = 7.2 * mm, 46 * mm, 40 * mm, 22, 8 * mm


@dataclass(frozen=True, slots=True)
class View:
    """What every page of the matrix shares: how many may work alone at each procedure, and the last page it may have."""

    content: BinderContent
    counts: tuple[int, ...]
    last: int


def sentence(content: BinderContent) -> str:
    """How many procedures fewer people hold than the site asks for; says nothing of what is enough."""
    return _sentence(content.minimum, usable(content))


def _sentence(minimum: int, counts: Sequence[int]) -> str:
    thin = sum(count < minimum for count in counts)
    if not thin:
        return f"Every procedure is held by at least {people_of(minimum)}."
    many = f"{spelt(thin).capitalize()} of {len(counts)} procedures {'is' if thin == 1 else 'are'}"
    return f"{many} held by fewer than {people_of(minimum)}."


def people_of(count: int) -> str:
    """One person, two people."""
    return f"{spelt(count)} {'person' if count == 1 else 'people'}"


def usable(content: BinderContent) -> tuple[int, ...]:
    """How many of everybody in the matrix may work alone at each procedure."""
    columns = range(len(content.procedures))
    return tuple(sum(row.states[i] in ("current", "due") for row in content.matrix) for i in columns)


def draw(sheet: Sheet, content: BinderContent) -> None:
    if not content.procedures or not content.matrix:
        sheet.part("matrix", "Who may do what", fresh=False)
        sheet.none("No procedure is asked of anybody on this day.")
        return
    cut = _pages(sheet, content) > sheet.limit - sheet.page
    view = View(content, usable(content), sheet.limit - 1 if cut else sheet.limit)
    for start in range(0, len(content.procedures), WIDEST):
        done = 0
        while done < len(content.matrix) and sheet.page < view.last:
            done += _page(sheet, view, start, done)
    if cut:
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
    rows, words = [], [state.replace("-", " ") for state in STATES]
    for i, head in enumerate(content.procedures):
        states = Counter(row.states[i].replace("-", " ") for row in content.matrix)
        rows.append((f"{head.code} {head.title}", *(str(states[word] or "") for word in words)))
    sheet.table((("Procedure", 50), *((word, 15.5) for word in words)), rows)
    # Nothing follows on this page, so that a short form counts the same pages with it and without.
    sheet.y = sheet.bottom


def _page(sheet: Sheet, view: View, start: int, done: int) -> int:
    """One page from person `done` and procedure `start` on; returns how many people it shows."""
    content = view.content
    sheet.new_page(wide=True)
    if not start and not done:
        sheet.bookmark("matrix", "Who may do what", 0)
    days = f"Who may do what on {said(content.as_of)}, as known on {said(content.known_by)}"
    above = sheet.y + 1 * mm
    text(sheet.c, sheet.left, above, days, "R", 10, GREY)
    sheet.y -= 6 * mm
    sheet.title(_sentence(content.minimum, view.counts), 17)
    shown = content.matrix[done : done + _fits(sheet.y - sheet.bottom)]
    text(sheet.c, sheet.right, above, _part(sheet, view, start, done, len(shown)), "R", 9.5, GREY, side="right")
    step = min((sheet.right - sheet.left - NAMES) / len(content.procedures[start : start + WIDEST]), 14 * mm)
    _heads(sheet, content, start, step, len(shown))
    _rows(sheet, shown, start, step)
    _counts(sheet, view, start, step)
    _key(sheet, content.minimum)
    return len(shown)


def _part(sheet: Sheet, view: View, start: int, done: int, shown: int) -> str:
    """Which people and procedures these are, of how many; and on the last page of a cut matrix, where the rest is."""
    people, procedures = len(view.content.matrix), len(view.content.procedures)
    end = min(start + WIDEST, procedures)
    columns = f", procedures {start + 1} to {end} of {procedures}" if procedures > WIDEST else ""
    left_out = (done + shown < people or end < procedures) and sheet.page >= view.last
    rest = "; the full binder holds the rest" if left_out else ""
    return f"people {done + 1} to {done + shown} of {people}{columns}{rest}"


def _heads(sheet: Sheet, content: BinderContent, start: int, step: float, people: int) -> None:
    """Codes and titles standing on end, every other column shaded down to its count."""
    heads, top = content.procedures[start : start + WIDEST], sheet.y + 3 * mm - HEAD
    for i, head in enumerate(heads):
        x = sheet.left + NAMES + step * i
        if i % 2 == 0:
            sheet.c.setFillColor(SHADE)
            sheet.c.rect(x, top - ROW * (people + 1), step, ROW * (people + 1) + HEAD, stroke=0, fill=1)
        sheet.c.saveState()
        sheet.c.translate(x + step / 2 + 1.1 * mm, top + 2 * mm)
        sheet.c.rotate(90)
        text(sheet.c, 0, 0, head.code, "X", 9)
        text(sheet.c, CODE, 0, head.title, "M", fitted(head.title, HEAD - CODE - 3 * mm, "M", 9))
        sheet.c.restoreState()
    rule(sheet.c, sheet.left, top, sheet.left + NAMES + step * len(heads), heavy=True)
    sheet.y = top


def _rows(sheet: Sheet, people: Sequence[MatrixRow], start: int, step: float) -> None:
    for person in people:
        sheet.y -= ROW
        sheet.term("People", person.name)
        text(sheet.c, sheet.left, sheet.y + 2.4 * mm, person.name, "B", fitted(person.name, NAMES - 2 * mm, "B", 10))
        states = person.states[start : start + WIDEST]
        for i, state in enumerate(states):
            if state:
                x = sheet.left + NAMES + step * (i + 0.5) - 2.7 * mm
                sheet.shape(state, x, sheet.y + 1.2 * mm, 5.4 * mm)
        rule(sheet.c, sheet.left, sheet.y, sheet.left + NAMES + step * len(states))


def _counts(sheet: Sheet, view: View, start: int, step: float) -> None:
    sheet.y -= ROW
    text(sheet.c, sheet.left, sheet.y + 2.4 * mm, f"May work alone, of all {len(view.content.matrix)}", "X", 9.5)
    counts = view.counts[start : start + WIDEST]
    for i, count in enumerate(counts):
        x = sheet.left + NAMES + step * (i + 0.5)
        text(sheet.c, x, sheet.y + 2.4 * mm, str(count), "X", 10.5, side="centre")
        if count < view.content.minimum:
            sheet.c.setStrokeColor(INK)
            sheet.c.setLineWidth(1.4)
            sheet.c.circle(x, sheet.y + 3.6 * mm, 3.2 * mm)
    rule(sheet.c, sheet.left, sheet.y, sheet.left + NAMES + step * len(counts), heavy=True)


def _key(sheet: Sheet, minimum: int) -> None:
    x, y = sheet.left, sheet.y - 8 * mm
    for state in STATES:
        sheet.shape(state, x, y, 5 * mm)
        word = state.replace("-", " ")
        text(sheet.c, x + 6.5 * mm, y + 1.4 * mm, word, "M", 10)
        x += 11 * mm + width_of(word, "M", 10)
    says = f"blank: not asked of this job role · ringed: fewer than {minimum}"
    text(sheet.c, sheet.left, y - 5 * mm, says, "R", 9, GREY)
