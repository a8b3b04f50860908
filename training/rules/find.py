"""Finding by a few letters: accents, capitals and the order of the words make no difference."""

import re
from collections.abc import Sequence
from unicodedata import combining, normalize
from uuid import UUID

MOST = 20  # of each kind that are shown


def plain(words: str) -> str:
    """Zoë Ångström-Łuczak → zoe angstrom-luczak. What NFKD does not take apart (Ł, Ø) is taken by its plain letter."""
    apart = normalize("NFKD", words.casefold().translate(WITHOUT_STROKE))
    return "".join(letter for letter in apart if not combining(letter))


WITHOUT_STROKE = str.maketrans({"ł": "l", "ø": "o", "đ": "d", "ð": "d", "þ": "th", "æ": "ae", "œ": "oe", "ı": "i"})


def is_found(asked: str, texts: Sequence[str]) -> bool:
    """Whether every word that is asked begins a word of the texts, or stands inside one that holds a figure, as in a number."""
    said = plain(" ".join(texts))
    begins = [*said.split(), *said.replace("-", " ").split()]
    return all(
        any(word.startswith(each) for word in begins) or (any(c.isdigit() for c in each) and each in said)
        for each in plain(asked).split()
    ) and bool(asked.split())


def records_named(asked: str) -> tuple[UUID, UUID] | None:
    """The first and the last id that begins with the eight letters asked for, however they are written (3F9A C01B); or with
    more of an id, to the whole of it. None where that is no beginning of one."""
    letters = re.sub(r"[\s-]", "", asked).lower()
    if not re.fullmatch(r"[0-9a-f]{8,32}", letters):
        return None
    return UUID(letters.ljust(32, "0")), UUID(letters.ljust(32, "f"))
