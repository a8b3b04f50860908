"""Which letters the papers can print. A name with any other is refused where it is entered: on paper it would become marks
that nobody can read, and a certificate has no other way to say whose it is."""

import unicodedata
from collections.abc import Collection, Iterator
from functools import cache
from pathlib import Path

import fontpkg_alegreya_sans
from django.db.models import Model
from fontTools.ttLib import TTFont

from clinic.models import Equipment, JobRole, MillingTool, Organisation, OutsideWitness, Person, Site
from clinic.record import Refusal

NAMES: dict[type[Model], tuple[str, ...]] = {
    Equipment: ("label", "serial"),
    JobRole: ("title",),
    MillingTool: ("code",),
    Organisation: ("name",),
    OutsideWitness: ("printed_name", "comes_from"),
    Person: ("given_name", "family_name", "staff_number"),
    Site: ("name",),
}
"""By kind of row, the columns that papers print as the name of something."""

SUPPLY = "Write it in Latin, Greek or Cyrillic letters, a person’s name as their passport spells it."


@cache
def letters() -> frozenset[int]:
    """Every character of the family that the papers are set in."""
    path = Path(fontpkg_alegreya_sans.ROOT) / "files" / "AlegreyaSans-Regular.ttf"
    with TTFont(str(path), lazy=True) as font:
        return frozenset(font.getBestCmap())


def not_printed(words: str) -> list[str]:
    """The characters of the words that no paper can print, each once, in order. Spaces of any kind are printed as one."""
    composed = unicodedata.normalize("NFC", words)
    return list(dict.fromkeys(each for each in composed if not each.isspace() and ord(each) not in letters()))


def against_names(row: Model, only: Collection[str] | None = None) -> Iterator[Refusal]:
    """Why the names of a row cannot be kept; of some of its columns, where they are given."""
    for name in NAMES.get(type(row), ()):
        missing = not_printed(getattr(row, name) or "") if only is None or name in only else []
        if missing:
            yield Refusal(lacks(missing), SUPPLY, name)


def lacks(missing: list[str]) -> str:
    return f"The type of the papers lacks {', '.join(map(said, missing[:5]))}{' and more' * (len(missing) > 5)}."


def said(character: str) -> str:
    return f"“{character}”" if character.isprintable() else f"the character U+{ord(character):04X}"
