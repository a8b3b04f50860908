"""A small fuzz of every form and query on each database; the large one is `python -m tests.scale.fuzz --posts 10000`."""

import pytest

from tests.cast import Cast
from tests.scale.fuzz import Fields, fuzz

pytestmark = pytest.mark.django_db
POSTS, SEED = 60, 7


def test_odd_values_to_every_form_are_answered_and_nothing_is_half_recorded(cast: Cast) -> None:
    told = fuzz(cast, POSTS, SEED)
    assert dict(told.broken) == {}
    assert told.posts >= POSTS and told.recorded > 0 and told.answers[200] > POSTS // 2, str(told)


def test_the_fields_of_a_form_are_read_with_what_they_could_hold() -> None:
    page = (
        '<form method="post" action="/x/"><input name="a" value="1"><input type="file" name="f"><textarea name="t"></textarea>'
        '<select name="s"><option value="2"><option value="3"></select></form><form method="get"><input name="q"></form>'
    )
    (to, values, files), *others = Fields(page).forms
    assert (to, files) == ("/x/", {"f"})
    assert {name: values[name] for name in "afts"} == {"a": ["1"], "f": [""], "t": [""], "s": ["2", "3"]}
    assert others == []
