"""Scripts of one page share what they name at the top: two that name the same stop the second from running at all."""

import gzip
import re
from collections import Counter

from tests.house.sources import ROOT

MOST = 100_000  # bytes
TOP = re.compile(r"^(?:const|let|class|function) (\w+)", re.M)


def names_of(texts: list[str]) -> Counter[str]:
    return Counter(name for text in texts for name in TOP.findall(text))


def test_no_two_scripts_name_the_same_at_the_top() -> None:
    texts = [path.read_text() for path in (ROOT / "clinic/static/register").glob("*.js")]
    assert {name for name, times in names_of(texts).items() if times > 1} == set()
    assert len(names_of(texts)) > 20


def test_all_styles_and_scripts_together_are_under_100_kb_compressed() -> None:
    """Kept by the browser for good after that; there is no library of others among them."""
    ours = [path.read_bytes() for path in (ROOT / "clinic/static/register").iterdir() if path.suffix in {".css", ".js"}]
    assert len(ours) > 20
    assert sum(len(gzip.compress(text)) for text in ours) < MOST


def test_the_same_name_twice_would_be_found() -> None:
    assert names_of(["const draws = 1;\n", "{\n  const draws = 2;\n}\n", "const draws = 3;\n"])["draws"] == 2
