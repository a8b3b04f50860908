"""What the first page counts, counted in the tables that the same binder prints, and in nothing else."""

from collections.abc import Iterable
from typing import Any

from .content import BinderContent, Extra, PersonRecord

USABLE = ("current", "due")
OUTSIDE = ", outside witness"
FOUNDING = "founding grant"
BARE = "nobody usable stood by"  # how the line of an entry ends that nobody usable covered
BAD = ("fail", "invalid")  # results of spore tests


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
        "logged": sum(event.logged for event in content.events),
        "kept": len(content.kept),
    }


def of_the_record(content: BinderContent) -> dict[str, Any]:
    return {
        **of_upkeep(content),
        **of_water(content),
        "spores": rows_of(content, "spores"),
        "spores_bad": sum(result in BAD for result in cells(content, "spores", "Result")),
        "verified": rows_of(content, "drivers"),
        "found": len(content.findings),
        "ended": sum(bool(row.until) for row in content.findings),
    }


def of_upkeep(content: BinderContent) -> dict[str, int]:
    return {
        "entries": len(content.upkeep),
        "late_days": sum(int(days) for days in cells(content, "in time", "Overdue")),
        "helped": sum(bool(row.stood_by) for row in content.upkeep),
        "alone": sum(row.allowed.endswith(BARE) for row in content.upkeep),
    }


def of_water(content: BinderContent) -> dict[str, Any]:
    """Of each line its last sample that is printed. Coolant is no patient water: its table has no limits."""
    tables = [table for table in content.extras if table.key == "water" and "Limit" in table.columns]
    last: dict[str, tuple[str, str]] = {}
    for table in tables:
        day, result = column(table, "Day"), column(table, "Result")
        for row in table.rows:
            last[row[0]] = max(last.get(row[0], ("", "")), (row[day], row[result]), key=lambda sample: sample[0])
    return {
        "lines": len(last),
        "lines_over": sum(result != "good" for _, result in last.values()),
        "sampled": max((day for day, _ in last.values()), default=""),
    }


def cells(content: BinderContent, key: str, head: str) -> list[str]:
    """A column of the tables of one key."""
    return [row[column(table, head)] for table in content.extras if table.key == key for row in table.rows]


def column(table: Extra, head: str) -> int:
    """Where the column stands in a row: before those of a grouped table stands the name of its equipment."""
    return table.columns.index(head) + (1 if table.grouped else 0)


def rows_of(content: BinderContent, key: str) -> int:
    return sum(len(table.rows) for table in content.extras if table.key == key)
