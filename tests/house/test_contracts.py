"""Imports point inward, types hold, the code is written one way, and rules read no clock."""

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.house.sources import ROOMS, ROOT, name_of, python_files, rule_files

BIN = Path(sys.executable).parent
CLOCKS = {"now", "utcnow", "today", "time_ns", "monotonic", "perf_counter", "localtime", "gmtime", "localdate"}
CLOCK_MODULES = {"time", "clinic.clock", "django.utils.timezone"}


def run(*command: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)


def test_imports_point_inward() -> None:
    done = run(str(BIN / "lint-imports"), "--no-cache")
    assert done.returncode == 0, done.stdout
    assert "5 kept, 0 broken" in done.stdout


def test_types_hold_and_rules_are_strict() -> None:
    done = run(sys.executable, "-m", "mypy", *ROOMS)
    assert done.returncode == 0, done.stdout


def test_a_rule_without_types_would_be_refused(tmp_path: Path) -> None:
    loose = "def valid_until(day):\n    return day\n"
    (tmp_path / "loose.py").write_text(loose, encoding="utf-8")
    shadow = ["--shadow-file", "training/rules/grants.py", str(tmp_path / "loose.py")]
    done = run(
        sys.executable, "-m", "mypy", *shadow, "--cache-dir", str(tmp_path / "cache"), "training/rules/grants.py"
    )
    assert "no-untyped-def" in done.stdout


def test_the_linter_has_no_remark() -> None:
    done = run(str(BIN / "ruff"), "check", "--no-cache", "--output-format=concise", ".")
    assert done.returncode == 0, done.stdout


def test_the_code_is_formatted() -> None:
    done = run(str(BIN / "ruff"), "format", "--check", "--no-cache", ".")
    unformatted = [line.strip() for line in done.stdout.splitlines() if line.lstrip().startswith("-->")]
    assert done.returncode == 0, "\n".join(["Run ruff format on:", *unformatted, done.stderr])


def clock_reads(tree: ast.AST) -> Iterator[str]:
    """Calls such as date.today(), datetime.now(), time.time(), and imports of modules that tell the time."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute) and node.attr in CLOCKS:
            yield f"line {node.lineno}: .{node.attr}"
        elif (isinstance(node, ast.Import) and {alias.name for alias in node.names} & CLOCK_MODULES) or (
            isinstance(node, ast.ImportFrom) and (node.module in CLOCK_MODULES or imports_clock(node))
        ):
            yield f"line {node.lineno}: imports a clock"


def imports_clock(node: ast.ImportFrom) -> bool:
    return any(f"{node.module}.{alias.name}" in CLOCK_MODULES for alias in node.names)


@pytest.mark.parametrize("path", rule_files(), ids=name_of)
def test_rules_read_no_clock(path: Path) -> None:
    assert list(clock_reads(ast.parse(path.read_text(encoding="utf-8")))) == []


def test_the_walk_over_the_rules_saw_them_all() -> None:
    assert len(rule_files()) >= 25


@pytest.mark.parametrize(
    "line", ["date.today()", "datetime.now()", "import time", "from clinic import clock", "from time import time"]
)
def test_a_rule_that_reads_the_clock_would_be_found(line: str) -> None:
    assert list(clock_reads(ast.parse(line)))


def hidden_imports(tree: ast.AST) -> Iterator[int]:
    functions = [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)]
    yield from (
        node.lineno
        for function in functions
        for node in ast.walk(function)
        if isinstance(node, ast.Import | ast.ImportFrom)
    )


def test_only_the_apps_import_inside_functions() -> None:
    hiding = {
        name_of(path)
        for path in python_files(*ROOMS)
        if any(hidden_imports(ast.parse(path.read_text(encoding="utf-8"))))
    }
    assert hiding <= {"clinic/apps.py", "training/apps.py"}  # models load only after the registry is ready


def unannotated(tree: ast.AST) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef) and node.returns is None:
            yield f"{node.name}, line {node.lineno}"


def test_every_function_says_what_it_returns() -> None:
    silent = {
        name_of(path): list(unannotated(ast.parse(path.read_text(encoding="utf-8")))) for path in python_files(*ROOMS)
    }
    assert {name: found for name, found in silent.items() if found} == {}
