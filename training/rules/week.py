"""What supervisors should watch this week so that nobody lapses: the assignment that saves the most.

An observation needs a supervisor with authority and the person watched at work on the same day. The choice is a mixed
integer programme given to HiGHS through scipy. First as many as possible of those who would lapse within the week are
saved, then as many of the others as fit; among equals those whose last good day comes sooner, on the earliest days.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from math import inf
from typing import Any

from clinic.rules.late import Late

np, optimize = Late("numpy"), Late("scipy.optimize")

A_DAY = 4  # observations that one person, watching or watched, can make in a day; own choice, D


@dataclass(frozen=True, slots=True)
class Watcher:
    """A supervisor: per procedure the days on which there is authority and the supervisor is at work."""

    id: str
    may: Mapping[str, frozenset[date]]


@dataclass(frozen=True, slots=True)
class Need:
    """A sign-off that ends, and what would save it: `watches` met assessments by `last_good`, on at least `apart` days,
    by at least `others` people who do not yet count (`counted`). `days`: when the person is at work. `blocked`: what
    else is missing, in words, that no watching supplies. `lapses`: how many sign-offs end with it, itself included."""

    id: str
    person: str
    procedure: str
    last_good: date
    watches: int
    days: frozenset[date]
    apart: int = 1
    others: int = 0
    counted: frozenset[str] = frozenset()
    blocked: tuple[str, ...] = ()
    lapses: int = 1


@dataclass(frozen=True, slots=True)
class WeekWatch:
    """So many observations for a need by a supervisor on a day."""

    day: date
    watcher: str
    need: str
    times: int


class UnsavedWhy(StrEnum):
    """Why a need could not be saved."""

    BLOCKED = "blocked"  # something else is missing first
    NOBODY = "nobody"  # nobody with authority is at work with the person by then
    TOO_MUCH = "too much"  # it does not fit even if nobody else is watched
    OTHERS_FIRST = "others first"  # it fits alone, but not beside those that are saved


@dataclass(frozen=True, slots=True)
class Unsaved:
    need: str
    why: UnsavedWhy


@dataclass(frozen=True, slots=True)
class WeekPlan:
    """`watches` by day, supervisor and need; `unsaved` by the last good day."""

    watches: tuple[WeekWatch, ...]
    unsaved: tuple[Unsaved, ...]

    @property
    def saved(self) -> frozenset[str]:
        return frozenset(watch.need for watch in self.watches)


Slot = tuple[int, str, date]  # number of the need, who watches, when


@dataclass
class Programme:
    """The integer programme: times per slot, then per need whether it is saved, which days and which people it uses."""

    needs: Sequence[Need]
    slots: Sequence[Slot]
    a_day: int
    names: dict[Any, int] = field(default_factory=dict)  # what a column stands for → its number
    rows: list[tuple[dict[int, float], float, float]] = field(default_factory=list)

    def __post_init__(self) -> None:
        for number, need in enumerate(self.needs):
            self.save(number, need)
        self.limit_days()

    def column(self, *name: Any) -> int:
        return self.names.setdefault(name, len(self.names))

    def save(self, number: int, need: Need) -> None:
        """A saved need gets exactly its watches, on enough days, by enough people who do not count yet."""
        saved = self.column("saved", number)
        mine = [slot for slot in self.slots if slot[0] == number]
        times = {slot: self.column("times", *slot) for slot in mine}
        self.rows.append(({**dict.fromkeys(times.values(), 1.0), saved: -need.watches}, 0, 0))
        fresh = [slot for slot in mine if slot[1] not in need.counted]
        self.spread(number, saved, need.apart, times, {slot: slot[2] for slot in mine})
        self.spread(number, saved, need.others, times, {slot: slot[1] for slot in fresh})

    def spread(
        self, number: int, saved: int, least: int, times: dict[Slot, int], group: Mapping[Slot, str | date]
    ) -> None:
        """At least so many groups of slots (those of a day, or of a supervisor) are used where the need is saved."""
        used = {name: self.column(number, name) for name in set(group.values())}
        for name, column in used.items():
            members = {times[slot]: -1.0 for slot, its in group.items() if its == name}
            self.rows.append(({**members, column: 1.0}, -inf, 0))
        self.rows.append(({**dict.fromkeys(used.values(), 1.0), saved: -least}, 0, inf))

    def limit_days(self) -> None:
        """Nobody watches, or is watched, more often in a day than can be done."""
        loads: dict[Any, dict[int, float]] = {}
        for number, watcher, day in self.slots:
            column = self.column("times", number, watcher, day)
            for load in ((watcher, "watches", day), (self.needs[number].person, "is watched", day)):
                loads.setdefault(load, {})[column] = 1.0
        self.rows += [(members, 0, self.a_day) for members in loads.values()]

    def solve(self, objectives: Sequence[Mapping[int, float]]) -> Any:
        """The columns' values that make each objective as large as can be, the earlier ones first."""
        rows, values = list(self.rows), np.zeros(len(self.names))
        for wanted in objectives:
            found = optimize.milp(
                -self.dense(wanted),
                integrality=np.ones(len(self.names)),
                bounds=optimize.Bounds(0, self.upper()),
                constraints=optimize.LinearConstraint(
                    np.array([self.dense(row) for row, _, _ in rows]),
                    [low for _, low, _ in rows],
                    [up for _, _, up in rows],
                ),
            )
            if found.x is None:  # nothing at all is a plan, so the solver itself failed
                raise ArithmeticError(found.message)
            values = np.round(found.x)
            rows.append((dict(wanted), float(self.dense(wanted) @ values) - 0.5, inf))
        return values

    def upper(self) -> Any:
        return np.array([self.a_day if name[0] == "times" else 1 for name in self.names])

    def dense(self, row: Mapping[int, float]) -> Any:
        line = np.zeros(len(self.names))
        for column, value in row.items():
            line[column] = value
        return line


