"""The default sets of the library: what whoever mills, or cleans and sterilises, needs."""

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from django.conf import settings

from training.rules.library import read_library
from training.rules.texts import RoleSet


@dataclass(frozen=True, slots=True)
class DefaultSet:
    """A set by name, with the procedures of the sets it stands on."""

    name: str
    says: str
    codes: tuple[str, ...]


def default_sets() -> tuple[DefaultSet, ...]:
    """Read once from the library's files. Raises LibraryFaults where they cannot be used."""
    return sets_in(settings.LIBRARY_DIR)


@lru_cache(maxsize=4)
def sets_in(folder: Path) -> tuple[DefaultSet, ...]:
    texts = {text.name: text for text in read_library(folder).role_set_texts}
    return tuple(DefaultSet(text.name, text.says, tuple(sorted(codes_of(text, texts)))) for text in texts.values())


def codes_of(text: RoleSet, texts: dict[str, RoleSet]) -> set[str]:
    """Its own and those of every set below it."""
    below = (codes_of(texts[name], texts) for name in text.on_top_of if name in texts)
    return set(text.procedures).union(*below)
