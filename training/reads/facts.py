"""One fact in words, with its seal, for the page that every cell and every line of a binder leads back to."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC
from uuid import UUID
from zoneinfo import ZoneInfo

from django.urls import reverse

from clinic.facts import row_of
from clinic.models import Fact, Purged, Seal, Site
from clinic.rules.days import written_later
from clinic.rules.words import clock_words, counted, day_words, ended, instant_words
from clinic.seals import check_fact
from training.models import Signature
from training.reads.fact_words import FactWords, PageLink, Sentence, fact_link, name_of, plain, say, words_of
from training.reads.fact_words.parts import labelled, named_fact, sentences, who

# The name of the part of each address that a link of a fact may lead to.
PARTS = {
    "clinic:photo": "entry_photo",
    "clinic:unit": "equipment",
    "training:binder": "issue",
    "training:certificate": "issue",
    "training:fact": "fact",
    "training:person": "person",
    "training:place_photo": "place_photo",
    "training:procedure": "code",
    "training:sheet_photo": "sheet_photo",
}
Pieces = list[tuple[str, str]]
"""A sentence for a template: words, and the address they lead to (empty: nowhere)."""


@dataclass(frozen=True, slots=True)
class FactPage:
    """A fact as its page shows it. `wrong`: what its seal says is not as it was; empty where it is whole."""

    fact: Fact
    seal: Seal
    name: str
    words: FactWords
    wrong: list[str]
    corrects: Fact | None
    corrected_by: Fact | None
    signature: Signature | None

    @property
    def head(self) -> str:
        return plain(self.words.head)

    def recorded(self, confidential: bool) -> str:
        """When it was written down, on the site's own clock, by whom, and how much later than it was done."""
        here = self.fact.recorded_at.astimezone(ZoneInfo(self.fact.site.time_zone))
        later = written_later(self.fact.happened_on, here.date())
        late = f", {counted((later - self.fact.happened_on).days, 'day')} later than it is of" if later else ""
        by = "" if confidential else f" by {plain((who(self.fact.recorded_by),))}"
        told = " Who told of it is not shown." if confidential else ""
        zone = self.fact.site.time_zone
        word = "Written on" if later else "Recorded on"
        return f"{word} {instant_words(here)} ({zone} time){by}{late}.{told}"

    @property
    def corrections(self) -> list[Sentence]:
        """What it takes the place of, or takes away, and what did the same to it; each linked, with its reason."""
        return sentences(
            say("It stands in the place of ", fact_link(self.corrects), ".")
            if self.corrects and self.replaces
            else None,
            labelled("Why", self.fact.reason) if self.corrects or not self.says_why else None,
            say("It no longer counts: ", fact_link(self.corrected_by), " says why. ", ended(self.corrected_by.reason))
            if self.corrected_by
            else None,
        )

    @property
    def says_why(self) -> bool:
        """Whether its own sentences give its reason already."""
        return any(self.fact.reason.strip() in plain(sentence) for sentence in self.words.sentences)

    @property
    def replaces(self) -> bool:
        return self.fact.fact_kind() != "clinic.voiding"

    @property
    def signed(self) -> list[Sentence]:
        """Printed name, time and meaning of the signature beside it, and how the signer was proved (row E-13)."""
        row = self.signature
        if row is None:
            return []
        at = f" at {clock_words(row.happened_at)}" if row.happened_at else ""
        return sentences(
            say(f"Signed by {row.signer_name} on {day_words(row.happened_on)}{at} ({row.site.time_zone} time), ", fact_link(row, "as its own fact"), "."),
            labelled("Meaning", row.meaning),
            labelled("How the signer was proved", row.reidentified),
        )  # fmt: skip

    @property
    def sealed(self) -> list[str]:
        """Where it stands in the chain, and whether it is whole, as checked now."""
        at = self.seal.recorded_at.astimezone(UTC)
        state = (
            f"Its seal does not hold: {'; '.join(self.wrong)}."
            if self.wrong
            else "Its seal is whole, as checked now: it says what was sealed."
        )
        return [state, f"Sealed on {day_words(at)} at {at:%H:%M:%S} UTC, as number {self.seal.position:,} of the site."]  # fmt: skip


def fact_page(site: Site, fact_id: UUID) -> FactPage | None:
    """None where this site's chain has no such fact."""
    seal = Seal.objects.filter(site=site, fact=fact_id).first()
    fact = row_of(seal.kind, seal.fact) if seal else None
    if seal is None or not isinstance(fact, Fact):
        return None
    later = Seal.objects.filter(corrects=fact.pk).first()
    return FactPage(
        fact=fact,
        seal=seal,
        name=name_of(fact),
        words=words_of(fact),
        wrong=check_fact(seal),
        corrects=named_fact(fact.corrects),
        corrected_by=named_fact(later.fact) if later else None,
        signature=Signature.objects.filter(signs=fact.pk).select_related("site").first(),
    )


def purged_by(site: Site, fact_id: UUID) -> Purged | None:
    """The note that says what the fact sealed, where its contents were taken away after their period."""
    return Purged.objects.filter(site=site, contents__has_key=str(fact_id)).first()


def all_links(page: FactPage) -> list[PageLink]:
    lines = [line for part in page.words.sections for line in part.lines]
    found = [*page.words.sentences, *page.corrections, *page.signed, *lines]
    return [piece for sentence in found for piece in sentence if isinstance(piece, PageLink)]


@dataclass(frozen=True, slots=True)
class FactShown:
    """The page's sentences with the addresses that open for whoever looks."""

    says: list[Pieces]
    corrections: list[Pieces]
    signed: list[Pieces]
    sections: list[tuple[str, list[Pieces]]]


def shown(site: Site, page: FactPage, opens: Callable[[PageLink], bool]) -> FactShown:
    def led(found: list[Sentence]) -> list[Pieces]:
        return [leading(site, sentence, opens) for sentence in found]

    return FactShown(
        led(page.words.sentences),
        led(page.corrections),
        led(page.signed),
        [(part.title, led(part.lines)) for part in page.words.sections],
    )


def leading(site: Site, sentence: Sentence, opens: Callable[[PageLink], bool]) -> Pieces:
    """The sentence with the addresses of those of its links that open for whoever looks."""
    return [
        (piece, "") if isinstance(piece, str) else (piece.says, address(site, piece) if opens(piece) else "")
        for piece in sentence
    ]


def address(site: Site, link: PageLink) -> str:
    return reverse(link.to, kwargs={"site": site.code, PARTS[link.to]: link.key})
