"""What a new site has done before its first morning, and what is missing. A fixed number of queries."""

from dataclasses import dataclass
from datetime import date, timedelta

from clinic.models import Equipment, OpeningReading, Person, RoleHeld, Site, UpkeepEntry, UpkeepTask
from clinic.reads.drivers import drivers_now
from clinic.rules.words import counted, day_words
from training.models import (
    Authority,
    CarriedOver,
    FoundingGrant,
    InstructionsCheck,
    Procedure,
    Requirement,
    StandingSpan,
    Version,
)
from training.reads.walk import walk_round

NEW = timedelta(days=30)  # after the register starts; our own choice


@dataclass(frozen=True, slots=True)
class GoingLivePoint:
    """One point of the list: whether it is done, what is so, what supplies the rest, and the name of the page that does it.
    What is `optional` may stay undone."""

    there: bool
    says: str
    supply: str = ""
    page: str = ""
    optional: bool = False

    @property
    def is_missing(self) -> bool:
        return not (self.there or self.optional)


def going_live(site: Site, today: date) -> list[GoingLivePoint]:
    """Every point, in the order in which they are best done."""
    makers = (
        start_day,
        people_entered,
        roles_that_need,
        versions_in_force,
        instructions,
        carried,
        openings,
        signers,
        duties_held,
        drivers_with_papers,
        walked,
    )
    return [make(site, today) for make in makers]


def left_to_do(site: Site, today: date) -> int:
    """How many points are missing while the practice is new; nought afterwards."""
    return sum(point.is_missing for point in going_live(site, today)) if today <= site.register_start + NEW else 0


def start_day(site: Site, today: date) -> GoingLivePoint:
    when = "started" if site.register_start <= today else "starts"
    return GoingLivePoint(
        True, f"The register {when} on {day_words(site.register_start)}. Nothing is due from before it."
    )


def people_entered(site: Site, today: date) -> GoingLivePoint:
    roles = RoleHeld.objects.filter(site=site).values("person").distinct().count()
    supply = "Enter everybody who works here, one by one or from a file."
    return GoingLivePoint(
        roles > 0, f"People with a job role here: {roles}.", supply if not roles else "", "clinic:roster_import"
    )


def roles_that_need(site: Site, today: date) -> GoingLivePoint:
    """Every job role held here asks for something, or is named."""
    held = RoleHeld.objects.held_on(max(today, site.register_start)).filter(site=site)
    titles = set(held.values_list("job_role__title", flat=True))
    asking = set(
        Requirement.objects.at(site).filter(job_role__title__in=titles).values_list("job_role__title", flat=True)
    )
    quiet = sorted(titles - asking)
    says = f"Job roles that need something: {len(titles & asking)} of {len(titles)}." + (
        f" Nothing is needed of {', '.join(quiet)}." if quiet else ""
    )
    return GoingLivePoint(
        bool(titles) and bool(asking),
        says,
        "" if asking else "Apply a default set to each role that mills or cleans.",
        "training:role_set",
    )


def versions_in_force(site: Site, today: date) -> GoingLivePoint:
    day = max(today, site.register_start)
    wanted = set(Procedure.objects.of(site.organisation).values_list("code", flat=True))
    there = set(
        Version.objects.live()
        .in_force(day)
        .filter(procedure__organisation=site.organisation)
        .values_list("procedure__code", flat=True)
    )
    missing = sorted(wanted - there)
    says = f"{len(there)} of {counted(len(wanted), 'procedure has', 'procedures have')} a version in force{f'; not {some(missing)}' if missing else ''}."
    return GoingLivePoint(
        bool(wanted) and not missing,
        says,
        "The owner signs in and approves the drafts, once for the set or one by one, in force from the start day."
        if missing or not wanted
        else "",
        "training:procedures",
    )


def instructions(site: Site, today: date) -> GoingLivePoint:
    day = max(today, site.register_start)
    rows = (
        Version.objects.live()
        .in_force(day)
        .filter(procedure__organisation=site.organisation, procedure__kind=Procedure.Kind.PRACTICE)
    )
    held = InstructionsCheck.objects.live().values("version")
    missing = sorted(rows.exclude(pk__in=held).values_list("procedure__code", flat=True))
    says = f"Held against the maker’s instructions: {rows.count() - len(missing)} of {rows.count()} versions."
    return GoingLivePoint(
        not missing and rows.exists(),
        says,
        f"Compare {some(missing)}; until then they are taught, not signed." if missing else "",
        "training:instructions_table",
    )


