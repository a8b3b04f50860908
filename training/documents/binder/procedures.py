"""The procedures in force, in full."""

from reportlab.lib.units import mm

from training.documents.paper import GREY, said, text, wrap
from training.documents.tags import DECIMAL, tagged

from .content import BinderContent, ProcedureText, Step
from .sheet import Sheet

BRIEF = (
    ("Procedure or topic", 62),
    ("Version", 14),
    ("In force from", 26),
    ("Approved by", 34),
    ("Checked against", 44),
)


def draw(sheet: Sheet, content: BinderContent) -> None:
    if content.short:
        sheet.part("procedures", "Procedures in force", fresh=False)
        rows = [
            (f"{p.code} {p.title}", str(p.version), said(p.in_force_from), p.approved_by, p.maker or "not noted")
            for p in content.texts
        ]
        sheet.table(BRIEF, rows, kind="Procedures", none="No procedure was in force.")
        return
    sheet.part(
        "procedures",
        "Procedures in force",
        "A cutter and bold letters mark a critical step. The maker’s instructions and local rules come first.",
    )
    for n, procedure in enumerate(content.texts):
        _procedure(sheet, procedure, f"procedure-{n}")
    if not content.texts:
        sheet.none("No procedure was in force.")


def _procedure(sheet: Sheet, procedure: ProcedureText, key: str) -> None:
    name = f"{procedure.code} {procedure.title}"
    sheet.running = ""
    sheet.head(name, key)
    sheet.running = f"{name}, continued"
    sheet.term("Procedures", name)
    sheet.para(_in_force(procedure), colour=GREY)
    sheet.para(procedure.purpose)
    for label, lines in (("Hazards", procedure.hazards), ("Wear", procedure.protection)):
        if lines:
            sheet.para(f"{label}: {'; '.join(lines)}")
    if procedure.steps:
        with tagged(sheet.c, "L", DECIMAL):
            for number, step in enumerate(procedure.steps, 1):
                _step(sheet, number, step)
    if not procedure.steps:
        sheet.none("This topic is taught, not watched: it has no steps.")
    _below(sheet, procedure)


def _in_force(procedure: ProcedureText) -> str:
    maker = procedure.maker
    checked = f"checked against {maker}" if maker else "not yet checked against the maker’s instructions"
    since = f"in force since {said(procedure.in_force_from)}"
    return f"Version {procedure.version}, {since}, approved by {procedure.approved_by}; {checked}."


def _below(sheet: Sheet, procedure: ProcedureText) -> None:
    """What a sign-off needs, what changed, and where it comes from."""
    if procedure.policy:
        asked = "; ".join(line.rstrip(".") for line in procedure.policy)
        sheet.para(f"Before a sign-off: {asked}.", size=9.5)
    if procedure.change:
        sheet.para(f"Changed in this version: {procedure.change}", size=9.5)
    if procedure.sources:
        sheet.para(f"Sources, said in full after the texts: {', '.join(procedure.sources)}", size=9, colour=GREY)


def _step(sheet: Sheet, number: int, step: Step) -> None:
    font, indent = "B" if step.critical else "R", 13 * mm
    words = f"When {step.when}: {step.words}" if step.when else step.words
    width = sheet.right - sheet.left - indent
    below = len(wrap(step.caution, width, "I", 9.5)) * 12.4 if step.caution else 0
    sheet.need(13.65 * len(wrap(words, width, font, 10.5)) + below)
    sheet.c.tag("LI")
    with tagged(sheet.c, "Lbl"):
        if step.critical:
            sheet.shape("critical", sheet.left, sheet.y - 1 * mm, 4.2 * mm, "Critical: ")
        text(sheet.c, sheet.left + 10.5 * mm, sheet.y, str(number), font, 10.5, side="right")
    with tagged(sheet.c, "LBody"):
        sheet.para(words, font, indent=indent)
        if step.caution:
            sheet.para(f"Caution: {step.caution}", "I", 9.5, indent=indent)
    sheet.c.untag()
