"""Whether a text names somebody: a log is kept so that nobody is known by it (O-10)."""

import re
from collections.abc import Iterable

WORD = re.compile(r"[^\W\d_]+(?:[-’'][^\W\d_]+)*")


def names_within(text: str, names: Iterable[str]) -> list[str]:
    """The names, of those given, that stand in the text as words with a capital, each once and in order.

    A short name that is also a word ("Grace", "Mark") counts only with its capital; two letters are too few to tell.
    """
    known = {part.casefold() for name in names for part in WORD.findall(name) if len(part) > 2}
    found = [word for word in WORD.findall(text) if word[0].isupper() and word.casefold() in known]
    return list(dict.fromkeys(found))
