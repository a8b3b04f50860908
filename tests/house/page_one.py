"""The first page of a binder against the tables of the same frozen content, counted a second time here."""

from collections.abc import Callable

from tests.house.counts import numbers
from training.documents.binder.content import BinderContent


def extra_rows(content: BinderContent, key: str) -> int:
    return len([row for table in content.extras if table.key == key for row in table.rows])


def table_of(content: BinderContent, title: str) -> list[dict[str, str]]:
    """Each row of a table by its heads; `""` is the unit that it belongs to."""
    tables = [table for table in content.extras if table.title == title]
    return [dict(zip(["", *table.columns], row, strict=True)) for table in tables for row in table.rows]


def lines(content: BinderContent) -> dict[str, list[dict[str, str]]]:
    """The samples of each water line, oldest first."""
    rows = sorted(table_of(content, "Water of the dental units"), key=lambda row: row["Day"])
    return {unit: [row for row in rows if row[""] == unit] for unit in {row[""] for row in rows}}


def able(content: BinderContent) -> set[str]:
    return {
        row.name
        for row in content.authorities
        if row.since <= content.as_of and (not row.until or row.until >= content.as_of)
    }


def observers(content: BinderContent) -> set[str]:
    return {seen.watched_by for person in content.people for seen in person.observations}


# The question → the first numbers of its answer, from the rows.
RECOUNT: dict[str, Callable[[BinderContent], list[int]]] = {
    "Who may be left alone with what, on this day?": lambda c: [
        len([row for row in c.matrix if {"current", "due"} & set(row.states)]),
        len(c.matrix),
    ],
    "Who watched them, and how often?": lambda c: [
        sum(len(person.observations) for person in c.people),
        len(observers(c)),
    ],
    "Who may sign, and by whose authority?": lambda c: [
        len(able(c)),
        len([row for row in c.authorities if "founding" in row.rests_on]),
    ],
    "From which text did they learn, and who approved it?": lambda c: [
        len(c.texts),
        len([text for text in c.texts if text.maker]),
    ],
    "Is the training record complete?": lambda c: [
        len([one for one in c.sessions if not one.countable]),
        len(c.sessions),
    ],
    "Was bloodborne-pathogen training repeated within a year?": lambda c: [
        len(
            [
                row
                for p in c.people
                for row in p.alone
                if row.procedure.startswith("T01 ") and row.asked and row.says.startswith("Yes")
            ]
        ),
        len([row for p in c.people for row in p.alone if row.procedure.startswith("T01 ") and row.asked]),
    ],
    "Were spore tests run weekly, with a control of the same lot?": lambda c: [
        extra_rows(c, "spores"),
        len([row for row in table_of(c, "Spore tests") if row["Result"] in ("fail", "invalid")]),
    ],
    "Is each dental-unit water line within its limit?": lambda c: [
        len([unit for unit, rows in lines(c).items() if rows[-1]["Result"] == "good"]),
        len(lines(c)),
    ],
    "Was upkeep done in time, by somebody allowed to?": lambda c: [
        len(c.upkeep),
        sum(int(row["Overdue"]) for row in table_of(c, "Days in time")),
        len([row for row in c.upkeep if row.stood_by]),
        len([row for row in c.upkeep if "nobody usable stood by" in row.allowed]),
    ],
    "What was found, and what was done about it?": lambda c: [
        len(c.findings),
        len([row for row in c.findings if row.until]),
    ],
    "What is not in here, and where is it?": lambda c: [len(c.kept)],
}


def wrong_answers(content: BinderContent) -> list[str]:
    """Every answer of the first page whose first numbers are not those of the rows; none at all stands for zeros."""
    found = []
    for question in content.questions:
        if question.ask in RECOUNT:
            rows = RECOUNT[question.ask](content)
            said = numbers(question.answer)[: len(rows)] or [0]
            if said != rows and any([*said, *rows[-1:]]):
                found.append(f"{question.ask} {question.answer} The rows: {rows}")
    late = [days for row in table_of(content, "Days in time") if (days := int(row["Overdue"]))]
    said, rows = numbers(content.late_says)[:2], [len(late), sum(late)]
    if said != rows and any([*said, *rows]):
        found.append(f"{content.late_says} The rows: {rows}")
    for person in content.people:
        asked = [row for row in person.alone if row.asked]
        held = [row for row in asked if row.says.startswith("Yes")]
        if asked and f"good in {len(held) or 'none'} of the {len(asked)} that" not in person.says:
            found.append(f"{person.name}: {person.says} The rows: {len(held)} of {len(asked)}")
    return found
