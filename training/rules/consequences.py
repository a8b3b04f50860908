"""What falls with an act that is not recorded yet: the same rules, on the facts there are plus the one to come."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time

from clinic.rules.words import counted, day_words, listed
from training.rules.facts import PersonFacts, Policy, ProcedureFacts, VersionFact, Withdrawn
from training.rules.standing import Standing, timelines
from training.rules.wording import codes_in_runs

TO_COME = "to come"  # the id of a fact that nobody has recorded

NOBODY_FALLS = ["Nobody has to be watched again for it: whoever may work alone goes on as now."]


@dataclass(frozen=True, slots=True)
class Falls:
    """Somebody who may work alone in a procedure, and will do so through `last` only (None: not even on the day asked)."""

    person: str
    code: str
    last: date | None


def with_version(
    programme: Mapping[str, ProcedureFacts], code: str, policy: Policy, from_day: date, at: datetime
) -> dict[str, ProcedureFacts]:
    """The programme with one more version of the procedure, approved at the instant."""
    row = programme[code]
    number = max((version.number for version in row.versions), default=0) + 1
    version = VersionFact(code, number, from_day, at, policy)
    return {**programme, code: replace(row, versions=(*row.versions, version))}


def with_withdrawal(person: PersonFacts, code: str, day: date, at: datetime, clock: time) -> PersonFacts:
    """The person's facts with one more withdrawal."""
    fact = Withdrawn(id=TO_COME, day=day, recorded_at=at, at=clock)
    return replace(person, by_procedure={**person.by_procedure, code: (*person.by_procedure.get(code, ()), fact)})


def falls(person: str, before: Mapping[str, Standing], after: Mapping[str, Standing], day: date) -> list[Falls]:
    """What the person may do alone on the day and for a shorter time, or not at all, with the fact to come."""
    found = []
    for code, standing in before.items():
        was, will = standing.on(day), after[code].on(day)
        if not was.state.is_usable:
            continue
        if not will.state.is_usable:
            found.append(Falls(person, code, None))
        elif will.ends_on and (was.ends_on is None or will.ends_on < was.ends_on):
            found.append(Falls(person, code, will.ends_on))
    return found


def falls_of_version(
    before: Mapping[str, ProcedureFacts], after: Mapping[str, ProcedureFacts], people: Iterable[PersonFacts], day: date
) -> list[Falls]:
    return [
        one
        for person in people
        for one in falls(person.person, timelines(before, person), timelines(after, person), day)
    ]


def version_words(code: str, falling: Sequence[Falls], names: Mapping[str, str], nobody: str) -> list[str]:
    """Who must be watched again by when; what rests on it; and, where it comes to that, from when nobody may."""
    mine = [one for one in falling if one.code == code]
    if not mine:
        return NOBODY_FALLS
    by_day: dict[date | None, list[str]] = {}
    for one in sorted(mine, key=lambda each: (each.last or date.min, names[each.person])):
        by_day.setdefault(one.last, []).append(names[one.person])
    found = [f"To be watched again {by_words(last)}: {listed(who)}." for last, who in by_day.items()]
    rest = sorted({one.code for one in falling} - {code})
    if rest:
        found.append(f"What rests on it ends for them too: {codes_in_runs(rest)}.")
    return [*found, *([nobody] if nobody else [])]


def by_words(last: date | None) -> str:
    return f"by {day_words(last)}" if last else "at once"


def withdrawal_words(code: str, falling: Sequence[Falls], alone_after: int, site: str) -> list[str]:
    """What falls beside the procedure, and whether anybody at the site is left for it."""
    rest = [one.code for one in falling if one.code != code]
    found = (
        [f"With it {'falls' if len(rest) == 1 else 'fall'} what rests on it: {codes_in_runs(rest)}."] if rest else []
    )
    if not any(one.code == code for one in falling):
        return ["Nothing ends with it: there is no sign-off that is good today.", *found]
    left = counted(alone_after, "other person", "other people")
    return [
        *found,
        f"Then nobody at {site} may do {code} alone." if not alone_after else f"{left} at {site} may do {code} alone.",
    ]


def lost_words(do: Sequence[str], sign: Sequence[str], site: str) -> list[str]:
    """Procedures that nobody at the site may do, or watch and sign, any more."""
    found = [f"Then nobody at {site} may do alone: {codes_in_runs(do)}."] if do else []
    found += [f"Then nobody at {site} may watch and sign: {codes_in_runs(sign)}."] if sign else []
    return found or [f"Everything at {site} has somebody else for it."]


def closing_words(falling: Sequence[Falls], names: Mapping[str, str]) -> list[str]:
    """A sentence for each person: what ends while nobody is there to watch it."""
    codes: dict[str, list[str]] = {}
    for one in sorted(falling, key=lambda each: (names[each.person], each.code)):
        codes.setdefault(names[one.person], []).append(one.code)
    return [f"While it is closed {who} loses {codes_in_runs(those)}: watch it before." for who, those in codes.items()]
