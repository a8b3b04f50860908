"""What is read again when a fact was recorded: the facts of the procedures that it touches, and of all else only the stored days.

What these procedures rest on, and whether whoever watched could be relied on, is stored already (`StandingSpan`). Only of a
watcher who may not have been usable, or about whom something was decided that very day, are the facts themselves read, as
`training.gather` does of everybody: and not even then where a founding grant or a reason makes it count. Both say the same
where what is stored is right; `training.spans` sees to the order.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import IntegerField, QuerySet, Value

from clinic.models import Organisation, Person
from clinic.prepared import Prepared
from training.gather import (
    FOUNDED,
    OF_VERSION,
    USABLE,
    FactsWanted,
    Rulebook,
    in_doubt,
    own_facts,
    seen_by,
    watched_assessments,
)
from training.models import Attendance, CarriedOver, SignOff, Withdrawal
from training.rules import facts
from training.rules.life import Prerequisite
from training.rules.order import needed_ever, with_prerequisites
from training.rules.standing import touching
from training.rules.watchers import WatchedBy, Watchers, with_watchers

WITHDRAWN, OTHERWISE = 1, 0


def decisions(people: Any, codes: Any) -> QuerySet[Any, Any]:
    def of(model: Any, code: str, what: int, day: str = "happened_on") -> QuerySet[Any, Any]:
        rows = model._default_manager.filter(person__in=people, **{f"{code}__in": codes}).order_by()
        return rows.values_list("person_id", code, day, Value(what, output_field=IntegerField()))  # type: ignore[no-any-return]

    return of(SignOff, OF_VERSION, OTHERWISE).union(
        of(Withdrawal, "procedure__code", WITHDRAWN),
        of(CarriedOver, "procedure__code", OTHERWISE),
        of(Attendance, f"session__topics__{OF_VERSION}", OTHERWISE, "session__happened_on"),
    )


DECISIONS = Prepared(decisions)
Row = tuple[Any, ...]  # an assessment: id, observer, procedure code, site, day, whose it is
Judged = Mapping[tuple[UUID, str], date]


@dataclass(frozen=True, slots=True)
class Near:
    """One person: the facts of the procedures asked, and the days on which they could do alone what these rest on."""

    facts: facts.PersonFacts
    usable: Mapping[str, Prerequisite]


def near_facts(
    organisation: Organisation,
    people: Collection[Person],
    codes: Collection[str],
    whole: Mapping[str, facts.ProcedureFacts],
    judged: Judged | None = None,
) -> dict[str, Near]:
    """By person id. A fixed number of queries, and a second reading where it is in doubt whether somebody watched well.

    `judged`: by person and procedure, from which day on it matters who watched an assessment (None: from the first on)."""
    book = Rulebook.of(organisation, whole, None)
    asked = FactsWanted([person.pk for person in people], codes)
    rows = watched_assessments(asked)
    if judged is not None:
        rows = [row for row in rows if row[4] >= judged.get((row[5], row[2]), date.max)]
    unsure = [*in_doubt(rows)]
    below = {name for code in codes for name in needed_ever(whole[code])} & whole.keys()
    usable = stored_days(whole, {*asked.people, *(row[1] for row in unsure)}, {*codes, *below})
    doubtful = doubted(unsure, usable, book) if unsure else []
    found = own_facts(people, codes, book)
    if doubtful:
        others = Person.objects.filter(pk__in={row[1] for row, _ in doubtful})
        part = with_prerequisites(whole, *(row[2] for row, _ in doubtful))
        watchers = Watchers(whole, own_facts(others, part.keys(), book))
        watched_by = {str(row[0]): seen for row, seen in doubtful}
        found = {key: with_watchers(each, watched_by, watchers) for key, each in found.items()}
    return {str(key): Near(found[str(key)], usable[key]) for key in asked.people}


def doubted(
    unsure: Collection[Row], usable: Mapping[UUID, Mapping[str, Prerequisite]], book: Rulebook
) -> list[tuple[Row, WatchedBy]]:
    """Those that stay in doubt when it is asked in which procedure something was decided that day, and who watched."""
    decided = Decided.about({row[1] for row in unsure}, with_prerequisites(book.whole, *{row[2] for row in unsure}))
    left = [row for row in unsure if decided.on_day_of(row) or not is_usable(row, usable)]
    asked = [(row, seen_by(row, book)) for row in left]
    return [(row, seen) for row, seen in asked if not decided.counts_whatever(row, seen)]


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


def is_usable(row: Row, usable: Mapping[UUID, Mapping[str, Prerequisite]]) -> bool:
    """Whether whoever watched the assessment might do it alone at the end of that day."""
    _, watcher, code, _, day, _ = row
    return usable[watcher][code].is_usable_on(day)


@dataclass(frozen=True, slots=True)
class Decided:
    """When something was decided about people in some procedures, and who was ever withdrawn in which."""

    part: Mapping[str, facts.ProcedureFacts]
    days: set[tuple[UUID, str, date]]
    withdrawn: set[tuple[UUID, str]]

    @classmethod
    def about(cls, people: Collection[UUID], part: Mapping[str, facts.ProcedureFacts]) -> "Decided":
        """What was signed, withdrawn, carried over, granted at the founding, or taught. Two queries."""
        rows = list(DECISIONS.rows(people=people, codes=list(part)))
        days = {(person, code, day) for person, code, day, _ in rows}
        for row in FOUNDED.rows(people=people):
            days.update((row[5], code, row[1]) for code in row[6])
        return cls(part, days, {(person, code) for person, code, _, what in rows if what == WITHDRAWN})

    def on_day_of(self, row: Row) -> bool:
        """Whether anything was decided about the watcher on the day of the assessment, in its procedure or what that rests on."""
        _, watcher, code, _, day, _ = row
        return any((watcher, name, day) in self.days for name in with_prerequisites(self.part, code))

    def counts_whatever(self, row: Row, seen: WatchedBy) -> bool:
        """For a reason that was given, or by a founding grant where nothing was ever withdrawn."""
        return seen.lowered or (seen.founder and (row[1], row[2]) not in self.withdrawn)
