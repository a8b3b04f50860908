"""What the first page counts, counted in the tables that the same binder prints, and in nothing else."""

from collections.abc import Iterable
from typing import Any

from .content import BinderContent, PersonRecord

USABLE = ("current", "due")
OUTSIDE = ", outside witness"
FOUNDING = "founding grant"


def counted(content: BinderContent) -> dict[str, Any]:
    """By the names that `Known` gives them."""
    return {**of_people(content), **of_papers(content), **of_the_record(content)}


def of_people(content: BinderContent) -> dict[str, int]:
    seen = [row for person in content.people for row in person.observations]
    watchers = {row.watched_by for row in seen}
    able = {row.name for row in content.authorities if row.since <= content.as_of <= (row.until or content.as_of)}
    pathogens = [row for row in alone_in(content.people, content.pathogens) if row.asked]
    return {
        "people": len(content.matrix),
        "may": sum(any(state in USABLE for state in row.states) for row in content.matrix),
        "performances": len(seen),
        "watchers": len(watchers),
        "outside": sum(name.endswith(OUTSIDE) for name in watchers),
        "signers": len(able),
        "founding": sum(row.rests_on.startswith(FOUNDING) for row in content.authorities),
        "topic_asked": len(pathogens),
        "topic_good": sum(row.state in USABLE for row in pathogens),
    }


def alone_in(people: Iterable[PersonRecord], code: str) -> list[Any]:
    return [row for person in people for row in person.alone if row.procedure.split()[0] == code]


def of_papers(content: BinderContent) -> dict[str, int]:
    near = sum("near" in event.kind.lower() for event in content.events)
    return {
        "texts": len(content.texts),
        "texts_checked": sum(bool(text.maker) for text in content.texts),
        "sessions": len(content.sessions),
        "holes": sum(bool(session.countable) for session in content.sessions),
        "unasked": sum(not session.live_questions for session in content.sessions),
        "events": len(content.events) - near,
        "near": near,
        "kept": len(content.kept),
    }


def of_the_record(content: BinderContent) -> dict[str, int]:
    return {
        "entries": len(content.upkeep),
        "spores": rows_of(content, "spores"),
        "verified": rows_of(content, "drivers"),
        "found": len(content.findings),
        "ended": sum(bool(row.until) for row in content.findings),
    }


def rows_of(content: BinderContent, key: str) -> int:
    return sum(len(table.rows) for table in content.extras if table.key == key)
