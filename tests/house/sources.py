"""Where the files of the house are, for the checks that read them."""

from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
ROOMS = ("clinic", "training")
DOCUMENTS = ("README.md", "DEVELOPERS.md")


def python_files(*under: str) -> list[Path]:
    """Python files below these folders, migrations left out."""
    found = [path for folder in under for path in (ROOT / folder).rglob("*.py")]
    return sorted(path for path in found if "migrations" not in path.parts)


def rule_files() -> list[Path]:
    return python_files(*(f"{room}/rules" for room in ROOMS))


def templates() -> list[Path]:
    return sorted((ROOT / "templates").rglob("*.html"))


def written_files() -> Iterator[Path]:
    """Everything that people read or print: pages, fixtures, documents and the code that words them."""
    yield from templates()
    yield from (
        path
        for path in sorted((ROOT / "fixtures").rglob("*"))
        if path.suffix in {".yaml", ".yml", ".md", ".csv", ".json"}
    )
    yield from (ROOT / name for name in DOCUMENTS if (ROOT / name).exists())
    yield from python_files(*ROOMS)


def name_of(path: Path) -> str:
    return str(path.relative_to(ROOT))
