"""Taught sessions with everybody who attended and the job title held that day."""

from training.documents.paper import GREY, said

from .content import BinderContent, Session
from .sheet import Sheet


def draw(sheet: Sheet, content: BinderContent) -> None:
    sheet.part("taught", "Topics taught", fresh=False)
    if not content.sessions:
        sheet.none("No session was recorded in the period; what was taught before stands in each person’s standing.")
    for session in content.sessions:
        if sheet.full(70):
            sheet.stop("the full binder holds every session.")
            return
        _session(sheet, session, content.short)


def _session(sheet: Sheet, session: Session, brief: bool) -> None:
    if brief:
        sheet.para(f"{said(session.day)}: {session.topics}; {session.trainer}; {len(session.attendees)} attended.")
        return
    sheet.head(f"{said(session.day)}: {session.topics}")
    sheet.para(session.summary)
    questions = "live questions could be asked" if session.live_questions else "no live questions"
    sheet.para(f"Trainer: {session.trainer}, {session.qualification}. In {session.language}; {questions}.")
    if session.handed_out or session.demonstrated:
        sheet.para(f"{session.handed_out} {session.demonstrated}".strip())
    if session.countable:
        sheet.para(f"Not countable: {session.countable}", "B")
    if session.fact:
        sheet.para(f"Fact {session.fact[:8]}", size=9, colour=GREY)
    attended = [(a.name, a.job_title) for a in session.attendees]
    sheet.table(
        (("Attended", 80), ("Job title that day", 90)), attended, kind="People", none="Nobody is named as there."
    )
