"""Somebody's record as a file of their own: CSV for a spreadsheet, JSON for everything else."""

import json
from typing import Any

from clinic import csv_rows
from clinic.csv_rows import FileColumn
from clinic.models.records import plain
from training.reads.own_record import OwnRecord, RecordLine

COLUMNS = (
    FileColumn("day", is_day=True), FileColumn("recorded"), FileColumn("site"), FileColumn("procedures"), FileColumn("kind"), FileColumn("says"),
    FileColumn("stands"), FileColumn("details"), FileColumn("fact"), FileColumn("seal"),
)  # fmt: skip
STANDS, PUT_RIGHT = "yes", "no: a later fact put it right"


def as_csv(record: OwnRecord) -> str:
    """A line for each fact, newest first."""
    return csv_rows.written(COLUMNS, (row(fact) for fact in record.facts))


def row(fact: RecordLine) -> dict[str, str]:
    line = fact.line
    return {
        "day": line.day.isoformat(),
        "recorded": plain(line.recorded_at),
        "site": fact.site,
        "procedures": " ".join(line.codes),
        "kind": fact.kind,
        "says": line.says,
        "stands": PUT_RIGHT if line.put_right else STANDS,
        "details": "; ".join(f"{name.replace('_', ' ')}: {in_a_cell(value)}" for name, value in fact.details.items()),
        "fact": str(line.id),
        "seal": fact.seal,
    }


def in_a_cell(value: Any) -> str:
    """Lists and tables as one line of text."""
    if isinstance(value, dict):
        return ", ".join(f"{in_a_cell(each)}" for each in value.values())
    if isinstance(value, list):
        return " | ".join(map(in_a_cell, value))
    return {True: "yes", False: "no"}[value] if isinstance(value, bool) else str(value)


def as_json(record: OwnRecord) -> str:
    return json.dumps(in_full(record), ensure_ascii=False, indent=1)


def in_full(record: OwnRecord) -> dict[str, Any]:
    person = record.person
    return {
        "person": {"id": str(person.pk), "name": person.printed_name, "staff_number": person.staff_number},
        "on": record.day.isoformat(),
        "roles": [
            {"from": first.isoformat(), "to": last and last.isoformat(), "what": what, "where": where}
            for first, last, what, where in record.roles
        ],
        "standings": [
            {
                "code": line.code,
                "title": line.title,
                "state": line.state.value,
                "through": line.span.ends_on and line.span.ends_on.isoformat(),
                "says": line.says,
            }
            for line in record.standings
        ],
        "facts": [
            {
                "id": str(fact.line.id),
                "kind": fact.kind,
                "day": fact.line.day.isoformat(),
                "recorded_at": plain(fact.line.recorded_at),
                "site": fact.site,
                "procedures": list(fact.line.codes),
                "says": fact.line.says,
                "stands": not fact.line.put_right,
                "details": dict(fact.details),
                "seal": fact.seal,
            }
            for fact in record.facts
        ],
    }
