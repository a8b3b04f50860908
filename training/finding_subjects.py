"""What a fact, or a change of somebody's standing, may change among the findings: site, kind and subject of each.

Naming one too many costs a look; leaving one out is found by `manage.py spans check`, and by the tests that record every kind
of fact and compare.
"""

from collections.abc import Callable, Iterable, Mapping
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import Q

from clinic.models import (
    Change,
    ChemicalGone,
    ChemicalListed,
    Closure,
    Equipment,
    Fact,
    FollowUp,
    JobEnded,
    JobStarted,
    OpeningReading,
    OutOfService,
    ResultRead,
    ReturnToService,
    RoleHeld,
    Safeguard,
    Site,
    SiteFactValue,
    TaskSetting,
    ToolMounted,
    ToolRemoved,
    UnitChanged,
    UpkeepEntry,
    Use,
    Verification,
    WaterLimit,
)
from clinic.prepared import Instances, Prepared
from clinic.reads.closer import KIND as LINE
from clinic.reads.upkeep import TASKS, UNITS
from clinic.record import CLOCK
from clinic.rules.roles import ProcedureRole, TaskRole
from clinic.rules.what_counts import DRY_WORK
from training.gather import versions_told
from training.models import (
    Authority,
    CarriedOver,
    CriticalMissAnswer,
    FoundingGrant,
    Observation,
    Procedure,
    Retirement,
    SignOff,
    TaughtSession,
    Version,
    Withdrawal,
)
from training.touched import told_by_time

Subject = tuple[int, str, str]  # site, kind, what it is about
Days = tuple[date, date | None]


def subjects_of(fact: Fact) -> set[Subject]:
    """Beside what follows from a change of standing. Nothing for a fact that decides no finding."""
    for kind, told in TOUCHED.items():
        if isinstance(fact, kind):
            return {*told(fact), *of_the_day(fact)}
    return set()


def of_the_day(fact: Fact) -> Iterable[Subject]:
    """The work of a day that may be judged anew by when it was done, though the day as a whole says the same."""
    people, days = told_by_time(fact)
    for site, pk in WORK.rows(people=people, day=days):
        yield site, "work", str(pk)


def work_of_days(people: Any, day: Any) -> Any:
    near = Q(done_by__in=people) | Q(stood_by__in=people)
    first, *others = (
        model._default_manager.filter(near, happened_on__in=day).order_by().values_list("site", "pk")
        for model in (UpkeepEntry, ToolMounted, JobStarted)
    )
    return first.union(*others, all=True)


WORK = Prepared(work_of_days)


def of_entry(fact: UpkeepEntry) -> Iterable[Subject]:
    yield from (
        of_units([fact.equipment])
        if fact.equipment.kind == LINE
        else [(fact.site_id, "upkeep", f"{fact.equipment_id}:{fact.task_id}")]
    )
    yield fact.site_id, "follow-up", f"{fact.equipment_id}:{fact.task_id}"
    yield fact.site_id, "work", str(fact.pk)
    if fact.task.stands_for == TaskRole.SPORE_TEST:
        yield fact.site_id, "spores", str(fact.equipment_id)
    if fact.task.covered_by:
        yield fact.site_id, "old work", f"{fact.done_by_id}:{fact.task.covered_by}"


def of_follow_up(fact: FollowUp | ResultRead) -> Iterable[Subject]:
    """What was read of an entry decides whether it renews, how closely a line is sampled, and what is out of limits."""
    entry = fact.entry
    yield from of_units([entry.equipment])
    yield entry.site_id, "follow-up", f"{entry.equipment_id}:{entry.task_id}"
    if entry.task.stands_for == TaskRole.SPORE_TEST:
        yield entry.site_id, "spores", str(entry.equipment_id)


def of_use(fact: Use) -> Iterable[Subject]:
    """The unit, what is part of it, and suction that serves every mill; and the tools with a counted life that sat there."""
    unit = fact.equipment
    here = [each for each in UNITS.all(site=[fact.site_id]) if unit.pk in (each.pk, each.part_of_id)]
    if unit.kind == "milling unit":
        here += [each for each in UNITS.all(site=[fact.site_id]) if each.kind in DRY_WORK and not each.part_of_id]
    yield from of_units(here)
    for (tool,) in SAT_THEN.rows(unit=[unit.pk], day=[fact.happened_on]):
        yield fact.site_id, "tool", str(tool)


def sat_then(unit: Any, day: Any) -> Any:
    """Tools with a counted life that sat in the unit on the day."""
    sat = ToolMounted.objects.filter(equipment__in=unit, happened_on__lte=day[0], tool__life__isnull=False)
    gone = ToolRemoved.objects.live().filter(happened_on__lt=day[0]).values("mounting")
    return sat.exclude(pk__in=gone).order_by().values_list("tool").distinct()


