"""Sessions with gaps, training allowed too late, work to an old version, site facts nobody answered, checks of the seals and copies of the register, as
plain data for the findings: every stretch, by what it is about."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime, timedelta
from itertools import pairwise
from typing import Any
from uuid import UUID

from django.db.models import Q

from clinic.models import Change, Equipment, Site, SiteFact, SiteFactValue, UpkeepEntry
from clinic.reads.entries import bare_or_covered, covers_of
from clinic.reads.findings import Keys, Told
from clinic.reads.findings import of_work as of_work_done
from clinic.record import AHEAD, BACK, CLOCK
from clinic.rules.cover import EntryStanding
from clinic.rules.findings import Days
from clinic.rules.roles import ProcedureRole
from training.models import Requirement, Retirement, TaughtSession, Version
from training.reads.safeguards import kept
from training.reads.standing import Held, held_by, held_past_deadline
from training.rules.findings_records import (
    DaysAllowed,
    FactAsked,
    Jumped,
    PastDeadline,
    SealCheck,
    SessionKept,
    clock_jumps,
    exposed_before_training,
    missing_site_facts,
    records_with_gaps,
    seal_check,
    work_past_deadline,
)
from training.rules.findings_safeguards import safeguards_late
from training.rules.place import names_in
from training.rules.stretches import both
from training.rules.texts import content_from_json

CHECKED = "the seals were checked"  # `Change.about_id` of the fact that keeps when
DAY = timedelta(days=1)


def of_sessions(site: Site, keys: Keys = None, known_by: datetime | None = None) -> list[Told]:
    """Sessions whose record lacks something, by session. Three queries."""
    found = TaughtSession.objects.live(known_by).filter(site=site)
    rows = (found if keys is None else found.filter(pk__in=keys)).prefetch_related(
        "topics__version__procedure", "attendances__person"
    )
    plain = [SessionKept(str(row.pk), row.happened_on, topics_of(row), missing_of(row)) for row in rows]
    return [(one.evidence[0], one) for one in records_with_gaps(plain)]


def of_first_days(site: Site, keys: Keys = None, known_by: datetime | None = None) -> list[Told]:
    """Job roles that allow days for the topic on bloodborne pathogens. One query."""
    here = Requirement.objects.at(site).filter(
        job_role__organisation=site.organisation, procedure__stands_for=ProcedureRole.PATHOGENS
    )
    plain = [
        DaysAllowed(
            str(row.job_role),
            str(row.job_role_id),
            str(row.procedure),
            row.days_allowed,
            max(row.from_day, site.register_start),
            row.to_day + DAY if row.to_day else None,
        )
        for row in here.select_related("job_role", "procedure")
    ]
    lasting = (one for one in plain if one.after is None or one.first < one.after)
    return [("", one) for one in exposed_before_training(lasting)]


def topics_of(row: TaughtSession) -> str:
    return ", ".join(sorted(str(topic.version.procedure) for topic in row.topics.all())) or "a session without a topic"


def missing_of(row: TaughtSession) -> tuple[str, ...]:
    untitled = [str(each.person) for each in row.attendances.all() if not each.job_title]
    nobody = ["anybody who attended"] if not row.attendances.all() else []
    return (*row.missing_fields, *nobody, *(f"the job title of {name}" for name in untitled))


def of_work(site: Site, keys: Keys = None, known_by: datetime | None = None) -> list[Told]:
    """What the clinic finds; work of somebody whose version had passed its deadline is said once, as that."""
    found = of_work_done(site, keys, known_by)
    old = past_deadline(site, None, known_by) if found else []
    told = {fact for one in old for fact, _ in one.entries}
    return [(key, one) for key, one in found if key not in told]


def of_old_work(site: Site, keys: Keys = None, known_by: datetime | None = None) -> list[Told]:
    """Work to a version past its deadline, by person and procedure."""
    old = past_deadline(site, keys, known_by)
    return [(f"{one.person_id}:{one.procedure}", each) for one in old for each in work_past_deadline([one])]


def past_deadline(site: Site, keys: Keys, known_by: datetime | None) -> list[PastDeadline]:
    """Stretches that a version's deadline caused, with the work that nobody usable did or stood by."""
    if keys is None or known_by is not None:
        did = UpkeepEntry.objects.filter(site=site).values("done_by")
        spans = held_by(site.organisation, known_by, where=Q(cause__startswith="deadline:", person__in=did))
    else:
        spans = held_past_deadline(site.organisation, {UUID(key.partition(":")[0]) for key in keys})
    spans = [one for one in spans if one.cause.startswith("deadline:")]
    late = [one for one in spans if not one.usable and (keys is None or f"{one.person}:{one.code}" in keys)]
    if not late:
        return []
    rows = bare_entries(site, late, known_by)
    return [one for one in (work_in(span, rows) for span in late) if one.entries]


def bare_entries(site: Site, spans: Sequence[Held], known_by: datetime | None) -> list[UpkeepEntry]:
    """The work in these stretches by these people that nobody usable did or stood by."""
    done = UpkeepEntry.objects.filter(
        site=site,
        done_by__in={one.person for one in spans},
        task__covered_by__in={one.code for one in spans},
        happened_on__gte=min(one.first for one in spans),
    )
    rows = bare_or_covered(site, [str(pk) for pk in done.values_list("pk", flat=True)], known_by)
    covers = covers_of(site.organisation, rows, known_by)
    pairs = zip(rows, covers, strict=True)
    return [row for row, cover in pairs if cover.standing is EntryStanding.NOBODY_USABLE]


