"""Who was here in the period, as what, and on which page their record stands."""

from .content import BinderContent
from .sheet import Sheet, day_or, short

COLUMNS = (("Name", 50), ("Job roles", 66), ("Since", 23), ("Until", 23), ("Record", 14))


def draw(sheet: Sheet, content: BinderContent) -> None:
    sheet.part("roster", "Roster", fresh=False)
    rows = [
        (
            m.name,
            m.job_roles,
            short(m.since),
            day_or(m.until, "still here"),
            str(sheet.known.get(content.record_of(m.name), "")),
        )
        for m in content.roster
    ]
    sheet.table(COLUMNS, rows, kind="People", none="Nobody was on the roster in the period.")
