"""A template may be broken over lines anywhere; its page has the same words with the same spaces."""

import pytest
from django.template import engines

from clinic.template_loader import in_one_line

BROKEN = """<p>
  {% if many %}
    Three of
    four
  {% else %}
    None
  {% endif %}
  held.
</p>
"""


def drawn(text: str, **known: object) -> str:
    return engines["django"].from_string(in_one_line(text)).render(known)


@pytest.mark.parametrize(("many", "says"), [(True, "<p> Three of four held. </p> "), (False, "<p> None held. </p> ")])
def test_each_end_of_a_line_is_one_space(many: bool, says: str) -> None:
    assert drawn(BROKEN, many=many) == says


def test_a_line_that_only_asks_adds_no_space_between_words_that_have_none() -> None:
    assert drawn("{% if yes %}A{% endif %}{% if yes %}B{% endif %}", yes=True) == "AB"


def test_a_file_without_a_last_line_end_ends_without_a_space() -> None:
    assert in_one_line("{{ a }},\n{{ b }}") == "{{ a }}, {{ b }}"


def test_a_piece_that_begins_with_a_question_keeps_the_space_after_it() -> None:
    assert drawn("{% if yes %}\n  A\n{% endif %}\nB", yes=True) == " A B"


def test_an_empty_line_adds_nothing() -> None:
    assert in_one_line("A\n\nB\n") == "A B "


def test_nothing_is_said_in_a_sentence_with_a_link_for_whoever_may_mend_it() -> None:
    page = '{% nothing do="Enter one" href=where if_may="roster, duty" %}\n  No unit\n  is here.\n{% endnothing %}'
    assert "<p>No unit is here.</p>" in drawn(page, where="/new/", may={"duty"})
    assert '<a class="button" href="/new/">Enter one</a>' in drawn(page, where="/new/", may={"duty"})
    assert "<a" not in drawn(page, where="/new/", may={"observe"})


def test_a_sentence_is_given_to_a_part_and_its_names_are_made_safe_once() -> None:
    page = "{% sentence as lead %}\n  {{ who }}\n  signs.\n{% endsentence %}{{ lead }}"
    assert drawn(page, who="<b>") == "&lt;b&gt; signs."
