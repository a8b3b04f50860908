"""How the register itself is kept, in the sentences of a binder: copies, trials, checks, what was taken away, what is held."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from clinic.rules.words import counted, day_words

NEVER = {
    "backup": "No backup of the register was recorded by this day.",
    "restore drill": "No restore drill was recorded by this day: nobody has shown that a copy can be restored.",
    "check of the seals": "No check of the seals was recorded by this day, beside the one that this binder runs.",
}
ENDED = {
    "backup": ("the copy is complete", "the copy is not complete"),
    "restore drill": ("every seal of the restored copy was whole", "the restored copy was not whole"),
    "check of the seals": ("no seal was broken", "something did not hold"),
}


@dataclass(frozen=True, slots=True)
class KeptDone:
    """A backup, restore drill or check of the seals. `by`: empty where the register did it by itself. `fact`: its id."""

    kind: str
    day: date
    good: bool
    by: str
    fact: str

    @property
    def ended(self) -> str:
        return ENDED[self.kind][not self.good]

    @property
    def who(self) -> str:
        return self.by or "the register itself"


@dataclass(frozen=True, slots=True)
class Held:
    """A legal hold. `lifted`: the day, None while it stands."""

    since: date
    said: str
    lifted: date | None = None

    def stands_on(self, day: date) -> bool:
        return self.since <= day and (self.lifted is None or day < self.lifted)


def register_says(
    done: Iterable[KeptDone], purged: Sequence[tuple[date, int]], held: Iterable[Held], day: date
) -> list[str]:
    """A sentence a thing, also where there is none. `purged`: of the period, the day and how many records. `day`: of the
    binder."""
    last = {one.kind: one for one in sorted(done, key=lambda one: one.day) if one.day <= day}
    return [
        *(last_says(kind, last.get(kind)) for kind in NEVER),
        purged_says(purged),
        *(hold_says(held, day)),
    ]


def last_says(kind: str, one: KeptDone | None) -> str:
    return f"Last {kind}: {day_words(one.day)}, by {one.who}; {one.ended}." if one else NEVER[kind]


def purged_says(purged: Sequence[tuple[date, int]]) -> str:
    if not purged:
        return "No record was taken away in the period."
    number = sum(count for _, count in purged)
    last = max(day for day, _ in purged)
    return (
        f"{counted(number, 'record')} {'was' if number == 1 else 'were'} taken away in the period after the time "
        f"was over, last on {day_words(last)}; the seal of each stays."
    )


def hold_says(held: Iterable[Held], day: date) -> list[str]:
    standing = [one for one in held if one.stands_on(day)]
    if not standing:
        return ["No legal hold stood on this day."]
    return [f"A legal hold stands since {day_words(one.since)}: {one.said.rstrip('.')}." for one in standing]
