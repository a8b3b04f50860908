"""Sections that are one table with its own columns: water, spore tests, torque drivers, jobs, tools, and any other."""

import re
from collections.abc import Callable

from .content import BinderContent, Extra
from .sheet import Sheet, short

DAY = re.compile(r"\d{4}-\d{2}-\d{2}")

# How wide the columns of each usual table are; any other table says so itself or has equal ones.
OWN = {
    "water": (18, 28, 20, 46, 14, 32, 16),
    "spores": (18, 24, 20, 20, 20, 20, 16, 40),
    "drivers": (32, 22, 20, 26, 22, 50),
    "jobs": (20, 20, 26, 10, 30, 22, 38, 16),
    "tools": (22, 34, 36, 24, 24, 32),
}


def drawer(key: str, title: str, none: str) -> Callable[[Sheet, BinderContent], None]:
    """Draws the tables of one key, or says in a sentence that there are none."""

    def draw(sheet: Sheet, content: BinderContent) -> None:
        sheet.part(key, title, fresh=False)
        tables = [extra for extra in content.extras if extra.key == key]
        for extra in tables:
            _table(sheet, extra, none, headed=extra.title != title)
        if not tables:
            sheet.none(none)

    return draw


def draw_others(sheet: Sheet, content: BinderContent) -> None:
    sheet.part("extras", "Further records", fresh=False)
    for extra in others(content):
        _table(sheet, extra, "Nothing is recorded.", headed=True)


def others(content: BinderContent) -> list[Extra]:
    """The tables that have no section of their own."""
    return [extra for extra in content.extras if extra.key not in OWN]


def _table(sheet: Sheet, extra: Extra, none: str, headed: bool) -> None:
    if headed:
        sheet.head(extra.title)
    if extra.says:
        sheet.para(extra.says)
    columns = list(zip(extra.columns, extra.shares or _shares(extra), strict=True))
    facts = bool(extra.columns) and extra.columns[-1] == "Fact"
    kind = "Equipment" if extra.grouped else ""
    rows = [[_cell(cell) for cell in row] for row in extra.rows]
    sheet.table(columns, rows, kind=kind, facts=facts, grouped=extra.grouped, none=none)


def _cell(words: str) -> str:
    """2 Dec 2026 for an ISO day; everything else as it is."""
    return short(words) if DAY.fullmatch(words) else words


def _shares(extra: Extra) -> list[int]:
    usual = OWN.get(extra.key, ())
    return list(usual) if len(usual) == len(extra.columns) else [1] * len(extra.columns)
