"""What the words of a fact are made of: sentences whose words may lead somewhere, and the register of who writes what."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from typing import Any, TypeVar
from uuid import UUID
from zoneinfo import ZoneInfo

from clinic.facts import row_of
from clinic.models import Equipment, Fact, OutsideWitness, Person, Seal
from clinic.rules.words import begun, clock_words, day_words, ended, instant_words
from training.models import Procedure

F = TypeVar("F", bound=Fact)
NAMELESS = "the register itself"


@dataclass(frozen=True, slots=True)
class PageLink:
    """Words that lead to a page: the name of its address, and the key of the row that stands there."""

    says: str
    to: str
    key: Any


Sentence = tuple[str | PageLink, ...]


@dataclass(frozen=True, slots=True)
class FactSection:
    """What a fact says at length, a line each."""

    title: str
    lines: list[Sentence]


@dataclass(frozen=True, slots=True)
class FactWords:
    """A fact in words. `head` is what happened, in one sentence without its full stop; `sentences` say the rest."""

    head: Sentence
    sentences: list[Sentence] = field(default_factory=list)
    sections: list[FactSection] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Writer:
    """`name`: what people call such a fact."""

    name: str
    write: Callable[[Any], FactWords]


WRITERS: dict[str, Writer] = {}
"""By kind of fact. A house test holds that no kind is left out."""


def writes(model: type[F], name: str) -> Callable[[Callable[[F], FactWords]], Callable[[F], FactWords]]:
    """Registers the one writer of a kind of fact."""

    def with_writer(write: Callable[[F], FactWords]) -> Callable[[F], FactWords]:
        WRITERS[model.fact_kind()] = Writer(name, write)
        return write

    return with_writer


def words_of(fact: Fact) -> FactWords:
    """By the writer of its kind; whatever the head begins with, it begins large."""
    found = WRITERS[fact.fact_kind()].write(fact)
    return replace(found, head=large(found.head))


def name_of(fact: Fact) -> str:
    return WRITERS[fact.fact_kind()].name


def say(*pieces: Any) -> Sentence:
    """A sentence of words, links and other sentences; what is empty is left out."""
    found: list[str | PageLink] = []
    for piece in pieces:
        if isinstance(piece, tuple):
            found += piece
        elif piece:
            found.append(piece)
    return tuple(found)


def plain(sentence: Sentence) -> str:
    """The same without its links."""
    return "".join(piece.says if isinstance(piece, PageLink) else piece for piece in sentence)


def sentences(*found: Sentence | str | None) -> list[Sentence]:
    """Those that say something, each begun large; one of words alone gets its full stop."""
    return [large(one if isinstance(one, tuple) else (ended(one),)) for one in found if one]


def large(sentence: Sentence) -> Sentence:
    """Begun large, also where its first words lead somewhere: what people call a unit may begin small."""
    first, *rest = sentence
    return (replace(first, says=begun(first.says)) if isinstance(first, PageLink) else begun(first), *rest)


def who(person: Person | None, otherwise: str = NAMELESS) -> str | PageLink:
    return PageLink(str(person), "training:person", person.pk) if person else otherwise


def watcher(observer: Person | None, witness: OutsideWitness | None) -> str | PageLink:
    """Whoever watched: somebody of the practice, or from outside, with what qualified them."""
    if witness is None:
        return who(observer, "somebody not named")
    return f"{witness.printed_name}, {witness.qualification}, from {witness.comes_from}"


def unit(row: Equipment | None, otherwise: str = "no unit") -> str | PageLink:
    return PageLink(row.label, "clinic:unit", row.pk) if row else otherwise


def procedure(row: Procedure) -> PageLink:
    return PageLink(str(row), "training:procedure", row.code)


def fact_link(fact: Fact, says: str = "") -> PageLink:
    """To the page of another fact: "the observation of 3 March 2026"."""
    return PageLink(says or f"the {name_of(fact)} of {day_words(fact.happened_on)}", "training:fact", fact.pk)


def named_fact(key: UUID | None) -> Fact | None:
    """The fact that another one names by its key alone."""
    seal = Seal.objects.filter(fact=key).first() if key else None
    row = row_of(seal.kind, seal.fact) if seal else None
    return row if isinstance(row, Fact) else None


def to_fact(key: UUID | None, otherwise: str = "a fact that is not here") -> str | PageLink:
    row = named_fact(key)
    return fact_link(row) if row else otherwise


def on_day(fact: Fact) -> str:
    """on 3 March 2026 at 09:30."""
    at = f" at {clock_words(fact.happened_at)}" if fact.happened_at else ""
    return f"on {day_words(fact.happened_on)}{at}"


def from_day(fact: Fact) -> str:
    return f"from {day_words(fact.happened_on)}"


def local(instant: datetime, fact: Fact) -> datetime:
    """On the clock of the fact's site."""
    return instant.astimezone(ZoneInfo(fact.site.time_zone))


def at_site(instant: datetime, fact: Fact) -> str:
    """3 March 2026 at 09:30, on the clock of the fact's site."""
    return instant_words(local(instant, fact))


def through(day: date | None, otherwise: str) -> str:
    """through 2 March 2027."""
    return f"through {day_words(day)}" if day else otherwise


def labelled(name: str, words: str | Sentence) -> Sentence | None:
    """Name: what is so. None where nothing is."""
    if not words:
        return None
    return say(f"{name}: ", words) if isinstance(words, tuple) else (f"{name}: {ended(words)}",)


def section(title: str, lines: Iterable[Sentence | str]) -> list[FactSection]:
    """One section; none where it has no line."""
    found = [line if isinstance(line, tuple) else (line,) for line in lines if line]
    return [FactSection(title, found)] if found else []
