"""Prints how long functions, files and templates are, beside the reference lines of the house. Drift is looked at, not
forbidden: run with -s."""

import ast
from statistics import median, quantiles

from tests.house.sources import ROOMS, name_of, python_files, templates


def lengths() -> list[tuple[int, str]]:
    found = []
    for path in python_files(*ROOMS):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef) and node.end_lineno:
                found.append((node.end_lineno - node.lineno + 1, f"{name_of(path)}:{node.lineno} {node.name}"))
    return sorted(found, reverse=True)


def line_counts(paths: list) -> list[int]:  # type: ignore[type-arg]
    return [len(path.read_text(encoding="utf-8").splitlines()) for path in paths]


def row(name: str, numbers: list[int], reference: str) -> str:
    tenths = quantiles(numbers, n=10)
    return f"{name:10} n {len(numbers):4}  median {median(numbers):5.1f}  p90 {tenths[-1]:6.1f}  max {max(numbers):4}  ({reference})"


def test_lengths_are_told_beside_the_reference_lines() -> None:
    functions, files, pages = lengths(), line_counts(python_files(*ROOMS)), line_counts(templates())
    print()
    print(row("functions", [n for n, _ in functions], "median <= 8, p90 <= 25"))
    print(row("files", [n for n in files if n], "p90 <= 250"))
    print(row("templates", pages, "median <= 30"))
    print("longest: " + "; ".join(f"{name} {n}" for n, name in functions[:5]))
    assert functions and files and pages
