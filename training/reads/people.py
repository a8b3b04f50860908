"""Everybody at a site, with what matters first. A fixed number of queries for any number of people."""

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from clinic.models import Appointment, Person, RoleHeld, Site
from clinic.models.people import holds_on
from clinic.rules.words import begun, day_words, in_text, listed
from training.models import Procedure, StandingSpan
from training.permissions import grants, holds
from training.reads.plan import required_of
from training.rules.facts import State
from training.rules.plan import Required, earliest_due

SOON = timedelta(days=60)


@dataclass(frozen=True, slots=True)
class PersonListed:
    """One person in the list. `lapses`: (last good day, code) within sixty days, soonest first."""

    person: Person
    roles: str
    states: Mapping[str, State]  # procedure code → state of the day, where there is any
    asked: frozenset[str]
    overdue: tuple[str, ...]
    lapses: tuple[tuple[date, str], ...]

    @property
    def held(self) -> int:
        return sum(self.states.get(code, State.UNTRAINED).is_usable for code in self.asked)

    def having(self, *states: State) -> list[str]:
        return sorted(code for code, state in self.states.items() if state in states)

    @property
    def gone(self) -> list[str]:
        """What was signed once and does not hold."""
        return [code for code in self.having(State.LAPSED, State.ON_HOLD, State.WITHDRAWN) if code in self.asked]

    @property
    def signed(self) -> list[str]:
        """What was ever signed, carried over, granted or taught, whether it holds or not."""
        never = (State.UNTRAINED, State.LEARNING, State.READY)
        return sorted(code for code, state in self.states.items() if state not in never)

    @property
    def is_learning(self) -> bool:
        return any(not self.states.get(code, State.UNTRAINED).is_usable for code in self.asked) and not self.gone

    @property
    def worst(self) -> State:
        """The state whose shape stands beside the name."""
        for state in (State.WITHDRAWN, State.LAPSED, State.ON_HOLD):
            if any(self.states[code] is state for code in self.gone):
                return state
        if self.lapses:
            return State.DUE
        if self.having(State.READY):
            return State.READY
        return State.LEARNING if self.is_learning else State.CURRENT

    @property
    def need(self) -> tuple[int, date, str]:
        """For sorting: who needs somebody soonest."""
        soonest = self.lapses[0][0] if self.lapses else date.max
        rank = (State.WITHDRAWN, State.LAPSED, State.ON_HOLD, State.DUE, State.READY, State.LEARNING, State.CURRENT)
        return (rank.index(self.worst), soonest, self.person.printed_name)


@dataclass(frozen=True, slots=True)
class Everybody:
    """The list, with the titles that its sentences name."""

    day: date
    members: list[PersonListed]
    names: Mapping[str, str]

    def says(self, member: PersonListed) -> list[str]:
        """What matters first about somebody, at most three sentences."""
        found = []
        if member.gone:
            found.append(f"Does not hold: {self.titles(member.gone)}.")
        if member.overdue:
            found.append(f"Overdue to learn: {self.titles(member.overdue)}.")
        if member.lapses:
            day, code = member.lapses[0]
            more = (
                f" and {len(member.lapses) - 1} more by {day_words(member.lapses[-1][0])}" if member.lapses[1:] else ""
            )
            found.append(f"{begun(self.titles([code]))} holds through {day_words(day)}{more}.")
        if member.having(State.READY):
            found.append(f"Ready to be signed: {self.titles(member.having(State.READY))}.")
        if not found and member.is_learning:
            found.append(f"Learning: {len(member.asked) - member.held} to go.")
        return found[:3] or (["Everything needed is in order."] if member.asked else ["This role needs nothing."])

    def titles(self, codes: Sequence[str]) -> str:
        words = [f"{self.names.get(code, code)} ({code})" for code in codes[:2]]
        return listed([*words, f"{len(codes) - 2} more"]) if len(codes) > 2 else listed(words)


def everybody(site: Site, people: Collection[Person], day: date) -> Everybody:
    """The people given, as of the day."""
    required, states, lapses = required_of(people, day), states_on(people, day), lapses_soon(people, day)
    roles = roles_of(site, people, day)
    members = [
        member_of(person, roles.get(person.pk, ""), required[person.pk], states[person.pk], lapses[person.pk], day)
        for person in people
    ]
    names = {
        code: in_text(title) for code, title in Procedure.objects.of(site.organisation).values_list("code", "title")
    }
    return Everybody(day, sorted(members, key=lambda member: member.need), names)


def member_of(
    person: Person, roles: str, required: Sequence[Required], states: Mapping[str, State],
    lapses: Sequence[tuple[date, str]], day: date,
) -> PersonListed:  # fmt: skip
    due = earliest_due(required)
    late = sorted(code for code, last in due.items() if last < day and not states.get(code, State.UNTRAINED).is_usable)
    overdue = tuple(code for code in late if states.get(code, State.UNTRAINED) in NEVER_SIGNED)
    return PersonListed(person, roles, states, frozenset(due), overdue, tuple(sorted(lapses)))


NEVER_SIGNED = (State.UNTRAINED, State.LEARNING, State.READY)


def states_on(people: Collection[Person], day: date) -> dict[Any, dict[str, State]]:
    found: dict[Any, dict[str, State]] = defaultdict(dict)
    rows = StandingSpan.objects.on(day).filter(person__in=people).values_list("person_id", "procedure__code", "state")
    for person, code, state in rows:
        found[person][code] = State(state)
    return found


def lapses_soon(people: Collection[Person], day: date) -> dict[Any, list[tuple[date, str]]]:
    """What may be done alone today and no longer in sixty days."""
    found: dict[Any, list[tuple[date, str]]] = defaultdict(list)
    rows = StandingSpan.objects.on(day).usable().filter(person__in=people, ends_on__lte=day + SOON)
    for person, last, code in rows.values_list("person_id", "ends_on", "procedure__code"):
        if last is not None:
            found[person].append((last, code))
    return found


def roles_of(site: Site, people: Collection[Person], day: date) -> dict[Any, str]:
    """Job roles, posts and "supervisor" of the day in words, by person."""
    words: dict[Any, list[str]] = defaultdict(list)
    held = RoleHeld.objects.held_on(day).filter(person__in=people, site=site)
    for person, title in held.values_list("person_id", "job_role__title"):
        words[person].append(in_text(title))
    for row in Appointment.objects.filter(holds_on(day), person__in=people):
        words[row.person_id].append(row.get_post_display())
    for person in {grant.person_id for grant in grants(site=site) if holds(grant, day)}:
        words[person].append("supervisor")
    return {person: ", ".join(dict.fromkeys(found)) for person, found in words.items()}
