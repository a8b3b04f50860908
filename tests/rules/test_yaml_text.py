"""Reading YAML: what is a word and what a number (the core schema of YAML 1.2.2, section 10.3), and where everything stands."""

from datetime import date
from typing import Any

import pytest
from yaml import MarkedYAMLError

from clinic.rules.yaml_text import FieldFault, read_yaml


@pytest.mark.parametrize(
    ("written", "means"),
    [
        *[(word, word) for word in ("no", "yes", "on", "off", "NO", "y", "12:30", "1e", "0x", "truest")],
        *[(word, True) for word in ("true", "True", "TRUE")],
        *[(word, None) for word in ("null", "Null", "NULL", "~", "")],
        *[("0", 0), ("-19", -19), ("3", 3), ("0.", 0.0), ("-0.0", -0.0), (".5", 0.5), ("+12.0e03", 12000.0)],
        *[("2026-11-25", date(2026, 11, 25)), ("010", "010"), ("'3'", "3"), ("!!str 3", "3")],
    ],
)
def test_a_word_is_a_word_and_a_number_a_number(written: str, means: Any) -> None:
    found = read_yaml(f"field: {written}")["field"]
    assert (found, type(found)) == (means, type(means))


def test_every_field_and_item_says_its_line() -> None:
    found = read_yaml(
        "# what it is\ntitle: Stop it\nsteps:\n  - key: s1\n    do: >\n      Point to it.\n  - {key: s2}\n"
    )
    assert found.lines == {"title": 2, "steps": 3}
    assert found["steps"].lines == [4, 7]
    assert [step.lines for step in found["steps"]] == [{"key": 4, "do": 5}, {"key": 7}]


@pytest.mark.parametrize(
    ("text", "line", "says"),
    [
        ("a: 1\nb: 2\na: 3\n", 3, "field a is there twice: take one out."),
        ("a:\n  - {b: 1, b: 1}\n", 2, "field b is there twice: take one out."),
        ("a: 1\n7: b\n", 2, "7 is no name of a field: write a word."),
    ],
)
def test_a_field_that_is_there_twice_or_has_no_name_is_told_with_its_line(text: str, line: int, says: str) -> None:
    with pytest.raises(FieldFault) as told:
        read_yaml(text)
    assert (told.value.problem, told.value.problem_mark.line + 1) == (says, line)


def test_what_two_fields_share_is_written_once() -> None:
    assert read_yaml("first: &few [1, 2]\nthen: *few\n") == {"first": [1, 2], "then": [1, 2]}


def test_what_is_no_yaml_is_told_with_its_line() -> None:
    with pytest.raises(MarkedYAMLError) as told:
        read_yaml("a: 1\nb: c: d\n")
    assert told.value.problem_mark.line + 1 == 2
