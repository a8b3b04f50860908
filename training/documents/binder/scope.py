"""What the binder speaks of: whose, which days, how a day is counted, and what the paper cannot say."""

from training.documents.paper import said

from .content import BinderContent
from .sheet import Sheet

ALWAYS = (
    "Every line comes from a record that somebody made. A record is never changed; a mistake is put right by a later "
    "record that names it. The eight letters at the end of a line are the beginning of that record’s name: "
    "typed into Find in the register, they open it for whoever may read it.",
    "A day named as the last good day still counts. Critical steps are those where somebody can be hurt or the unit "
    "wrecked. Nothing in here is a licence: the maker’s instructions, local rules and licensed practice come first.",
)


def draw(sheet: Sheet, content: BinderContent) -> None:
    sheet.part("scope", "Scope", fresh=False)
    sheet.para(f"{content.organisation}, {content.site}, {content.address}.", "B")
    sheet.para(f"{said(content.first)} to {said(content.last)}, standing as of {said(content.as_of)}.")
    for words in (*content.scope, *ALWAYS):
        sheet.para(words)
