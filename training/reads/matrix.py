"""People × procedures of a site on any day, and as known at any instant. A fixed number of queries for any number of people."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import QuerySet
from django.urls import reverse

from clinic.models import Person, RoleHeld, Site
from clinic.reads.known import as_known_at, holds
from clinic.rules.words import day_of_month, in_text, short_day
from training.models import Procedure, Requirement, StandingSpan
from training.reads.standing import UNTRAINED, plain
from training.rules import standing as rules
from training.rules.facts import State
from training.rules.sentence import sentence
from training.spans import computed

AMISS = (State.LAPSED, State.ON_HOLD, State.WITHDRAWN)
LEAST = 2  # fewer usable people than this is thin


@dataclass(frozen=True, slots=True)
class Square:
    """One person in one procedure on the day, as the matrix and the documents show it."""

    span: rules.StandingSpan

    @property
    def state(self) -> State:
        return self.span.state

    @property
    def short(self) -> str:
        """What stands under the shape: the day it ends or ended, or what it waits for."""
        if self.state is State.ON_HOLD:
            return (self.span.cause or "").partition(":")[2]
        if self.state.is_usable:
            return f"{day_of_month(self.span.ends_on)}" if self.span.ends_on else "no end"
        if self.state in (State.LAPSED, State.WITHDRAWN):
            return f"{day_of_month(self.span.first)}"
        return "none" if self.state is State.UNTRAINED else self.state.value


NOTHING_KNOWN = Square(UNTRAINED)


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
    titles: dict[str, str]  # of every procedure, by code

    def at(self, person: Person, procedure: Procedure) -> Square:
        return self.squares.get((person.pk, procedure.pk), NOTHING_KNOWN)

    def says(self, person: Person, procedure: Procedure) -> str:
        """The sentence of the person in the procedure on the day."""
        return sentence(self.at(person, procedure).span, self.titles, is_topic=procedure.is_topic)

    def asks(self, person: Person, procedure: Procedure) -> bool:
        return procedure.pk in self.asked.get(person.pk, ())

    def is_shown(self, person: Person, procedure: Procedure) -> bool:
        """A square is blank where the role does not ask for it and nothing is there."""
        return self.asks(person, procedure) or self.at(person, procedure).state is not State.UNTRAINED

    def usable(self, procedure: Procedure) -> int:
        return sum(self.at(person, procedure).state.is_usable for person in self.people)

    def is_duty(self, procedure: Procedure) -> bool:
        """Somebody's role asks for it, and it is done rather than taught."""
        return not procedure.is_topic and any(procedure.pk in asked for asked in self.asked.values())


def squares(
    site: Site, day: date, known_by: datetime | None = None, *, people: Sequence[Person] | None = None
) -> Squares:
    """Read the stored spans, or, as known at an earlier instant, ask the rules with the facts recorded by then.

    Beside what is done stand those topics that are asked of somebody here or that somebody has a standing in.
    """
    members = list(people if people is not None else people_known(site, day, known_by))
    every = list(Procedure.objects.of(site.organisation))
    found = stored(members, day) if known_by is None else as_known(site, members, every, day, known_by)
    roles, asked = roles_and_needs(site, members, day, known_by)
    wanted = {pk for _, pk in found} | {pk for each in asked.values() for pk in each}
    shown = [row for row in every if not row.is_topic or row.pk in wanted]
    return Squares(site, day, known_by, members, roles, shown, asked, found, {row.code: row.title for row in every})


def stored(people: Sequence[Person], day: date) -> dict[tuple[Any, int], Square]:
    rows = StandingSpan.objects.on(day).filter(person__in=people)
    return {(row.person_id, row.procedure_id): Square(plain(row)) for row in rows}


def as_known(
    site: Site, people: Sequence[Person], procedures: Sequence[Procedure], day: date, known_by: datetime
) -> dict[tuple[Any, int], Square]:
    keys = {str(person.pk): person.pk for person in people}
    codes = {procedure.code: procedure.pk for procedure in procedures}
    found = {}
    for person, by_code in computed(site.organisation, people, known_by).items():
        for code, standing in by_code.items():
            span = standing.on(day)
            if span.state is not State.UNTRAINED:
                found[keys[person], codes[code]] = Square(span)
    return found


def people_known(site: Site, day: date, known_by: datetime | None) -> "QuerySet[Person]":
    """Who holds a job role at the site on the day, as the roster was known at the instant."""
    if known_by is None:
        return Person.objects.at_site(site, day).by_name()
    rows = as_known_at(RoleHeld.objects.filter(site=site), known_by)
    return Person.objects.filter(pk__in={row.person_id for row in rows if holds(row, day)}).by_name()


