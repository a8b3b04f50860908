"""Templates are broken over lines to be read; a page has one space where its template has a line's end.

So a page is no longer for that, and a sentence is the same text wherever its template breaks it. A line that only asks or
repeats ({% if … %}, {% endfor %}) adds no space of its own to the one before it.
"""

import re

from django.template import Origin
from django.template.loaders import filesystem

DRAWS_NOTHING = re.compile(r"{% (?:if|elif|else|endif|for|empty|endfor|with|endwith|sentence|endsentence)\b[^%]*%}")


class Loader(filesystem.Loader):
    def get_contents(self, origin: Origin) -> str:
        return in_one_line(super().get_contents(origin))


def in_one_line(text: str) -> str:
    """The text of a template with a space for each end of a line and what the next begins with."""
    joined = ""
    for line in text.splitlines(keepends=True):
        words = line.strip() if joined else line.rstrip()
        spaced = line.endswith("\n") and words and not (joined and DRAWS_NOTHING.fullmatch(words))
        joined += f"{words} " if spaced else words
    return joined