def week_plan(needs: Sequence[Need], watchers: Sequence[Watcher], days: Sequence[date], a_day: int = A_DAY) -> WeekPlan:
    """Who watches whom in what on which of the days. Needs that nothing but a signature is missing for are not given here
    (ValueError for one that asks no watching)."""
    if any(need.watches < 1 for need in needs):
        raise ValueError("A need without a watch only waits for a signature.")
    open_needs = [need for need in needs if not need.blocked]
    watches = tuple(assigned(open_needs, watchers, days, a_day))
    saved = {watch.need for watch in watches}
    left = sorted((need for need in needs if need.id not in saved), key=lambda need: (need.last_good, need.id))
    return WeekPlan(watches, tuple(Unsaved(need.id, why(need, watchers, days, a_day)) for need in left))


def assigned(
    needs: Sequence[Need], watchers: Sequence[Watcher], days: Sequence[date], a_day: int
) -> Iterator[WeekWatch]:
    slots = [slot for number, need in enumerate(needs) for slot in slots_of(number, need, watchers, days)]
    if not slots:
        return
    programme = Programme(needs, slots, a_day)
    values = programme.solve(objectives(programme, days))
    for number, watcher, day in sorted(slots, key=lambda slot: (slot[2], slot[1])):
        times = int(values[programme.column("times", number, watcher, day)])
        if times:
            yield WeekWatch(day, watcher, needs[number].id, times)


def slots_of(number: int, need: Need, watchers: Sequence[Watcher], days: Sequence[date]) -> Iterator[Slot]:
    for watcher in watchers:
        may = watcher.may.get(need.procedure, frozenset())
        for day in days:
            if watcher.id != need.person and day in need.days and day in may and day <= need.last_good:
                yield number, watcher.id, day


def objectives(programme: Programme, days: Sequence[date]) -> list[dict[int, float]]:
    """Those who lapse within the week, then all, then the sooner last good days, then the earlier days of the week."""
    saved = {programme.column("saved", number): need for number, need in enumerate(programme.needs)}
    return [
        {column: float(need.lapses) for column, need in saved.items() if need.last_good <= max(days)},
        {column: float(need.lapses) for column, need in saved.items()},
        {column: -float((need.last_good - min(days)).days) for column, need in saved.items()},
        {
            programme.column("times", number, watcher, day): -float((day - min(days)).days)
            for number, watcher, day in programme.slots
        },
    ]


def why(need: Need, watchers: Sequence[Watcher], days: Sequence[date], a_day: int) -> UnsavedWhy:
    if need.blocked:
        return UnsavedWhy.BLOCKED
    if not list(slots_of(0, need, watchers, days)):
        return UnsavedWhy.NOBODY
    return UnsavedWhy.OTHERS_FIRST if list(assigned([need], watchers, days, a_day)) else UnsavedWhy.TOO_MUCH