SAT_THEN = Prepared(sat_then)


def of_units(units: Iterable[Equipment]) -> Iterable[Subject]:
    """Every task of these units."""
    found = list(units)
    tasks = TASKS.all(kinds=sorted({unit.kind for unit in found}))
    for unit in found:
        for task in tasks:
            if task.equipment_kind == unit.kind:
                yield unit.site_id, "upkeep", f"{unit.pk}:{task.pk}"


def of_unit(fact: Any) -> Iterable[Subject]:
    return of_units([fact.equipment])


def of_site_units(fact: Fact) -> Iterable[Subject]:
    return of_units(Equipment.objects.filter(site=fact.site_id))


def of_setting(fact: TaskSetting) -> Iterable[Subject]:
    units = Equipment.objects.filter(site=fact.site_id, kind=fact.task.equipment_kind)
    return ((fact.site_id, "upkeep", f"{unit.pk}:{fact.task_id}") for unit in units)


def of_opening(fact: OpeningReading) -> Iterable[Subject]:
    yield fact.site_id, "upkeep", f"{fact.equipment_id}:{fact.task_id}"


def of_mounted(fact: ToolMounted) -> Iterable[Subject]:
    yield fact.site_id, "tool", str(fact.tool_id)
    yield fact.site_id, "work", str(fact.pk)


def of_job_ended(fact: JobEnded) -> Iterable[Subject]:
    """Minutes that it took run on the tools that sat there; its parts are a use of their own."""
    if fact.minutes is not None:
        sat = ToolMounted.objects.filter(pk__in=fact.job.tools, tool__life__isnull=False)
        for tool in sat.values_list("tool", flat=True).distinct():
            yield fact.site_id, "tool", str(tool)


def of_sign_off(fact: SignOff) -> Iterable[Subject]:
    """Whoever signed nobody in it is on no round (rules.rings), so to sign them off makes and ends none."""
    yield fact.site_id, "signature", str(fact.pk)
    code = fact.version.procedure.code
    if any(SIGNED_BY.rows(signer=[fact.person_id], versions=versions_of(fact, code))):
        yield from of_ring(fact, code)


def of_withdrawal(fact: Withdrawal) -> Iterable[Subject]:
    about = {"person": fact.person_id, "version__procedure": fact.procedure_id}
    for site, pk in SignOff.objects.filter(**about).values_list("site", "pk"):
        yield site, "signature", str(pk)
    for site, pk in Observation.objects.filter(**about, critical_miss=True).values_list("site", "pk"):
        yield site, "miss", str(pk)
    yield from of_ring(fact, fact.procedure.code)


def of_ring(fact: Fact, code: str) -> Iterable[Subject]:
    """At every site where somebody was signed in it."""
    signed = SIGNED_AT.rows(versions=versions_of(fact, code))
    return ((site, "ring", code) for (site,) in signed)


def versions_of(fact: Fact, code: str) -> list[UUID]:
    return [pk for pk, by in versions_told(fact.site.organisation_id).items() if by.code == code]


SIGNED_BY = Prepared(
    lambda signer, versions: SignOff.objects.filter(signer__in=signer, version__in=versions).values_list("pk")[:1]
)
SIGNED_AT = Prepared(
    lambda versions: SignOff.objects.filter(version__in=versions).order_by().values_list("site").distinct()
)


def of_observation(fact: Observation) -> Iterable[Subject]:
    if fact.critical_miss:
        yield fact.site_id, "miss", str(fact.pk)
    if fact.witness_id:
        yield from of_ring(fact, fact.version.procedure.code)


def of_answer(fact: CriticalMissAnswer) -> Iterable[Subject]:
    yield fact.observation.site_id, "miss", str(fact.observation_id)


def of_carried(fact: CarriedOver) -> Iterable[Subject]:
    return of_ring(fact, fact.procedure.code)


def of_grant(fact: Authority | FoundingGrant) -> Iterable[Subject]:
    yield fact.site_id, "signers", ""
    for pk in SignOff.objects.filter(site=fact.site_id, signer=fact.person_id).values_list("pk", flat=True):
        yield fact.site_id, "signature", str(pk)
    for code in fact.procedures if isinstance(fact, FoundingGrant) else ():
        yield from of_ring(fact, code)


def of_session(fact: TaughtSession) -> Iterable[Subject]:
    yield fact.site_id, "session", str(fact.pk)
    for site in Site.objects.filter(organisation=fact.site.organisation_id).values_list("pk", flat=True):
        yield site, "hazards", ""


def of_text(fact: Version | Retirement) -> Iterable[Subject]:
    for site in Site.objects.filter(organisation=fact.procedure.organisation_id).values_list("pk", flat=True):
        yield site, "site facts", ""
        yield site, "hazards", ""


