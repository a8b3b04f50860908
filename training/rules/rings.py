"""Rings of signers: people who signed each other, where no link leads back to a founding grant or an outside witness.

Readings of the text:

1. A link goes from the signer to whoever is signed. A signer whose own standing rests on a founding grant or a
   carried-over record, or on an observation by an outside witness, is anchored; so is everybody an anchored person signed.
2. Links and anchors are those of one procedure. What one may sign in another procedure anchors nobody here.
3. A sign-off that was withdrawn or voided is no link; the caller leaves it out.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from clinic.rules.findings import Finding, Weight, finding_key
from training.rules.wording import listed


@dataclass(frozen=True, slots=True)
class Link:
    """One sign-off that stands."""

    id: str
    day: date
    procedure: str
    signer: str
    person: str


def unanchored(links: Iterable[Link], anchors: Iterable[tuple[str, str]]) -> dict[str, set[str]]:
    """Per procedure everybody who signed, or was signed, and whom no chain from an anchor reaches.

    `anchors`: (procedure, person). Linear in the links.
    """
    signed: dict[str, dict[str, list[str]]] = defaultdict(lambda: defaultdict(list))
    for link in links:
        signed[link.procedure][link.signer].append(link.person)
    held: dict[str, set[str]] = defaultdict(set)
    for procedure, person in anchors:
        held[procedure].add(person)
    return {code: everybody(by) - reached(by, held[code]) for code, by in signed.items()}


def everybody(by: Mapping[str, list[str]]) -> set[str]:
    return set(by) | {person for people in by.values() for person in people}


def reached(by: Mapping[str, list[str]], start: Iterable[str]) -> set[str]:
    """Everybody to whom a chain of signatures leads from any of the start."""
    found = set(start)
    waiting = list(found)
    while waiting:
        for person in by.get(waiting.pop(), ()):
            if person not in found:
                found.add(person)
                waiting.append(person)
    return found


def rings(links: Iterable[Link], anchors: Iterable[tuple[str, str]], names: Mapping[str, str]) -> list[Finding]:
    """One finding for each procedure in which people signed each other round and round with no beginning."""
    known = list(links)
    loose = unanchored(known, anchors)
    found = []
    for code in sorted(loose):
        round_and_round = [link for link in known if link.procedure == code and in_a_ring(link, known, loose[code])]
        if round_and_round:
            found.append(ring(code, round_and_round, names))
    return found


def in_a_ring(link: Link, links: Iterable[Link], loose: set[str]) -> bool:
    """Whether a chain leads from whoever was signed back to the signer, through people whom no anchor reaches."""
    if link.signer not in loose or link.person not in loose:
        return False
    by: dict[str, list[str]] = defaultdict(list)
    for one in links:
        if one.procedure == link.procedure and one.person in loose:
            by[one.signer].append(one.person)
    return link.signer in reached(by, [link.person])


def ring(code: str, links: list[Link], names: Mapping[str, str]) -> Finding:
    since = min(link.day for link in links)
    people = sorted({names.get(link.signer, link.signer) for link in links})
    return Finding(
        finding_key("ring of signers", code, since),
        Weight.STOP,
        "ring of signers",
        code,
        tuple(sorted(link.id for link in links)),
        since,
        f"{code}: {listed(people)} signed each other, and nobody outside watched any of them.",
        "An assessment by an outside witness with a new sign-off ends it, or a founding grant.",
    )
