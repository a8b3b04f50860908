"""Numbers to call inside what somebody wrote, so that a page can make links of them."""

import re

NUMBER = re.compile(r"\+?\(?\d[\d ()/.-]{5,}\d")
DAY = re.compile(r"\d{4}-\d\d-\d\d")
LEAST, MOST = 6, 15  # figures: short local numbers, common practice, no source; E.164 allows fifteen


def with_numbers(text: str) -> list[tuple[str, str]]:
    """The text in stretches, each with the number to dial (RFC 3966 takes figures after tel:), or with nothing.

    "the line, 020 7946 0114, weekdays" is ("the line, ", ""), ("020 7946 0114", "02079460114"), (", weekdays", "")."""
    found, at = [], 0
    for match in NUMBER.finditer(text):
        figures = re.sub(r"\D", "", match[0].replace("(0)", ""))  # +44 (0)20 is dialled without the nought
        if LEAST <= len(figures) <= MOST and not DAY.fullmatch(match[0]):
            found += [(text[at : match.start()], ""), (match[0], ("+" if match[0].startswith("+") else "") + figures)]
            at = match.end()
    return [piece for piece in [*found, (text[at:], "")] if piece[0]]