def work_in(span: Held, rows: Iterable[UpkeepEntry]) -> PastDeadline:
    mine = [row for row in rows if row.done_by_id == span.person and row.task.covered_by == span.code]
    entries = tuple((str(row.pk), row.happened_on) for row in mine if is_in(span, row.happened_on))
    name, version = str(mine[0].done_by) if mine else "", span.cause.partition(":")[2]
    return PastDeadline(name, str(span.person), span.code, version, span.first, entries)


def is_in(span: Held, day: date) -> bool:
    return span.first <= day and (span.after is None or day < span.after)


def of_site_facts(site: Site, keys: Keys = None, known_by: datetime | None = None) -> list[Told]:
    """Site facts that versions in force use and that have no answer. Five queries."""
    units, kinds = list(Equipment.objects.filter(site=site)), dict(SiteFact.objects.values_list("name", "of"))
    answered = first_answers(site, known_by)
    asked: dict[tuple[str, str], tuple[date | None, dict[str, list[Days]]]] = {}
    for code, kind, days, names in facts_in_force(site, known_by):
        here = list(both([days], service_days(units, kind)))
        for name in names:
            for unit in places_of(units, kinds.get(name)):
                if unit is None and kinds.get(name, "site") != "site":
                    continue  # the site has no such unit
                mine = list(both(here, [life_of(unit)] if unit else here))
                place = (name, unit.label if unit else "")
                asked.setdefault(place, (first_answer(answered, name, unit), defaultdict(list)))[1][code] += mine
    plain = [FactAsked(name, unit, used, first) for (name, unit), (first, used) in sorted(asked.items())]
    return [("", one) for one in missing_site_facts(plain)]


def places_of(units: Iterable[Equipment], kind: str | None) -> list[Equipment | None]:
    """Every unit of the kind; None for the site itself, where there is none."""
    return [one for one in units if one.kind == kind] or [None]


def first_answers(site: Site, known_by: datetime | None) -> dict[tuple[str, Any], date]:
    rows = SiteFactValue.objects.live(known_by).filter(site=site).order_by("-happened_on")
    return {(name, unit): day for name, unit, day in rows.values_list("site_fact__name", "equipment", "happened_on")}


def first_answer(answered: Mapping[tuple[str, Any], date], name: str, unit: Equipment | None) -> date | None:
    """Of the unit or for all; for the site itself whatever was answered."""
    mine = {key: day for key, day in answered.items() if key[0] == name}
    wanted = {None, unit.pk} if unit else {key[1] for key in mine}
    return min((day for (_, of), day in mine.items() if of in wanted), default=None)


def facts_in_force(site: Site, known_by: datetime | None) -> list[tuple[str, str, Days, list[str]]]:
    """Code, kind of equipment, the days in force from the register start on, and the site facts used; for each version."""
    here = {"procedure__organisation": site.organisation}
    retired = dict(Retirement.objects.live(known_by).filter(**here).values_list("procedure", "happened_on"))
    rows = Version.objects.live(known_by).filter(**here).order_by("procedure", "number")
    columns = ("procedure", "procedure__code", "procedure__equipment_kind", "in_force_from", "content")
    versions = list(rows.values_list(*columns))
    found = []
    for (key, code, kind, first, content), later in pairwise([*versions, None]):
        ends = [later[3]] if later and later[0] == key else []
        after = min([*ends, *([retired[key]] if key in retired else [])], default=None)
        start = max(first, site.register_start)
        if after is None or start < after:
            found.append((code, kind, (start, after), sorted(names_used(content))))
    return found


def names_used(content: Mapping[str, Any]) -> set[str]:
    steps = content_from_json(content).steps
    return {name for step in steps for name in names_in(f"{step.when} {step.do} {step.caution}")}


def life_of(unit: Equipment) -> Days:
    return unit.in_service_from, unit.in_service_to + DAY if unit.in_service_to else None


def service_days(units: Iterable[Equipment], kind: str) -> list[Days]:
    """The days on which the site has a unit of the kind; always, where it is asked of the site itself."""
    return [(date.min, None)] if kind == "site" else [life_of(unit) for unit in units if unit.kind == kind]


def last_check(site: Site) -> SealCheck:
    """When every seal was last recomputed, and how many breaks were found then."""
    row = checks_of(site).last()
    return plain_check(row, site) if row else SealCheck("", None, 0, site.register_start)


def checks_of(site: Site, known_by: datetime | None = None) -> Any:
    return Change.objects.live(known_by).filter(site=site, about="clinic.seal", about_id=CHECKED).in_order()


def plain_check(row: Change, site: Site) -> SealCheck:
    breaks, differences = int(row.after.get("breaks", 0)), int(row.after.get("differences", 0))
    return SealCheck(str(row.pk), row.happened_on, breaks, site.register_start, differences)


def of_seals(site: Site, keys: Keys = None, known_by: datetime | None = None) -> list[Told]:
    """Checks of the seals that were late, or found a break."""
    checks = [plain_check(row, site) for row in checks_of(site, known_by)]
    return [("", one) for one in seal_check(checks, site.register_start)]


def of_safeguards(site: Site, keys: Keys = None, known_by: datetime | None = None) -> list[Told]:
    """Backups and restore drills that were late, or failed."""
    return [("", one) for one in safeguards_late(kept(site, known_by), site.register_start)]


def of_clock(site: Site, keys: Keys = None, known_by: datetime | None = None) -> list[Told]:
    """Jumps of the clock until somebody said openly what was wrong."""
    rows = list(Change.objects.live(known_by).filter(site=site, about=CLOCK).in_order())
    answered = {pk: row.happened_on for row in reversed(rows) for pk in row.after.get("answers", [])}
    jumped = [row for row in rows if row.about_id in (AHEAD, BACK)]
    plain = [Jumped(str(row.pk), row.happened_on, row.said, answered.get(str(row.pk))) for row in jumped]
    return [("", one) for one in clock_jumps(plain)]