def of_change(fact: Change) -> Iterable[Subject]:
    kinds = {"clinic.seal": "seals", CLOCK: "clock"}
    return [(fact.site_id, kinds[fact.about], "")] if fact.about in kinds else []


def whole(kind: str) -> Callable[[Any], Iterable[Subject]]:
    """A kind that is computed for the site as a whole."""
    return lambda fact: [(fact.site_id, kind, "")]


TOUCHED: dict[type[Fact], Callable[[Any], Iterable[Subject]]] = {
    UpkeepEntry: of_entry,
    Use: of_use,
    OutOfService: of_unit,
    ReturnToService: of_unit,
    Verification: of_unit,
    Closure: of_site_units,
    TaskSetting: of_setting,
    OpeningReading: of_opening,
    FollowUp: of_follow_up,
    ResultRead: of_follow_up,
    WaterLimit: of_site_units,
    UnitChanged: of_unit,
    ToolMounted: of_mounted,
    JobStarted: lambda fact: [(fact.site_id, "work", str(fact.pk))],
    JobEnded: of_job_ended,
    ToolRemoved: lambda fact: [(fact.site_id, "tool", str(fact.mounting.tool_id))],
    ChemicalListed: whole("hazards"),
    ChemicalGone: whole("hazards"),
    SiteFactValue: whole("site facts"),
    Safeguard: whole("safeguards"),
    Change: of_change,
    SignOff: of_sign_off,
    Withdrawal: of_withdrawal,
    Observation: of_observation,
    CriticalMissAnswer: of_answer,
    CarriedOver: of_carried,
    Authority: of_grant,
    FoundingGrant: of_grant,
    TaughtSession: of_session,
    Version: of_text,
    Retirement: of_text,
}


Changes = Mapping[tuple[UUID, int], list[Days]]
"""Person and procedure → the days on which usable, or what a deadline ended, is not what it was."""


def subjects_of_standing(changes: Changes, until: date) -> set[Subject]:
    """What rests on the standing that changed. `until`: the last day on which anything can have happened."""
    if not changes:
        return set()
    procedures = {row.pk: row for row in PROCEDURES.all(keys={pk for _, pk in changes})}
    people = {person for person, _ in changes}
    found: set[Subject] = {(site, "training", str(person)) for site, person in EMPLOYED.rows(people=people)}
    found |= signers_among(people)
    for (person, procedure), days in changes.items():
        past = [(first, after) for first, after in days if first <= until]
        if past:
            found |= set(judged_by(person, procedures[procedure], any_of(past)))
    return found


PROCEDURES = Instances(Procedure, lambda keys: Procedure.objects.filter(pk__in=keys))
EMPLOYED = Prepared(
    lambda people: RoleHeld.objects.filter(person__in=people).order_by().values_list("site", "person").distinct()
)


def any_of(stretches: Iterable[Days]) -> Q:
    """On a day of one of them."""
    found = Q(pk__in=[])
    for first, after in stretches:
        found |= Q(happened_on__gte=first) & (Q(happened_on__lt=after) if after else Q())
    return found


def signers_among(people: Iterable[UUID]) -> set[Subject]:
    return {(site, "signers", "") for question in GRANTED for (site,) in question.rows(people=list(people))}


def granted(model: Any) -> Prepared:
    return Prepared(lambda people: model.objects.filter(person__in=people).order_by().values_list("site").distinct())


GRANTED = (granted(Authority), granted(FoundingGrant))


WORK_OF: dict[str, Any] = {ProcedureRole.TOOL_SWAP: ToolMounted, ProcedureRole.MILLING: JobStarted}
"""Work that is no upkeep, by what the procedure that it asks stands for."""


def judged_by(person: UUID, procedure: Procedure, when: Q) -> Iterable[Subject]:
    """Signatures, misses and work of these days that are judged by this person's standing in this procedure."""
    code = procedure.code
    here = {"version__procedure__code": code}
    for site, pk in SignOff.objects.filter(when, signer=person, **here).values_list("site", "pk"):
        yield site, "signature", str(pk)
    seen = Observation.objects.filter(when, person=person, critical_miss=True, **here)
    for site, pk in seen.values_list("site", "pk"):
        yield site, "miss", str(pk)
    near = Q(done_by=person) | Q(stood_by=person)
    for site, pk, doer in UpkeepEntry.objects.filter(when, near, task__covered_by=code).values_list(
        "site", "pk", "done_by"
    ):
        yield site, "work", str(pk)
        yield site, "old work", f"{doer}:{code}"
    if procedure.stands_for in WORK_OF:
        for site, pk in WORK_OF[procedure.stands_for].objects.filter(when, near).values_list("site", "pk"):
            yield site, "work", str(pk)
