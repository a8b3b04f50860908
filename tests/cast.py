"""The practice of seven that the tests play with. Invented; each with a line on who they are.

Millbrook Lane is the practice, Sandbar Court its second site across the river. The register starts on 6 January 2025 at
both. Nothing here is signed: tests of training add that by the actions.
"""

import pickle
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, fields
from datetime import UTC, date, datetime
from typing import Any, Self

from django.apps import apps
from django.db import transaction
from django.db.models import Model

from clinic import clock
from clinic.actions import people
from clinic.actions.incidents import file_near_miss
from clinic.actions.sites import open_site
from clinic.changes import make
from clinic.keeping.rows import columns_of, number_on, put
from clinic.models import (
    Account,
    Appointment,
    Equipment,
    EquipmentKind,
    Incident,
    Organisation,
    Person,
    Post,
    Site,
    UpkeepTask,
)
from clinic.prepared import Instances

REGISTER_START = date(2025, 1, 6)
BEFORE_WORK = datetime(2025, 1, 6, 6, tzinfo=UTC)
PASSWORD = "seven herons over the weir"


@dataclass(slots=True)
class Member:
    """Somebody of the practice with the account they sign in by."""

    person: Person
    account: Account


@dataclass(slots=True)
class Cast:
    """Everybody and everything of the practice, by a short name."""

    organisation: Organisation
    lane: Site  # Millbrook Lane, where most of it happens
    court: Site  # Sandbar Court, the other site

    owner: Member  # Hester Vane, dentist, owns the practice; approves and appoints at both sites
    coordinator: Member  # Bram Okafor, keeps the roster and the checklists of both sites
    supervisor: Member  # Ines Pellow, lead assistant at Millbrook Lane; watches and signs once she has authority
    second: Member  # Tobias Rask, dentist at Millbrook Lane; the second pair of eyes
    assistant: Member  # Wren Adeyemi, new assistant at Millbrook Lane; everything is still ahead of her
    elsewhere: Member  # Corin Sable, assistant at Sandbar Court; must not see Millbrook Lane
    inspector: Member  # Maud Lindqvist, comes from outside; reads what she was given a pass for, and no more

    unit: Equipment  # the milling unit at Millbrook Lane
    other_unit: Equipment  # the one at Sandbar Court
    event: Incident  # a near miss at Millbrook Lane, filed without a name; there is one at Sandbar Court too
    task: UpkeepTask  # what milling units need every week or every 20 parts; P06 covers it

    def members(self) -> Iterator[tuple[str, Member]]:
        for each in fields(self):
            value = getattr(self, each.name)
            if isinstance(value, Member):
                yield each.name, value

    def rows(self) -> Iterator[Any]:
        for each in fields(self):
            value = getattr(self, each.name)
            yield from (value.person, value.account) if isinstance(value, Member) else (value,)

    def refresh(self) -> None:
        """Forget what an earlier test saw on these objects: their rows were taken back with its transaction."""
        known: dict[type[Model], list[Any]] = defaultdict(list)
        for row in self.rows():
            known[type(row)].append(row)
        for model, rows in known.items():
            stored = {row.pk: row for row in STORED[model].all(keys=[row.pk for row in rows])}
            for row in rows:  # one question a table, before every test
                row.__dict__ = dict(vars(stored[row.pk]))


def stored(model: type[Model]) -> Instances:
    return Instances(model, lambda keys: model._base_manager.filter(pk__in=keys))


STORED = {model: stored(model) for model in (Organisation, Site, Person, Account, Equipment, Incident, UpkeepTask)}


@dataclass(frozen=True)
class Practice:
    """The practice as it was entered once: its rows, and the objects that it was entered with."""

    cast: bytes
    tables: dict[type[Model], dict[str, list[Any]]]

    @classmethod
    def of(cls, cast: Cast, tables: Iterable[type[Model]]) -> Self:
        return cls(pickle.dumps(cast), {table: columns for table in tables if (columns := by_column(table))})

    def put(self) -> Cast:
        with transaction.atomic():  # in no order of tables
            for table, columns in self.tables.items():
                put(table, columns)
            number_on(list(self.tables))
        return pickle.loads(self.cast)  # type: ignore[no-any-return]


_entered: list[Practice] = []