def carried(site: Site, today: date) -> GoingLivePoint:
    rows = CarriedOver.objects.live().filter(site=site)
    people, days = rows.values("person").distinct().count(), rows.values("valid_until").distinct().count()
    says = f"Records carried over: {rows.count()}, of {counted(people, 'person', 'people')}, ending on {counted(days, 'different day')}."
    supply = "Carry over what people mastered before, or leave it where everybody is new."
    return GoingLivePoint(rows.exists(), says, "" if rows.exists() else supply, "training:carried_table", optional=True)


def openings(site: Site, today: date) -> GoingLivePoint:
    """Each task of each unit in service knows when it was last done."""
    units = Equipment.objects.filter(site=site).in_service_on(max(today, site.register_start))
    tasks = list(UpkeepTask.objects.values_list("pk", "equipment_kind"))
    wanted = {(unit, task) for unit, kind in units.values_list("pk", "kind") for task, of in tasks if kind == of}
    known = {
        *OpeningReading.objects.live().filter(site=site).values_list("equipment_id", "task_id"),
        *UpkeepEntry.objects.live().filter(site=site).values_list("equipment_id", "task_id"),
    }
    missing = len(wanted - known)
    says = f"{len(wanted) - missing} of {len(wanted)} upkeep tasks know when they were last done."
    supply = "Enter the units with their last-done days, all in one table." if missing or not wanted else ""
    return GoingLivePoint(bool(wanted) and not missing, says, supply, "clinic:unit_table")


def signers(site: Site, today: date) -> GoingLivePoint:
    day = max(today, site.register_start)
    found = FoundingGrant.objects.live().filter(site=site).alive_on(day).values_list("person", flat=True)
    granted = Authority.objects.live().filter(site=site).alive_on(day).values_list("person", flat=True)
    people = Person.objects.filter(pk__in={*found, *granted}).count()
    supply = "Make a founding grant for whoever signs first, and say what it rests on."
    return GoingLivePoint(
        people > 0,
        f"People who may observe and sign here: {people}.",
        "" if people else supply,
        "training:signer_table",
    )


def duties_held(site: Site, today: date) -> GoingLivePoint:
    """Everything that a job role held here needs is in somebody's hands from the first day."""
    day = max(today, site.register_start)
    held = RoleHeld.objects.held_on(day).filter(site=site)
    rows = (
        Requirement.objects.in_force(day)
        .at(site)
        .filter(job_role__in=held.values("job_role"), procedure__kind=Procedure.Kind.PRACTICE)
    )
    needed = set(rows.values_list("procedure__code", flat=True))
    usable = StandingSpan.objects.on(day).usable().filter(person__in=held.values("person"))
    bare = sorted(needed - set(usable.values_list("procedure__code", flat=True)))
    says = (
        f"Procedures that somebody here may do alone: {len(needed) - len(bare)} of {len(needed)} that a job role needs."
    )
    supply = f"Nobody may do {some(bare)}: carry over a record, or make a founding grant." if bare else ""
    return GoingLivePoint(bool(needed) and not bare, says, supply, "training:signer_table")


def drivers_with_papers(site: Site, today: date) -> GoingLivePoint:
    """Every torque driver here has its details on record, and a check that is still good."""
    day = max(today, site.register_start)
    drivers = drivers_now(site, day)
    bare = sorted(one.unit.label for one in drivers if one.refused or one.details is None)
    says = f"Torque drivers with their papers and a good check: {len(drivers) - len(bare)} of {len(drivers)}."
    supply = f"Enter the papers and the check of {some(bare)}; until then they tighten nothing." if bare else ""
    papers = any(one.details is None for one in drivers)
    return GoingLivePoint(not bare, says, supply, "clinic:driver_table" if papers else "clinic:drivers")


def walked(site: Site, today: date) -> GoingLivePoint:
    asked = walk_round(site, today)
    total, missing = sum(len(each.squares) for each in asked), sum(len(each.missing) for each in asked)
    says = f"Walk round: {total - missing} of {counted(total, 'question is', 'questions are')} answered."
    return GoingLivePoint(
        bool(total) and not missing,
        says,
        "Walk round with the tablet, or answer what you know in one table." if missing or not total else "",
        "training:site_fact_table" if missing else "training:walk",
    )


def some(codes: list[str]) -> str:
    return ", ".join(codes) if len(codes) <= 6 else f"{', '.join(codes[:6])} and {len(codes) - 6} more"
