"""A few letters find what they begin; accents and capitals make no difference."""

import pytest

from training.rules.find import is_found


@pytest.mark.parametrize(
    ("asked", "texts", "there"),
    [
        ("zoe lucz", ("Zoë Ångström-Łuczak",), True),
        ("angst", ("Zoë Ångström-Łuczak",), True),
        ("CZAK", ("Zoë Ångström-Łuczak",), False),
        ("p06", ("Chamber cleaning", "P06"), True),
        ("cleaning cham", ("Chamber cleaning", "P06"), True),
        ("0017", ("high-street-2026-0017",), True),
        ("2026-0017", ("high-street-2026-0017",), True),
        ("street", ("high-street-2026-0017",), True),
        ("", ("anything",), False),
        ("  ", ("anything",), False),
    ],
)
def test_what_is_found(asked: str, texts: tuple[str, ...], there: bool) -> None:
    assert is_found(asked, texts) is there
