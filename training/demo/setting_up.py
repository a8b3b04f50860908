"""The first day: sites, people, roles, units, the library in force, and how the chain of signing starts."""

from dataclasses import dataclass, field
from datetime import date, timedelta

from clinic import clock
from clinic.actions.clock import say_replayed
from clinic.actions.people import appoint, enter_equipment, give_role, hire, job_role
from clinic.actions.sites import open_site
from clinic.actions.upkeep import opening_reading
from clinic.models import (
    Appointment,
    Equipment,
    Organisation,
    OutsideWitness,
    Person,
    Site,
    UpkeepTask,
)
from training.actions import grants, versions
from training.actions.library import load_library
from training.actions.proof import Proved
from training.actions.requirements import apply_role_set
from training.demo.scenario import Actor, Scenario, key_of
from training.models import FoundingGrant, Procedure, Version
from training.rules.grants import spread
from training.rules.library import Library

PLAYED = "This practice is invented. Its history was played in one go, with the clock set for each act."


@dataclass(slots=True)
class Cast:
    """Everybody and everything of the demo, by the scenario's keys."""

    scenario: Scenario
    library: Library
    organisation: Organisation
    sites: dict[str, Site] = field(default_factory=dict)
    people: dict[str, Person] = field(default_factory=dict)
    equipment: dict[str, Equipment] = field(default_factory=dict)
    procedures: dict[str, Procedure] = field(default_factory=dict)
    witness: OutsideWitness | None = None
    versions: dict[str, list[Version]] = field(default_factory=dict)  # by procedure code, oldest first

    @property
    def owner(self) -> Person:
        return self.people["marit"]

    def site_of(self, actor: Actor) -> Site:
        return self.sites[actor.site]

    def supervisors(self, site: str, day: date) -> list[Person]:
        """Who has authority at the site on the day, besides the founding grants."""
        rows = [a for a in self.scenario.people if a.site == site and a.supervises_week is not None]
        return [self.people[a.key] for a in rows if self.scenario.day(a.supervises_week or 0) <= day]


def set_up(scenario: Scenario, library: Library) -> Cast:
    cast = Cast(scenario, library, Organisation(name=scenario.organisation))
    with clock.standing_at(scenario.instant(scenario.start, 8)):
        enter_sites(cast)
        for site in cast.sites.values():
            say_replayed(site, PLAYED, by=None)
        enter_people(cast)
        enter_units(cast)
        put_in_force(cast)
        require(cast)
        found_the_chain(cast)
        check_instructions(cast)
        carry_over(cast)
    return cast


def enter_sites(cast: Cast) -> None:
    for row in cast.scenario.sites:
        site = Site(organisation=cast.organisation, register_start=cast.scenario.start, **row)
        cast.sites[row["code"]] = open_site(site, by=None)


def enter_people(cast: Cast) -> None:
    """Those who are there on the first day; the others are hired on their week. The owner enters everybody."""
    for actor in cast.scenario.people:
        if actor.week <= 0:
            enter_person(cast, actor)


def enter_person(cast: Cast, actor: Actor) -> Person:
    given, family = actor.name
    by = cast.people.get("marit")
    number = f"L{100 + [a.key for a in cast.scenario.people].index(actor.key)}"
    person = Person(
        id=key_of("person", actor.key), organisation=cast.organisation, home_site=cast.site_of(actor), given_name=given,
        family_name=family, staff_number=number, language=actor.language,
    )  # fmt: skip
    cast.people[actor.key] = hire(person, by=by)
    from_day = cast.scenario.day(actor.week)
    if actor.role:
        give_role(person, person.home_site, job_role(cast.organisation, actor.role), from_day, by=by)
    for post in actor.posts:
        everywhere = post == "safety officer" or actor.key == "marit"
        row = Appointment(person=person, post=post, site=None if everywhere else person.home_site, from_day=from_day)
        appoint(row, at=person.home_site, by=by)
    return person


