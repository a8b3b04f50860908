"""The first page: a sentence about what the register keeps, the days, three weights, and what an inspector asks."""

from reportlab.lib.units import mm

from training.documents.charts import draw_tracks
from training.documents.paper import GREY, INK, rule, said, short, text, wrap

from .content import BinderContent, Question
from .sheet import Sheet

SPELT = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
WEIGHTS = (("stop", "work must not go on"), ("fix", "by a day"), ("note", "only to be explained"))
OPEN = (
    ("stop", ("must stop", "must stop")),
    ("fix", ("is to be fixed", "are to be fixed")),
    ("note", ("is to be explained", "are to be explained")),
)
# Lines of the picture on the first page; the upkeep section shows every one.
MOST = 8
ASK, WHERE, LEAD = 58 * mm, 22 * mm, 4.2 * mm


def spelt(count: int) -> str:
    """Small numbers as words."""
    return SPELT[count] if count < len(SPELT) else str(count)


def sentence(content: BinderContent) -> str:
    """Speaks only of what the register keeps; never says what an inspection would find."""
    open_ones = [(getattr(content, weight), says) for weight, says in OPEN if getattr(content, weight)]
    parts = [
        f"{spelt(count)}{'' if n else ' thing' if count == 1 else ' things'} {one if count == 1 else many}"
        for n, (count, (one, many)) in enumerate(open_ones)
    ]
    words = ", ".join(parts) or "nothing that the register keeps is open"
    kept = content.kept_elsewhere
    more = f"{spelt(kept)} {'thing is' if kept == 1 else 'things are'}" if kept else "nothing is noted as"
    return f"{words[0].upper()}{words[1:]}; {more} kept elsewhere."


def draw(sheet: Sheet, content: BinderContent) -> None:
    sheet.new_page()
    sheet.bookmark("summary", "Summary", 0)
    _opening(sheet, content)
    if content.late:
        right = sheet.right - sheet.left
        sheet.y = draw_tracks(sheet.c, sheet.left, sheet.y, right, content.first, content.last, content.late[:MOST])
        sheet.y -= 6 * mm
    sheet.para(content.late_says, "I", 9, colour=GREY)
    _weights(sheet, content)
    sheet.head("What an inspector asks", "asks")
    for question in content.questions:
        _question(sheet, question)
    if not content.questions:
        sheet.none("No question is answered in this binder.")


def _opening(sheet: Sheet, content: BinderContent) -> None:
    number = f" {content.number}" if content.number else ""
    form = "short form" if content.short else "in full"
    period = f"{short(content.first)} to {short(content.last)}"
    sheet.para(f"Binder{number}, {form} · {content.organisation}, {content.site} · {period}", size=10, colour=GREY)
    sheet.y -= 3 * mm
    sheet.para(sentence(content), "X", 21)
    known = f"as known on {said(content.known_by)} at {content.known_by[11:16]}"
    sheet.para(f"Standing as of {said(content.as_of)}, {known}.", colour=GREY)


def _weights(sheet: Sheet, content: BinderContent) -> None:
    sheet.y -= 8 * mm
    for i, (weight, words) in enumerate(WEIGHTS):
        x = sheet.left + i * (sheet.right - sheet.left) / 3
        sheet.shape(weight, x, sheet.y - 3 * mm, 11 * mm)
        text(sheet.c, x + 14 * mm, sheet.y + 2.6 * mm, f"{getattr(content, weight)} {weight}", "X", 15)
        text(sheet.c, x + 14 * mm, sheet.y - 2 * mm, words, "R", 10, GREY)
    sheet.y -= 14 * mm


def _question(sheet: Sheet, question: Question) -> None:
    """The question, its answer over its source, and the page or the place."""
    middle = sheet.right - sheet.left - ASK - WHERE - 2 * mm
    columns = (
        (sheet.left, [(line, "B", 10) for line in wrap(question.ask, ASK - 3 * mm, "B", 10)]),
        (sheet.left + ASK, _answer(question, middle)),
        (sheet.right, [(line, "X", 10) for line in wrap(_where(sheet, question), WHERE, "X", 10)]),
    )
    deep = max(len(lines) for _, lines in columns) * LEAD
    sheet.need(deep)
    for x, lines in columns:
        for n, (line, font, size) in enumerate(lines):
            colour = GREY if font == "I" else INK
            side = "right" if x == sheet.right else "left"
            text(sheet.c, x, sheet.y - n * LEAD, line, font, size, colour, side)
    sheet.jump(question.section, sheet.left, sheet.y - deep + 4 * mm, sheet.right, sheet.y + 4 * mm)
    rule(sheet.c, sheet.left, sheet.y - deep + 2.8 * mm, sheet.right)
    sheet.y -= deep + 1.4 * mm


def _answer(question: Question, width: float) -> list[tuple[str, str, float]]:
    lines: list[tuple[str, str, float]] = [(line, "R", 10) for line in wrap(question.answer, width, "R", 10)]
    if question.source:
        lines += [(line, "I", 8.5) for line in wrap(question.source, width, "I", 8.5)]
    return lines


def _where(sheet: Sheet, question: Question) -> str:
    if question.section in sheet.known:
        return f"page {sheet.known[question.section]}"
    return question.kept or "full binder"
