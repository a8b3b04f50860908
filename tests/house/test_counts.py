"""A first sentence that counts rows says which: a lint of the templates, so that no head is left to chance."""

import re
from pathlib import Path

import pytest
from django.conf import settings

HEAD = re.compile(r"{% block first_sentence %}(.*?){% endblock %}", re.S)
COUNT = re.compile(r"{{ [\w.]*(?:\|length|\.count) }}")
MARK = re.compile(r"<(\w+)[^>]*data-(?:counts|figure)[^>]*>.*?</\1>", re.S)
# Previews of a file that was just read: their rows are the lines of that file.
PREVIEWS = ("carried_over_import.html", "roster_import.html", "use_file.html")


def unmarked_counts(template: str) -> list[str]:
    return [found for head in HEAD.findall(template) for found in COUNT.findall(MARK.sub("", head))]


def test_every_count_in_a_first_sentence_is_marked() -> None:
    files = [path for path in (Path(settings.BASE_DIR) / "templates").rglob("*.html") if path.name not in PREVIEWS]
    found = {path.name: counts for path in files if (counts := unmarked_counts(path.read_text()))}
    assert found == {}
    assert len(files) > 100


@pytest.mark.parametrize(
    ("head", "faults"),
    [
        ("{{ rows|length }} of {{ page.count }}", 2),
        ('<b data-counts="row">{{ rows|length }} rows</b> here', 0),
        ('<b class="answer">{{ rows|length }}</b>', 1),
        ("{% if rows|length > 3 %}many{% endif %}", 0),
    ],
)
def test_a_count_without_a_mark_would_be_found(head: str, faults: int) -> None:
    assert len(unmarked_counts(f"{{% block first_sentence %}}{head}{{% endblock %}}")) == faults