def roles_and_needs(
    site: Site, people: Sequence[Person], day: date, known_by: datetime | None = None
) -> tuple[dict[Any, str], dict[Any, set[int]]]:
    """Job titles of the day in words, and which procedures these roles need that day; as known at the instant."""
    held = as_known_at(RoleHeld.objects.filter(person__in=people, site=site).select_related("job_role"), known_by)
    needs: dict[int, set[int]] = defaultdict(set)
    for row in as_known_at(Requirement.objects.at(site), known_by):
        if holds(row, day):
            needs[row.job_role_id].add(row.procedure_id)
    titles: dict[Any, list[str]] = defaultdict(list)
    asked: dict[Any, set[int]] = defaultdict(set)
    for role in held:
        if holds(role, day):
            titles[role.person_id].append(in_text(role.job_role.title))
            asked[role.person_id] |= needs[role.job_role_id]
    return {pk: ", ".join(words) for pk, words in titles.items()}, asked


@dataclass(frozen=True, slots=True)
class MatrixHead:
    """What the head of the matrix says of the squares below it. A duty is a procedure that somebody's role asks for."""

    duties: list[Procedure]
    uncovered: list[Procedure]
    thin: list[Procedure]
    amiss: dict[str, int]  # state → squares, where something signed does not hold


def told(found: Squares) -> MatrixHead:
    duties = [p for p in found.procedures if found.is_duty(p)]
    states = [found.at(person, p).state for person in found.people for p in found.procedures]
    count = {state.value: states.count(state) for state in AMISS}
    return MatrixHead(
        duties,
        uncovered=[p for p in duties if not found.usable(p)],
        thin=[p for p in duties if 0 < found.usable(p) < LEAST],
        amiss={state: number for state, number in count.items() if number},
    )


def for_page(found: Squares) -> dict[str, Any]:
    """The matrix part's own shape: columns, rows and cells with their links."""
    site = found.site.code
    columns = [
        {
            "code": p.code,
            "title": p.title,
            "href": reverse("training:procedure", kwargs={"site": site, "code": p.code}),
            "usable": found.usable(p),
            "short": found.is_duty(p) and found.usable(p) < LEAST,
            "rows": " ".join(["duty", *["uncovered", "thin", ""][min(found.usable(p), LEAST)].split()])
            if found.is_duty(p)
            else "",
        }
        for p in found.procedures
    ]
    known = f"as known by the end of {short_day(last_known(found))}" if found.known_by else "as known now"
    rows = [row_for(found, person) for person in found.people]
    caption = f"Standing of everybody in every procedure on {short_day(found.day)}, {known}"
    return {"caption": caption, "corner": f"On {short_day(found.day)}, {known}", "columns": columns, "rows": rows}


def row_for(found: Squares, person: Person) -> dict[str, Any]:
    asked = [p for p in found.procedures if found.asks(person, p)]
    return {
        "name": person.printed_name,
        "href": reverse("training:person", kwargs={"site": found.site.code, "person": person.pk}),
        "held": sum(found.at(person, p).state.is_usable for p in asked),
        "asked": len(asked),
        "small": found.roles.get(person.pk, "no role that day"),
        "cells": [cell(found, person, procedure) for procedure in found.procedures],
    }


def cell(found: Squares, person: Person, procedure: Procedure) -> dict[str, Any] | None:
    """None where the square is blank."""
    if not found.is_shown(person, procedure):
        return None
    here = found.at(person, procedure)
    where = {"site": found.site.code, "person": person.pk, "code": procedure.code, "day": found.day.isoformat()}
    asked, usable, state = found.asks(person, procedure), here.state.is_usable, here.state.value.replace(" ", "-")
    rows = (("asked", asked), ("held", asked and usable), (f"usable-{procedure.code}", usable), (state, True))
    return {
        "state": here.state.value,
        "short": here.short,
        "says": found.says(person, procedure),
        "label": f"{person.printed_name}, {procedure.code}",
        "href": reverse("training:cell", kwargs=where) + (f"?known={last_known(found)}" if found.known_by else ""),
        "rows": " ".join(name for name, holds in rows if holds),
    }


def last_known(found: Squares) -> date | None:
    """The day at whose end the instant lies."""
    if found.known_by is None:
        return None
    return (found.known_by.astimezone(ZoneInfo(found.site.time_zone)) - timedelta(microseconds=1)).date()
