"""People, procedures and equipment, each with every page on which it stands."""

import unicodedata
from dataclasses import replace

from .content import BinderContent
from .names import NOBODY
from .sheet import Sheet

COLUMNS = (("Name", 80), ("Pages", 90))


def draw(sheet: Sheet, content: BinderContent) -> None:
    sheet.part("index", "Index")
    sheet.setting = replace(sheet.setting, names=NOBODY)  # that it stands in the index, too, nobody needs to look up
    for kind in ("People", "Procedures", "Equipment"):
        terms = {word: sorted(pages) for word, pages in sheet.terms[kind].items()}
        sheet.head(kind)
        rows = [(word, ranges(terms[word])) for word in sorted(terms, key=place)]
        sheet.table(COLUMNS, rows, none="None.")


def place(word: str) -> tuple[str, str]:
    """Å stands with A; equal words keep one order."""
    letters = unicodedata.normalize("NFKD", word.replace("Ł", "L").replace("ł", "l").replace("Ø", "O"))
    return "".join(letter for letter in letters if not unicodedata.combining(letter)).casefold(), word


def ranges(pages: list[int]) -> str:
    """1, 3–5 from [1, 3, 4, 5]."""
    runs: list[list[int]] = []
    for page in pages:
        if runs and page == runs[-1][-1] + 1:
            runs[-1].append(page)
        else:
            runs.append([page])
    return ", ".join(str(run[0]) if len(run) == 1 else f"{run[0]}–{run[-1]}" for run in runs)
