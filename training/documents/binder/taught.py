"""Taught sessions with everybody who attended and the job title held that day."""

from training.documents.paper import said

from .content import BinderContent, Session
from .sheet import Sheet


def draw(sheet: Sheet, content: BinderContent) -> None:
    sheet.part("taught", "Topics taught")
    if not content.sessions:
        sheet.para("No session was recorded in the period.", "I")
    for session in content.sessions:
        if sheet.page >= sheet.limit and sheet.y < sheet.bottom + 70:
            sheet.y = sheet.bottom + 12
            sheet.para("The short form stops here. The full binder holds every session.", "I", 9)
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
    sheet.table(
        (("Attended", 80), ("Job title that day", 90)),
        [(a.name, a.job_title) for a in session.attendees],
        kind="People",
    )
