"""The sections that are one table or two."""

from training.documents.paper import said, short

from .content import BinderContent
from .people import day_or
from .sheet import Sheet


def draw_scope(sheet: Sheet, content: BinderContent) -> None:
    sheet.part("scope", "Scope")
    sheet.para(f"{content.organisation}, {content.site}, {content.address}.")
    sheet.para(f"{said(content.first)} to {said(content.last)}, as of {said(content.as_of)}.")
    for words in content.scope:
        sheet.para(words)


def draw_authority(sheet: Sheet, content: BinderContent) -> None:
    sheet.part("authority", "Authority, and who signed whom")
    rows = [
        (a.name, a.covers, short(a.since), day_or(a.until, "open"), a.granted_by, a.rests_on)
        for a in content.authorities
    ]
    columns = (
        ("Name", 34),
        ("May observe and sign", 40),
        ("From", 21),
        ("Until", 21),
        ("Granted by", 28),
        ("Rests on", 30),
    )
    sheet.table(columns, rows, kind="People")
    if content.short and sheet.y < sheet.bottom + 120:
        return
    sheet.head("Who signed whom")
    signed = [(s.signer, s.person, s.procedures, str(s.count)) for s in content.signed]
    sheet.table((("Signer", 40), ("Person", 40), ("Procedures", 75), ("Signatures", 18)), signed)


def draw_upkeep(sheet: Sheet, content: BinderContent) -> None:
    sheet.part("upkeep", "Upkeep", f"{len(content.upkeep)} entries in the period.")
    rows = [(short(u.day), u.equipment, u.task, u.done_by, u.allowed, u.readings, u.in_time) for u in content.upkeep]
    columns = (
        ("Day", 21),
        ("Equipment", 26),
        ("Task", 28),
        ("Done by", 28),
        ("Allowed", 24),
        ("Readings", 24),
        ("In time", 22),
    )
    sheet.table(columns, rows, kind="Equipment", term=1)


def draw_findings(sheet: Sheet, content: BinderContent) -> None:
    sheet.part("findings", "Findings, with what was done")
    rows = [(f.weight, f.says, short(f.since), f.done or "open") for f in content.findings]
    sheet.table((("Weight", 20), ("Finding", 75), ("Since", 22), ("What was done", 55)), rows, shape=0)


def draw_extras(sheet: Sheet, content: BinderContent) -> None:
    for n, extra in enumerate(content.extras):
        sheet.part("extras" if n == 0 else f"extra-{n}", extra.title, extra.says)
        sheet.table([(title, 1) for title in extra.columns], extra.rows)


def draw_integrity(sheet: Sheet, content: BinderContent) -> None:
    sheet.part("integrity", "Can this record have been changed?")
    for words in (*content.seals, *content.how_to_check):
        sheet.para(words)


def draw_index(sheet: Sheet, content: BinderContent) -> None:
    sheet.part("index", "Index")
    for kind in ("People", "Procedures", "Equipment"):
        terms = {word: sorted(pages) for word, pages in sheet.terms[kind].items()}
        sheet.head(kind)
        rows = [(word, ranges(terms[word])) for word in sorted(terms, key=str.casefold)]
        sheet.table((("", 80), ("Pages", 90)), rows)


def ranges(pages: list[int]) -> str:
    """1, 3–5 from [1, 3, 4, 5]."""
    runs: list[list[int]] = []
    for page in pages:
        if runs and page == runs[-1][-1] + 1:
            runs[-1].append(page)
        else:
            runs.append([page])
    return ", ".join(str(run[0]) if len(run) == 1 else f"{run[0]}–{run[-1]}" for run in runs)
