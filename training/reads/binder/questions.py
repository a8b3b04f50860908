"""The counts behind what an inspector asks. The questions and their answers are the document's own."""

from dataclasses import dataclass
from typing import Any

from training.documents.binder import content as b
from training.documents.binder.asks import BinderCounts, standard
from training.documents.binder.counted import counted
from training.reads.binder.asked import BinderAsked
from training.reads.binder.extras import Extras
from training.reads.binder.seals import SealsRead

PLAN = "exposure control plan"


@dataclass(frozen=True, slots=True)
class AnsweredBeside:
    """What the answers say that no table of the binder is counted for."""

    extras: Extras
    sealed: SealsRead


def questions(asked: BinderAsked, content: b.BinderContent, beside: AnsweredBeside) -> list[b.Question]:
    """From the content that is printed; no query."""
    return standard(BinderCounts(**counted(content), **others(asked, content, beside)))


def others(asked: BinderAsked, content: b.BinderContent, beside: AnsweredBeside) -> dict[str, Any]:
    extras, sealed = beside.extras, beside.sealed
    return {
        "voluntary": not asked.site.must_keep_1904,
        "drivers": extras.drivers,
        "drivers_good": extras.drivers_good,
        "facts": sealed.site.last_position,
        "whole": sealed.is_whole,
        "checked": sealed.day,
        "plan": next((row for row in content.kept if PLAN in row.what.lower()), None),
    }
