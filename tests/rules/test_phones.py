"""Numbers to call, found in what somebody wrote at the walk round."""

import pytest

from clinic.rules.phones import with_numbers


@pytest.mark.parametrize(
    ("text", "dialled"),
    [
        ("the service line, 020 7946 0114, weekdays 8 to 18", ["02079460114"]),
        ("+44 (0)20 7946 0114", ["+442079460114"]),
        ("(202) 555-0143 or 202.555.0144", ["2025550143", "2025550144"]),
        ("contract 12, since 2026-11-20, 24/7", []),
        ("see the label", []),
        ("", []),
    ],
)
def test_what_can_be_dialled_is_found_and_nothing_else(text: str, dialled: list[str]) -> None:
    pieces = with_numbers(text)
    assert [number for _, number in pieces if number] == dialled
    assert "".join(words for words, _ in pieces) == text
