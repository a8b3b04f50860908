"""What a browser sends of a table that somebody filled in."""

from typing import Any
from uuid import uuid4

from django.core.files.uploadedfile import SimpleUploadedFile

from clinic.forms.tables import TableForm
from clinic.tables import Table


def filled_in(table: Table, lines: dict[str, dict[str, Any]], **more: str) -> dict[str, str]:
    """`lines`: what is typed, by what the page calls the line and the column; of several codes a list; True: a tick."""
    form = TableForm(table, table.lines([]), {}, read=False)
    data, left = {"submission": str(uuid4())}, dict(lines)
    for row in form.rows:
        data[f"r{row.key}-given"] = row.given
        typed = left.pop(row.called, {})
        for cell in row.cells:
            said = typed.get(cell.column.name, "")
            if cell.is_given:
                data[cell.name] = cell.value
            elif isinstance(said, list):
                data |= {f"{cell.name}-{code}": "on" for code in said}
            elif said:
                data[cell.name] = "on" if said is True else said
    assert not left, f"There is no line {', '.join(left)}: {[row.called for row in form.rows]}"
    return data | more


def uploaded(content: bytes, name: str) -> dict[str, Any]:
    return {"submission": str(uuid4()), "load": "yes", "file": SimpleUploadedFile(name, content)}


def words(answer: Any) -> str:
    assert answer.status_code == 200, answer
    return " ".join(answer.content.decode().split())
