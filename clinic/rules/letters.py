"""Which letters the papers can print. A name with any other is refused where it is entered: on paper it would become marks that
nobody can read, and a certificate has no other way to say whose it is. Of free words a paper says how many hold such letters."""

import unicodedata
from collections import Counter
from collections.abc import Iterable
from functools import cache
from pathlib import Path

import fontpkg_alegreya_sans
from fontTools.ttLib import TTFont

SUPPLY = "Write it in Latin, Greek or Cyrillic letters, a person’s name as their passport spells it."
NAMED = 5  # so many letters are named, and no more


@cache
def letters() -> frozenset[int]:
    """Every character of the family that the papers are set in."""
    path = Path(fontpkg_alegreya_sans.ROOT) / "files" / "AlegreyaSans-Regular.ttf"
    with TTFont(str(path), lazy=True) as font:
        return frozenset(font.getBestCmap())


def not_printed(words: str) -> list[str]:
    """The characters of the words that no paper can print, each once, in order. Spaces of any kind are printed as one."""
    if words.isascii() and words.isprintable():
        return []
    composed = unicodedata.normalize("NFC", words)
    return [each for each in dict.fromkeys(composed) if not each.isspace() and ord(each) not in letters()]


def lacks(missing: list[str]) -> str:
    """The type of the papers lacks “李”."""
    return f"The type of the papers lacks {listed_letters(missing)}."


def listed_letters(missing: list[str]) -> str:
    return f"{', '.join(map(said, missing[:NAMED]))}{' and more' * (len(missing) > NAMED)}"


def said(character: str) -> str:
    return f"“{character}”" if character.isprintable() else f"the character U+{ord(character):04X}"


def printed_otherwise(texts: Iterable[str]) -> str:
    """What a paper says of letters in free words that its type lacks; empty where it has them all."""
    told = Counter(texts)  # the same words come again in thousands of rows
    lacking = {words: missing for words in told if (missing := not_printed(words))}
    if not lacking:
        return ""
    found = list(dict.fromkeys(letter for missing in lacking.values() for letter in missing))
    entries = sum(told[words] for words in lacking)
    count = f"{entries} entries hold" if entries > 1 else "One entry holds"
    return (
        f"{count} letters that the type of this paper lacks ({listed_letters(found)}). Each is printed as “?”; the register "
        "shows what was written."
    )
