"""The first page: a sentence about what the register keeps, the days, three weights, and what an inspector asks."""

from collections.abc import Sequence

from reportlab.lib.units import mm

from clinic.rules.words import begun, several
from training.documents.charts import draw_tracks
from training.documents.paper import GREY, INK, rule, said, short, spaced, text
from training.documents.tags import ROW_HEAD, tagged

from .content import BinderContent, Question
from .sheet import Sheet

WEIGHTS = (("stop", "work must not go on"), ("fix", "by a day"), ("note", "only to be explained"))
OPEN = (
    ("stop", ("must stop", "must stop")),
    ("fix", ("is to be fixed", "are to be fixed")),
    ("note", ("is to be explained", "are to be explained")),
)
# Lines of the picture on the first page; the upkeep section shows every one.
MOST = 8
TRACK = 8.6 * mm
# What else stands between the picture and the questions: the rule of days, a line of words, the weights and a head.
BETWEEN = 52 * mm
ASK, WHERE = 58 * mm, 22 * mm
# From line to line of a question; the smaller where the page would not hold them all.
LEAD, TIGHT, APART = 4.2 * mm, 3.75 * mm, 1.4 * mm

Line = tuple[str, str, float]
Row = tuple[Question, list[tuple[float, list[Line]]]]


def sentence(content: BinderContent) -> str:
    """Speaks only of what the register keeps; never says what an inspection would find."""
    open_ones = [(getattr(content, weight), says) for weight, says in OPEN if getattr(content, weight)]
    parts = [
        several(count, one if n else f"thing {one}", many if n else f"things {many}")
        for n, (count, (one, many)) in enumerate(open_ones)
    ]
    words = ", ".join(parts) or "nothing that the register keeps is open"
    kept = content.kept_elsewhere
    more = several(kept, "thing is", "things are") if kept else "nothing is noted as"
    return f"{begun(words)}; {more} kept elsewhere."


def draw(sheet: Sheet, content: BinderContent) -> None:
    sheet.new_page()
    sheet.bookmark("summary", "Summary", 0)
    _opening(sheet, content)
    rows = [_row(sheet, question) for question in content.questions]
    if content.late:
        width, shown = sheet.right - sheet.left, content.late[: _tracks_beside(sheet, rows)]
        sheet.y = draw_tracks(sheet.c, sheet.left, sheet.y, width, content.first, content.last, shown)
        for track in shown:
            sheet.note(track.label)
        sheet.y -= 6 * mm
    sheet.para(content.late_says, "I", 9, colour=GREY)
    _weights(sheet, content)
    sheet.head("What an inspector asks", "asks")
    lead = LEAD if _depth(rows, LEAD) <= sheet.y - sheet.bottom else TIGHT
    if rows:
        with tagged(sheet.c, "Table"):
            for row in rows:
                _question(sheet, row, lead)
    if not rows:
        sheet.none("No question is answered in this binder.")


def _opening(sheet: Sheet, content: BinderContent) -> None:
    number = f" {content.number}" if content.number else ""
    form = "short form" if content.short else "in full"
    period = f"{short(content.first)} to {short(content.last)}"
    sheet.para(f"Binder{number}, {form} · {content.organisation}, {content.site} · {period}", size=10, colour=GREY)
    sheet.y -= 3 * mm
    sheet.para(sentence(content), "X", 21, kind="H1")
    sheet.level = 1
    known = f"as known on {said(content.known_by)} at {content.known_by[11:16]}"
    sheet.para(f"Standing as of {said(content.as_of)}, {known}. {content.coordinator}".strip(), colour=GREY)


def _weights(sheet: Sheet, content: BinderContent) -> None:
    sheet.y -= 8 * mm
    for i, (weight, words) in enumerate(WEIGHTS):
        x = sheet.left + i * (sheet.right - sheet.left) / 3
        sheet.shape(weight, x, sheet.y - 3 * mm, 11 * mm)
        with tagged(sheet.c, "P"):
            text(sheet.c, x + 14 * mm, sheet.y + 2.6 * mm, f"{getattr(content, weight)} {weight} ", "X", 15)
            text(sheet.c, x + 14 * mm, sheet.y - 2 * mm, words, "R", 10, GREY)
    sheet.y -= 14 * mm


def _tracks_beside(sheet: Sheet, rows: Sequence[Row]) -> int:
    """As many lines of the picture as leave room for every question on this page, at least one."""
    room = sheet.y - sheet.bottom - BETWEEN - _depth(rows, TIGHT)
    return max(1, min(MOST, int(room // TRACK)))


def _depth(rows: Sequence[Row], lead: float) -> float:
    return sum(_deepest(row) * lead + APART for row in rows)


def _deepest(row: Row) -> int:
    return max(len(lines) for _, lines in row[1])


def _row(sheet: Sheet, question: Question) -> Row:
    """The question, its answer over its source, and the page or the place, each wrapped where it stands."""
    middle = sheet.right - sheet.left - ASK - WHERE - 2 * mm
    asks: list[Line] = [(line, "B", 10) for line in spaced(question.ask, ASK - 3 * mm, "B", 10)]
    where: list[Line] = [(line, "X", 10) for line in spaced(_where(sheet, question), WHERE, "X", 10)]
    return question, [(sheet.left, asks), (sheet.left + ASK, _answer(question, middle)), (sheet.right, where)]


def _question(sheet: Sheet, row: Row, lead: float) -> None:
    question, columns = row
    deep = _deepest(row) * lead
    sheet.need(deep)
    sheet.c.tag("TR")
    for x, lines in columns:
        asks, last = x == sheet.left, x == sheet.right
        with (
            tagged(sheet.c, "TH" if asks else "TD", ROW_HEAD if asks else ""),
            sheet.link(question.section if last else ""),
        ):
            for n, (line, font, size) in enumerate(lines):
                colour = GREY if font == "I" else INK
                text(sheet.c, x, sheet.y - n * lead, line, font, size, colour, "right" if last else "left")
            if last:
                sheet.jump(question.section, sheet.left, sheet.y - deep + 4 * mm, sheet.right, sheet.y + 4 * mm)
    sheet.c.untag()
    sheet.note(question.answer)
    rule(sheet.c, sheet.left, sheet.y - deep + 2.8 * mm, sheet.right)
    sheet.y -= deep + APART


def _answer(question: Question, width: float) -> list[Line]:
    lines: list[Line] = [(line, "R", 10) for line in spaced(question.answer, width, "R", 10)]
    if question.source:
        lines[-1] = (f"{lines[-1][0]} ", "R", 10)
        lines += [(line, "I", 8.5) for line in spaced(question.source, width, "I", 8.5)]
    return lines


def _where(sheet: Sheet, question: Question) -> str:
    if question.section in sheet.known:
        return f"page {sheet.known[question.section]}"
    return question.kept or "full binder"
