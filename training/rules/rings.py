"""Rings of signers: people who signed each other, where no link leads back to a founding grant or an outside witness.

Readings of the text:

1. A link goes from the signer to whoever is signed. A signer whose own standing rests on a founding grant or a
   carried-over record, or on an observation by an outside witness, is anchored; so is everybody an anchored person signed.
2. Links and anchors are those of one procedure. What one may sign in another procedure anchors nobody here.
3. A sign-off is a link from its day until it is withdrawn; one that was voided is none, and the caller leaves it out.
4. An anchor holds from its day on, and for good: what was watched was watched.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from clinic.rules.findings import Finding, Weight, finding_key, runs, swept
from clinic.rules.words import listed


@dataclass(frozen=True, slots=True)
class SignerLink:
    """One sign-off that was not voided, until `after`, the day of its withdrawal."""

    id: str
    day: date
    procedure: str
    signer: str
    person: str
    after: date | None = None

    def holds_on(self, day: date) -> bool:
        return self.day <= day and (self.after is None or day < self.after)


Anchor = tuple[str, str, date]
"""Procedure, person, and the day from which the anchor holds."""


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


def rings(links: Iterable[SignerLink], anchors: Iterable[Anchor], names: Mapping[str, str]) -> list[Finding]:
    """One finding for each time in which people signed each other in a procedure round and round with no beginning; a part
    for each change of who is in the ring."""
    by_code: dict[str, list[SignerLink]] = defaultdict(list)
    held: dict[str, list[tuple[str, date]]] = defaultdict(list)
    for link in links:
        by_code[link.procedure].append(link)
    for code, person, day in anchors:
        held[code].append((person, day))
    found = []
    for code, mine in sorted(by_code.items()):
        if round_of(never_anchored(mine, held[code])):  # next to none is asked day by day
            for run in runs(rings_by_day(mine, held[code])):
                found += [ring(code, run[0][0], part, names) for part in run]
    return found


def never_anchored(links: Sequence[SignerLink], anchors: Sequence[tuple[str, date]]) -> list[SignerLink]:
    """Without those between people of whom one is anchored for good before: by an anchor, or by a chain of signatures that
    was never withdrawn. No round can ever lead through such a person."""
    since: dict[str, date] = {}
    for person, day in anchors:
        since[person] = min(day, since.get(person, day))
    lasting, changed = [link for link in links if link.after is None], True
    while changed:
        changed = False
        for link in lasting:
            if link.signer in since:
                day = max(link.day, since[link.signer])
                if day < since.get(link.person, date.max):
                    since[link.person], changed = day, True
    late = date.max
    return [link for link in links if link.day < min(since.get(link.signer, late), since.get(link.person, late))]


def rings_by_day(
    links: Sequence[SignerLink], anchors: Sequence[tuple[str, date]]
) -> list[tuple[date, date | None, tuple[SignerLink, ...]]]:
    """On each day the links of one procedure that lie on a round of people whom no anchor reaches."""
    edges = {*(link.day for link in links), *(link.after for link in links), *(day for _, day in anchors)}

    def on(day: date) -> tuple[SignerLink, ...] | None:
        alive = [link for link in links if link.holds_on(day)]
        by: dict[str, list[str]] = defaultdict(list)
        for link in alive:
            by[link.signer].append(link.person)
        anchored = reached(by, [person for person, from_day in anchors if from_day <= day])
        return tuple(round_of([link for link in alive if not {link.signer, link.person} & anchored])) or None

    return swept(edges, on)


def round_of(links: Sequence[SignerLink]) -> list[SignerLink]:
    """Those from whose person a chain leads back to their signer. Whoever nobody signed, or who signed nobody, is on no
    round and is taken away first, again and again."""
    left = list(links)
    while True:
        signers, signed = {link.signer for link in left}, {link.person for link in left}
        inside = [link for link in left if link.signer in signed and link.person in signers]
        if len(inside) == len(left):
            break
        left = inside
    by: dict[str, list[str]] = defaultdict(list)
    for link in left:
        by[link.signer].append(link.person)
    ahead = {person: reached(by, [person]) for person in {link.person for link in left}}
    return [link for link in left if link.signer in ahead[link.person]]


def ring(
    code: str, since: date, part: tuple[date, date | None, tuple[SignerLink, ...]], names: Mapping[str, str]
) -> Finding:
    first, after, links = part
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
        first,
        after,
    )