def enter_practice() -> Cast:
    """Enter everybody by the actions that a practice uses, on the morning of the first day, so that no test that plays on
    a later day sets the clock back. About thirty facts. It is done once a run; after that, the rows which that left are put
    where they were, with the same keys."""
    if _entered:
        return _entered[0].put()
    rooms = [apps.get_app_config(name) for name in ("clinic", "training")]
    tables = [table for room in rooms for table in room.get_models(include_auto_created=True)]
    empty = [table for table in tables if not table._base_manager.exists()]
    with clock.standing_at(BEFORE_WORK):  # known since then, so that "as known by" a day of the story names them
        cast = entered()
    _entered.append(Practice.of(cast, empty))
    return cast


def by_column(table: type[Model]) -> dict[str, list[Any]]:
    names = list(columns_of(table))
    rows = list(table._base_manager.order_by("pk").values_list(*names))
    return {name: list(column) for name, column in zip(names, zip(*rows, strict=True), strict=True)} if rows else {}


def entered() -> Cast:
    organisation = Organisation(name="Millbrook Dental")
    lane = site(organisation, "Millbrook Lane", "millbrook-lane")
    court = site(organisation, "Sandbar Court", "sandbar-court")
    owner = member(lane, "Hester", "Vane", "Dentist")
    appoint(owner, Post.OWNER, None, lane)
    coordinator = member(lane, "Bram", "Okafor", "Practice coordinator")
    appoint(coordinator, Post.COORDINATOR, None, lane)
    return Cast(
        organisation=organisation,
        lane=lane,
        court=court,
        owner=owner,
        coordinator=coordinator,
        supervisor=member(lane, "Ines", "Pellow", "Lead assistant"),
        second=member(lane, "Tobias", "Rask", "Dentist"),
        assistant=member(lane, "Wren", "Adeyemi", "Dental assistant"),
        elsewhere=member(court, "Corin", "Sable", "Dental assistant"),
        inspector=member(lane, "Maud", "Lindqvist", None),
        unit=milling_unit(lane, "unit 1"),
        other_unit=milling_unit(court, "unit 2"),
        event=near_misses(lane, court),
        task=deep_clean(lane),
    )


def site(organisation: Organisation, name: str, code: str, **more: Any) -> Site:
    row = Site(organisation=organisation, name=name, code=code, register_start=REGISTER_START, **more)
    return open_site(row, by=None)


def member(home: Site, given: str, family: str, title: str | None) -> Member:
    """A person with an account; with a job role at the home site since the register started, where a title is given."""
    person = Person(organisation=home.organisation, home_site=home, given_name=given, family_name=family)
    people.hire(person, by=None)
    if title:
        people.give_role(person, home, people.job_role(home.organisation, title), REGISTER_START, by=None)
    account, _ = people.open_account(person, by=None, identity_checked="Known to the owner for years.")
    account.set_password(PASSWORD)
    account.save(update_fields=["password"])
    return Member(person, account)


def appoint(who: Member, post: Post, at: Site | None, seat: Site) -> Appointment:
    return people.appoint(Appointment(person=who.person, post=post, site=at, from_day=REGISTER_START), at=seat, by=None)


def milling_unit(at: Site, label: str) -> Equipment:
    unit = Equipment(
        site=at, kind=EquipmentKind.MILLING_UNIT, label=label, serial=f"M-{label[-1]}", in_service_from=REGISTER_START
    )
    return people.enter_equipment(unit, by=None)


def near_misses(lane: Site, *others: Site) -> Incident:
    """One at each site; the one at the first is returned."""
    filed = [file_near_miss(at, "Tool bench", "A cutter lay under a cloth.") for at in (lane, *others)]
    return filed[0]


def deep_clean(at: Site) -> UpkeepTask:
    """A task with a yes/no reading and two numbers, each with what to do when it is out of limits."""
    readings = [
        reading("tools", "Tools counted after as before", "yes/no", what_to_do="Find the piece.", follow_up_days=0),
        reading("warm", "Temperature", "number", unit="°C", low=18, high=28, what_to_do="Wait.", follow_up_days=2),
        reading("grown", "Colonies", "number", unit="CFU/mL", high=500, what_to_do="Treat it.", follow_up_days=1),
    ]
    often = {"every_days": 7, "every_units": 20, "warn_days": 1, "plan_units": 16}
    task = UpkeepTask(
        code="U91",
        title="Deep clean",
        equipment_kind=EquipmentKind.MILLING_UNIT,
        covered_by="P06",
        readings=readings,
        **often,
    )
    return make(task, site=at, by=None, said="Upkeep task U91 entered")


def reading(key: str, label: str, kind: str, **more: Any) -> dict[str, Any]:
    return {"key": key, "label": label, "kind": kind} | more
