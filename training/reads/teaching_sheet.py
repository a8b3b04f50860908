"""The ten days of a learner as what their paper takes."""

from clinic.rules.words import day_of_month, day_words, weekday_words
from training.documents.teaching_sheet import SheetDay, TeachingSheet
from training.reads.plan import PlanRow
from training.reads.teaching import DayShown, TenDays

SAYS = (
    "Prerequisites first, on days on which somebody who may is at work too, at most four turns at the unit a day. A day that "
    "is missed moves what follows: print it anew then. The maker’s instructions, local rules and licensed practice come first."
)


def teaching_sheet(page: TenDays) -> TeachingSheet:
    return TeachingSheet(
        paper=page.site.paper,
        language=page.site.language,
        person=page.person.printed_name,
        place=f"{page.site.name} · next ten working days as of {day_words(page.day)}",
        sentence=sentence(page),
        says=SAYS,
        days=[day_of(each) for each in page.days] if page.to_do else [],
        after=[later(row) for row in page.later],
    )


def sentence(page: TenDays) -> str:
    if page.to_do:
        return f"{len(page.finished)} of {page.to_do} to master could be signed within ten working days."
    return "Everything that the job needs is done." if page.held else "The job needs nothing."


def day_of(day: DayShown) -> SheetDay:
    nothing = "Not at work." if day.is_away else "Nothing is planned."
    lines = [f"{one.title} ({one.code}). {one.says}" for one in day.taught]
    return SheetDay(f"{weekday_words(day.day)[:3]} {day_of_month(day.day)}", lines or [nothing])


def later(row: PlanRow) -> str:
    name, finish = f"{row.title} ({row.code})", row.line.earliest_finish
    if finish is None:
        return f"{name}: cannot be finished. {row.says}"
    return f"{name}: not before {day_words(finish)}. {row.why_beyond}".strip()
