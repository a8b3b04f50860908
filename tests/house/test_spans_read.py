"""Whoever reads the stored spans reads what waits with them: nothing goes around `objects`, which sees to it."""

import ast
from collections.abc import Iterator
from pathlib import Path

from django.apps import apps

from tests.house.sources import ROOMS, ROOT, python_files
from training.models import EvidenceSpan, StandingSpan
from training.models.read_through import ReadThrough

SPANS = {"StandingSpan", "EvidenceSpan"}
AS_STORED = {
    "training/spans.py": "It writes what is stored, and proves it.",
    "training/reads/audit.py": "It says how many rows were proved.",
    "training/management/commands/spans.py": "It says how many rows were proved.",
}
BACK = (
    "standing__",
    "evidence_spans__",
)  # from a person or a procedure to their spans, inside a question about something else
MANAGERS = ("_base_manager", "_default_manager")
PREPARES = {"Prepared", "Instances", "Made"}
TABLES = ("training_standingspan", "training_evidencespan")


def names_in(node: ast.AST) -> set[str]:
    return {each.id for each in ast.walk(node) if isinstance(each, ast.Name)}


def around(tree: ast.AST, where: str) -> Iterator[str]:
    """Each way in the file by which spans are read as they are stored."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute) and node.attr == "stored" and where not in AS_STORED:
            yield f"{where}:{node.lineno} reads `stored`"
        if isinstance(node, ast.Attribute) and node.attr in MANAGERS and names_in(node) & SPANS:
            yield f"{where}:{node.lineno} reads by another manager"
        if isinstance(node, ast.Call) and names_in(node.func) & PREPARES and names_in(node) & SPANS:
            yield f"{where}:{node.lineno} prepares without asking what waits"
        words = node.value if isinstance(node, ast.Constant) and isinstance(node.value, str) else ""
        words = node.arg or "" if isinstance(node, ast.keyword) else words
        if words.startswith(BACK) or any(table in words for table in TABLES):
            yield f"{where}:{node.lineno} reads them by “{words}”"  # type: ignore[attr-defined]


def test_nobody_reads_stored_spans_without_those_that_wait() -> None:
    files = [path for path in python_files(*ROOMS) if "migrations" not in path.parts]
    named = [(path, str(path.relative_to(ROOT))) for path in files if "rules" not in path.parts]  # which reach no table
    found = [says for path, name in named for says in around(ast.parse(path.read_text(encoding="utf-8")), name)]
    assert found == []


def test_every_way_around_would_be_found() -> None:
    ways = (
        "StandingSpan.stored.all()",
        "StandingSpan._base_manager.all()",
        "Prepared(lambda: EvidenceSpan.objects.all())",
        "Person.objects.filter(standing__usable=True)",
        "Person.objects.filter(**{'evidence_spans__first': day})",
        "cursor.execute('SELECT * FROM training_standingspan')",
    )
    assert [way for way in ways if not list(around(ast.parse(way), "training/reads/x.py"))] == []


def test_the_files_that_read_what_is_stored_are_there() -> None:
    assert [name for name in AS_STORED if ".stored" not in Path(ROOT / name).read_text(encoding="utf-8")] == []


def test_all_spans_of_standing_are_read_through() -> None:
    """One that is added with the columns of these waits like them."""
    spans = [
        model
        for model in apps.get_app_config("training").get_models()
        if {"person", "procedure", "first", "after"} <= {f.name for f in model._meta.fields}
    ]
    assert set(spans) == {StandingSpan, EvidenceSpan}
    assert all(isinstance(model._default_manager.all().query, ReadThrough) for model in spans)
