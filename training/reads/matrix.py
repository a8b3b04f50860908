"""People × procedures of a site on any day, and as known at any instant. A fixed number of queries for any number of people."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.urls import reverse

from clinic.models import Person, RoleHeld, Site
from training.models import Procedure, Requirement, StandingSpan
from training.rules.facts import State
from training.rules.wording import listed, several
from training.spans import computed

AMISS = (State.LAPSED, State.ON_HOLD, State.WITHDRAWN)
LEAST = 2  # fewer usable people than this is thin


@dataclass(frozen=True, slots=True)
class Square:
    """One person in one procedure on the day, as the matrix and the documents show it."""

    state: State
    basis: str
    cause: str
    ends_on: date | None
    since: date | None
    waits_for: str = ""

    @property
    def says(self) -> str:
        """What stands under the shape: the day it ends or ended, or what it waits for."""
        if self.state is State.ON_HOLD:
            return self.waits_for
        if self.state.is_usable:
            return f"{self.ends_on:%-d %b}" if self.ends_on else "no end"
        if self.since and self.state in (State.LAPSED, State.WITHDRAWN):
            return f"{self.since:%-d %b}"
        return "none" if self.state is State.UNTRAINED else self.state.value


UNTRAINED = Square(State.UNTRAINED, "", "", None, None)


@dataclass(frozen=True, slots=True)
class Squares:
    """Everything the matrix of a site shows on a day."""

    site: Site
    day: date
    known_by: datetime | None
    people: list[Person]
    roles: dict[Any, str]
    procedures: list[Procedure]
    asked: dict[Any, set[int]]  # person → procedures that their roles need that day
    squares: dict[tuple[Any, int], Square]

    def at(self, person: Person, procedure: Procedure) -> Square:
        return self.squares.get((person.pk, procedure.pk), UNTRAINED)

    def usable(self, procedure: Procedure) -> int:
        return sum(self.at(person, procedure).state.is_usable for person in self.people)

    def short(self, procedure: Procedure) -> bool:
        """Somebody's role needs it, and fewer than two may do it alone."""
        return any(procedure.pk in asked for asked in self.asked.values()) and self.usable(procedure) < LEAST


def squares(
    site: Site, day: date, known_by: datetime | None = None, *, people: Sequence[Person] | None = None
) -> Squares:
    """Read the stored spans, or, as known at an earlier instant, ask the rules with the facts recorded by then."""
    members = list(people if people is not None else Person.objects.at_site(site, day).by_name())
    procedures = list(Procedure.objects.of(site.organisation).filter(kind=Procedure.Kind.PRACTICE))
    found = stored(members, day) if known_by is None else as_known(site, members, procedures, day, known_by)
    roles, asked = roles_and_needs(site, members, day)
    return Squares(site, day, known_by, members, roles, procedures, asked, found)


def stored(people: Sequence[Person], day: date) -> dict[tuple[Any, int], Square]:
    columns = ("person_id", "procedure_id", "state", "basis", "cause", "ends_on", "first")
    rows = StandingSpan.objects.on(day).filter(person__in=people).values_list(*columns)
    return {
        (person, pk): square(State(state), basis, cause, ends, first)
        for person, pk, state, basis, cause, ends, first in rows
    }


def square(state: State, basis: str, cause: str, ends_on: date | None, since: date | None) -> Square:
    waits = cause.partition(":")[2] if state is State.ON_HOLD else ""
    return Square(state, basis, cause, ends_on, since, waits)


def as_known(
    site: Site, people: Sequence[Person], procedures: Sequence[Procedure], day: date, known_by: datetime
) -> dict[tuple[Any, int], Square]:
    keys = {str(person.pk): person.pk for person in people}
    codes = {procedure.code: procedure.pk for procedure in procedures}
    found = {}
    for person, by_code in computed(site.organisation, people, known_by).items():
        for code, standing in by_code.items():
            span = standing.on(day)
            if code in codes and span.state is not State.UNTRAINED:
                basis = span.basis.value if span.basis else ""
                found[keys[person], codes[code]] = square(span.state, basis, span.cause or "", span.ends_on, span.first)
    return found


def roles_and_needs(site: Site, people: Sequence[Person], day: date) -> tuple[dict[Any, str], dict[Any, set[int]]]:
    """Job titles of the day in words, and which procedures these roles need that day."""
    held = RoleHeld.objects.held_on(day).filter(person__in=people, site=site).select_related("job_role")
    needs: dict[int, set[int]] = defaultdict(set)
    for role, procedure in Requirement.objects.in_force(day).at(site).values_list("job_role", "procedure"):
        needs[role].add(procedure)
    titles: dict[Any, list[str]] = defaultdict(list)
    asked: dict[Any, set[int]] = defaultdict(set)
    for row in held:
        titles[row.person_id].append(row.job_role.title.lower())
        asked[row.person_id] |= needs[row.job_role_id]
    return {pk: ", ".join(words) for pk, words in titles.items()}, asked


def amiss(found: Squares) -> str:
    """How many squares of the matrix say that something signed does not hold, in a sentence."""
    count = {state: sum(square.state is state for square in found.squares.values()) for state in AMISS}
    said = [f"{several(number, 'is', 'are')} {state.value}" for state, number in count.items() if number]
    if not said:
        return "Nothing signed is lapsed, on hold or withdrawn."
    return f"Of what was signed, {listed(said)}."


def for_page(found: Squares) -> dict[str, Any]:
    """The matrix part's own shape: columns, rows and cells with their links."""
    site = found.site.code
    columns = [
        {
            "code": p.code,
            "title": p.title,
            "href": reverse("training:procedure", kwargs={"site": site, "code": p.code}),
            "usable": found.usable(p),
            "short": found.short(p),
        }
        for p in found.procedures
    ]
    known = f"as known by {found.known_by:%-d %b %Y}" if found.known_by else "as known now"
    rows = [row_for(found, person) for person in found.people]
    caption = f"Standing of {len(found.people)} people in {len(columns)} procedures on {found.day:%-d %b %Y}, {known}"
    return {"caption": caption, "corner": f"On {found.day:%-d %b %Y}, {known}", "columns": columns, "rows": rows}


def row_for(found: Squares, person: Person) -> dict[str, Any]:
    asked = found.asked.get(person.pk, set())
    held = sum(found.at(person, p).state.is_usable for p in found.procedures if p.pk in asked)
    return {
        "name": person.printed_name,
        "href": reverse("training:person", kwargs={"site": found.site.code, "person": person.pk}),
        "small": f"{held} of {len(asked)} · {found.roles.get(person.pk, 'no role that day')}",
        "cells": [cell(found, person, procedure, procedure.pk in asked) for procedure in found.procedures],
    }


def cell(found: Squares, person: Person, procedure: Procedure, asked: bool) -> dict[str, Any] | None:
    """Blank where the role does not ask for it and nothing is there."""
    here = found.at(person, procedure)
    if not asked and here.state is State.UNTRAINED:
        return None
    where = {"site": found.site.code, "person": person.pk, "code": procedure.code, "day": found.day.isoformat()}
    return {
        "state": here.state.value,
        "says": here.says,
        "label": f"{person.printed_name}, {procedure.code}",
        "href": reverse("training:cell", kwargs=where),
    }