def enter_units(cast: Cast) -> None:
    for row in cast.scenario.equipment:
        unit = Equipment(
            id=key_of("unit", row["label"]), site=cast.sites[row["site"]], kind=row["kind"], label=row["label"],
            serial=row.get("serial", ""), part_of=cast.equipment.get(row.get("part_of", "")),
            in_service_from=cast.scenario.start - timedelta(days=200),
        )  # fmt: skip
        cast.equipment[unit.label] = enter_equipment(unit, by=cast.owner)


def proved() -> Proved:
    """The proof that everybody of the demo gives when they sign."""
    return Proved("name and password", clock.now())


def put_in_force(cast: Cast) -> None:
    """The library becomes version 1 of every procedure, approved by the owner."""
    load_library(cast.library, cast.organisation, by=cast.people["delphine"])
    site, start = cast.sites["high-street"], cast.scenario.start
    for procedure in Procedure.objects.of(cast.organisation):
        draft = versions.submit(procedure.draft, by=cast.people["delphine"])
        version = versions.approve(
            draft, start, site=site, by=cast.owner, proved=proved(), id=key_of("version", procedure.code, 1)
        )
        cast.procedures[procedure.code] = procedure
        cast.versions[procedure.code] = [version]
    for task in UpkeepTask.objects.all():
        for unit in [unit for unit in cast.equipment.values() if unit.kind == task.equipment_kind]:
            done = start - timedelta(days=min(task.every_days or 30, 60) // 2)
            opening_reading(unit, task, done, by=cast.owner, units=5, id=key_of("opening", unit.label, task.code))


def require(cast: Cast) -> None:
    """The role sets of each job role."""
    for title, names in cast.scenario.roles.items():
        for name in names:
            role = job_role(cast.organisation, title)
            apply_role_set(cast.library.role_sets[name], role, cast.organisation, cast.scenario.start)


def found_the_chain(cast: Cast) -> None:
    """A trainer's visit founds the first supervisors for eleven months; authority stays theirs."""
    start, codes = cast.scenario.start, sorted(cast.procedures)
    for actor in cast.scenario.people:
        person = cast.people.get(actor.key)
        if actor.founding and person:
            site = cast.site_of(actor)
            grants.found(
                person, site, start, start + timedelta(days=330), by=cast.owner, procedures=codes, rests_on=FoundingGrant.RestsOn.VISIT,
                detail="Two days with the visiting trainer in the week before the register started.", proved=proved(), id=key_of("founding", actor.key),
            )  # fmt: skip
        if actor.supervises_week == 0:
            give_authority(cast, actor, start)


def check_instructions(cast: Cast) -> None:
    """The lead assistant, who has authority for all of them now, holds each against its maker's instructions."""
    for code, [version] in cast.versions.items():
        versions.check_instructions(
            version, f"Instructions for use, {version.procedure.equipment_kind}", "edition 4",
            site=cast.sites["high-street"], by=cast.people["philippa"], proved=proved(), id=key_of("checked", code, 1),
        )  # fmt: skip


def give_authority(cast: Cast, actor: Actor, from_day: date) -> None:
    grants.grant_authority(
        cast.people[actor.key], cast.site_of(actor), from_day, None, by=cast.owner,
        procedures=sorted(cast.procedures), id=key_of("authority", actor.key),
    )  # fmt: skip


CARRIED = ("P01", "P13", "P14", "P18", "P02", "P04", "P03", "P06", "P09", "P11")


def carry_over(cast: Cast) -> None:
    for actor in [actor for actor in cast.scenario.people if actor.carried_over]:
        for index, code in enumerate(CARRIED):
            paper = grants.PaperRecord(
                person=cast.people[actor.key], procedure=cast.procedures[code],
                original_day=cast.scenario.start - timedelta(days=90 + 11 * index), by_whom="Philippa Thorne, on the paper list",
                paper_place="blue folder, office shelf", valid_until=spread(cast.scenario.start, index, len(CARRIED)),
            )  # fmt: skip
            grants.carry_over(
                paper, cast.site_of(actor), by=cast.people["delphine"], id=key_of("carried", actor.key, code)
            )


def version_in_force(cast: Cast, code: str, day: date) -> Version:
    """From memory: the players ask this a hundred thousand times."""
    return next(version for version in reversed(cast.versions[code]) if version.in_force_from <= day)
