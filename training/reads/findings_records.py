"""Sessions with gaps, site facts nobody answered, and the last check of the seals, as plain data for the findings."""

from collections import defaultdict
from collections.abc import Mapping
from datetime import date
from uuid import UUID

from clinic.models import Change, Equipment, Site, SiteFact, SiteFactValue
from training.models import Retirement, TaughtSession, Version
from training.rules.findings_records import SealCheck, SessionKept
from training.rules.place import names_in
from training.rules.texts import content_from_json

CHECKED = "the seals were checked"  # `Change.about_id` of the fact that keeps when


def sessions_kept(site: Site) -> list[SessionKept]:
    """Every session that stands with what its record lacks. Three queries."""
    rows = (
        TaughtSession.objects.live()
        .filter(site=site)
        .prefetch_related("topics__version__procedure", "attendances__person")
    )
    return [SessionKept(str(row.pk), row.happened_on, topics_of(row), missing_of(row)) for row in rows]


def topics_of(row: TaughtSession) -> str:
    return ", ".join(sorted(str(topic.version.procedure) for topic in row.topics.all())) or "a session without a topic"


def missing_of(row: TaughtSession) -> tuple[str, ...]:
    untitled = [str(each.person) for each in row.attendances.all() if not each.job_title]
    nobody = ["anybody who attended"] if not row.attendances.all() else []
    return (*row.missing_fields, *nobody, *(f"the job title of {name}" for name in untitled))


def unanswered_facts(site: Site, day: date) -> tuple[Mapping[tuple[str, str], list[str]], Mapping[str, date]]:
    """(fact, unit) → procedures whose version in force uses it and that has no answer. Five queries."""
    retired = Retirement.objects.live().filter(happened_on__lte=day).values("procedure")
    versions = (
        Version.objects.live()
        .in_force(day)
        .filter(procedure__organisation=site.organisation)
        .exclude(procedure__in=retired)
    )
    units = list(Equipment.objects.filter(site=site).in_service_on(day))
    of = dict(SiteFact.objects.values_list("name", "of"))
    answered = {
        (row.site_fact.name, row.equipment_id)
        for row in SiteFactValue.objects.live().filter(site=site).select_related("site_fact")
    }
    asked: dict[tuple[str, str], list[str]] = defaultdict(list)
    since: dict[str, date] = {}
    for code, kind, from_day, content in versions.values_list(
        "procedure__code", "procedure__equipment_kind", "in_force_from", "content"
    ):
        if kind != "site" and not any(unit.kind == kind for unit in units):
            continue  # the site has no such unit, so nobody works to it here
        for name in sorted(
            {
                name
                for step in content_from_json(content).steps
                for name in names_in(f"{step.when} {step.do} {step.caution}")
            }
        ):
            since[name] = min(since.get(name, date.max), max(from_day, site.register_start))
            for unit in missing_at(name, of.get(name, "site"), units, answered):
                asked[name, unit].append(code)
    return asked, since


def missing_at(name: str, of: str, units: list[Equipment], answered: set[tuple[str, UUID | None]]) -> list[str]:
    """Where an answer is missing: labels of units, or "" for the site itself."""
    if (name, None) in answered:
        return []
    if of == "site":
        return [] if any(known == name for known, _ in answered) else [""]
    return [unit.label for unit in units if unit.kind == of and (name, unit.pk) not in answered]


def last_check(site: Site) -> SealCheck:
    """When every seal was last recomputed, and how many breaks were found then."""
    row = Change.objects.live().filter(site=site, about="clinic.seal", about_id=CHECKED).in_order().last()
    if row is None:
        return SealCheck("", None, 0, site.register_start)
    breaks, differences = int(row.after.get("breaks", 0)), int(row.after.get("differences", 0))
    return SealCheck(str(row.pk), row.happened_on, breaks, site.register_start, differences)
