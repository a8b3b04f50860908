"""What is read again when a fact was recorded: the facts of the procedures that it touches, and of all else only the stored days.

What these procedures rest on, and whether whoever watched could be relied on, is stored already (`StandingSpan`). Only of a
watcher who may not have been usable, or about whom something was decided that very day, are the facts themselves read, as
`training.gather` does of everybody: and not even then where a founding grant or a reason makes it count. Both say the same
where what is stored is right; `training.spans` sees to the order.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from clinic.models import Organisation, Person
from clinic.prepared import Prepared
from training.gather import (
    USABLE,
    Assessed,
    FactsWanted,
    Rulebook,
    decided_on,
    own_facts,
    seen_by,
    watched_assessments,
)
from training.models import Withdrawal
from training.rules import facts
from training.rules.life import Prerequisite
from training.rules.order import Moment, decides_later, needed_ever, with_prerequisites
from training.rules.standing import touching
from training.rules.watchers import WatchedBy, Watchers, with_watchers

WITHDRAWN = Prepared(
    lambda people, codes: Withdrawal.objects.filter(person__in=people, procedure__code__in=codes).values_list(
        "person_id", "procedure__code"
    )
)
Judged = Mapping[tuple[UUID, str], date]


@dataclass(frozen=True, slots=True)
class Near:
    """One person: the facts of the procedures asked, and the days on which they could do alone what these rest on."""

    facts: facts.PersonFacts
    usable: Mapping[str, Prerequisite]


@dataclass(frozen=True, slots=True)
class OwnFacts:
    """What was read of people in some procedures, and against what."""

    book: Rulebook
    codes: Collection[str]
    of_people: Mapping[str, facts.PersonFacts]

    @classmethod
    def of(
        cls,
        organisation: Organisation,
        whole: Mapping[str, facts.ProcedureFacts],
        people: Collection[Person],
        codes: Collection[str],
    ) -> "OwnFacts":
        book = Rulebook.of(organisation, whole, None)
        return cls(book, codes, own_facts(people, codes, book))

    def have(self, people: Collection[Person], codes: Collection[str]) -> bool:
        return {*codes} <= {*self.codes} and all(str(person.pk) in self.of_people for person in people)


def near_facts(
    organisation: Organisation,
    people: Collection[Person],
    codes: Collection[str],
    whole: Mapping[str, facts.ProcedureFacts],
    judged: Judged | None = None,
    read: OwnFacts | None = None,
) -> dict[str, Near]:
    """By person id. A fixed number of queries, and a second reading where it is in doubt whether somebody watched well.

    `judged`: by person and procedure, from which day on it matters who watched an assessment (None: from the first on). `read`:
    facts that were read already, which are not read again where all that is asked is among them."""
    book = read.book if read else Rulebook.of(organisation, whole, None)
    asked = FactsWanted([person.pk for person in people], codes)
    rows = watched_assessments(asked, book)
    if judged is not None:
        rows = [row for row in rows if row.day >= judged.get((row.person, row.code), date.max)]
    below = {name for code in codes for name in needed_ever(whole[code])} & whole.keys()
    usable = stored_days(whole, asked.people, {*codes, *below})
    own = read.of_people if read and read.have(people, codes) else own_facts(people, codes, book)
    found = told_apart(own, in_doubt(rows, book), book)
    return {str(key): Near(found[str(key)], usable[key]) for key in asked.people}


Doubts = Sequence[tuple[Assessed, WatchedBy]]


def in_doubt(rows: Collection[Assessed], book: Rulebook) -> Doubts:
    """Those of which what is stored does not say for sure that they count, and who watched them: whoever did was not usable at
    the end of that day, or something was decided in it that may come later. Not where it counts whatever is found. Three
    queries at most; most often none is left, and nothing of those who watched is read."""
    if not rows:
        return []
    observers, codes, days = {row.observer for row in rows}, {row.code for row in rows}, [row.day for row in rows]
    usable = stored_days(book.whole, observers, codes)
    decided = decided_on(observers, days)
    rests_on = {code: with_prerequisites(book.whole, code) for code in codes}
    unsure = [
        (row, seen_by(row, book))
        for row in rows
        if not usable[row.observer][row.code].is_usable_on(row.day)
        or decides_later(moment_of(row), decided.get((row.observer, row.day), ()), rests_on[row.code])
    ]
    founders = {row.observer for row, seen in unsure if seen.founder}
    withdrawn = set(WITHDRAWN.rows(people=founders, codes=codes))
    return [
        (row, seen)
        for row, seen in unsure
        if not (seen.lowered or (seen.founder and (row.observer, row.code) not in withdrawn))
    ]


def moment_of(row: Assessed) -> Moment | None:
    """None for a correction, which stands in the place of another."""
    return None if row.corrects else Moment(row.day, row.at, row.recorded_at)


def told_apart(
    found: Mapping[str, facts.PersonFacts], doubts: Doubts, book: Rulebook
) -> Mapping[str, facts.PersonFacts]:
    """The same people, each of their assessments that is in doubt told apart by the facts of whoever watched it."""
    if not doubts:
        return found
    watched_by, watchers = {str(row.id): seen for row, seen in doubts}, watchers_of(doubts, book)
    return {key: with_watchers(each, watched_by, watchers) for key, each in found.items()}


def watchers_of(doubts: Doubts, book: Rulebook) -> Watchers:
    """Whoever watched them, with their facts in these procedures and what those rest on."""
    others = Person.objects.filter(pk__in={row.observer for row, _ in doubts})
    part = with_prerequisites(book.whole, *(row.code for row, _ in doubts))
    return Watchers(book.whole, own_facts(others, part.keys(), book))


def stored_days(
    whole: Mapping[str, facts.ProcedureFacts], people: Iterable[UUID], codes: Iterable[str]
) -> dict[UUID, dict[str, Prerequisite]]:
    """The stored days on which each may do each of these alone. One query."""
    runs: dict[tuple[UUID, str], list[tuple[date, date | None]]] = defaultdict(list)
    everybody, every = list(people), list(codes)
    for person, code, first, after in USABLE.rows(people=everybody, codes=every):
        runs[person, code].append((first, after))
    return {
        person: {code: Prerequisite(code, touching(runs[person, code]), whole[code].retired_on) for code in every}
        for person in everybody
    }
