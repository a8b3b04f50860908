"""Procedures as pages show them: the list by area with search, one version to study from, and its versions."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property

from django.db.models import QuerySet

from clinic.models import Equipment, Organisation, Person, Site, UpkeepTask
from clinic.reads.site_answers import answers_at
from clinic.rules.roles import ProcedureRole
from clinic.rules.words import after_colon
from training.doing import SAYS
from training.models import Draft, InstructionsCheck, Procedure, Retirement, StandingSpan, Version
from training.reads.bench import BenchStep, bench_step
from training.reads.library import hands
from training.reads.pictures import photos_at
from training.reads.standing import UNTRAINED, plain
from training.rules.facts import Policy, State
from training.rules.place import Answers, Words, filled, steps_here
from training.rules.policy_wording import Row, policy_rows
from training.rules.search import FoundWords, found_in
from training.rules.sentence import sentence
from training.rules.texts import Content, Source, content_from_json, policy_from_json

MARKS = {
    "V": "read in the source",
    "R": "recomputed",
    "M": "from memory: check the current text",
    "C": "common practice, no source",
    "D": "own choice",
}


def mine(person: Person, on: date) -> dict[int, StandingSpan]:
    """One's own standing by procedure; no entry: untrained."""
    return {row.procedure_id: row for row in StandingSpan.objects.on(on).filter(person=person)}


@dataclass(frozen=True, slots=True)
class ProcedureListed:
    """A procedure in the list. `version`: in force today; `coming`: approved for a later day; `found`: of a search."""

    procedure: Procedure
    version: Version | None
    coming: Version | None
    draft: Draft | None
    checked: bool
    state: str
    says: str
    found: tuple[tuple[str, FoundWords], ...] = ()


def retired_codes(organisation: Organisation, on: date) -> set[int]:
    rows = Retirement.objects.live().filter(procedure__organisation=organisation, happened_on__lte=on)
    return set(rows.values_list("procedure", flat=True))


def procedure_list(site: Site, person: Person, on: date, words: str = "") -> list[ProcedureListed]:
    """Every procedure that is not retired; with words, only those that hold them. A fixed number of queries, and three
    for each unit of the site when something is searched."""
    gone = retired_codes(site.organisation, on)
    procedures = [row for row in Procedure.objects.of(site.organisation) if row.pk not in gone]
    live = Version.objects.live().filter(procedure__organisation=site.organisation)
    now = {row.procedure_id: row for row in live.in_force(on)}
    later = {row.procedure_id: row for row in live.filter(in_force_from__gt=on).order_by("-number")}
    drafts = {row.procedure_id: row for row in Draft.objects.filter(procedure__organisation=site.organisation)}
    checked = set(InstructionsCheck.objects.live().filter(version__in=now.values()).values_list("version", flat=True))
    spans, places = mine(person, on), Places(site, on) if words.strip() else None
    titles = Procedure.objects.titles(site.organisation)
    rows = []
    for each in procedures:
        version, span = now.get(each.pk), spans.get(each.pk)
        found = tuple(places.found(words, each, version)) if places else ()
        if places and not found:
            continue
        is_checked = version is not None and version.pk in checked
        state = span.state if span else State.UNTRAINED.value
        says = sentence(plain(span) if span else UNTRAINED, titles, is_topic=each.is_topic)
        rows.append(
            ProcedureListed(each, version, later.get(each.pk), drafts.get(each.pk), is_checked, state, says, found)
        )
    return rows


def by_area(rows: Iterable[ProcedureListed]) -> dict[str, list[ProcedureListed]]:
    areas: dict[str, list[ProcedureListed]] = defaultdict(list)
    for row in rows:
        areas[row.procedure.area].append(row)
    return dict(areas)


@dataclass
class Places:
    """The units of a site with the answers of the walk round, asked once for each unit."""

    site: Site
    day: date
    answers: dict[object, Answers] = field(default_factory=dict)

    @cached_property
    def units(self) -> list[Equipment]:
        return list(units_of(self.site, self.day))

    def at(self, unit: Equipment | None) -> Answers:
        key = unit and unit.pk
        if key not in self.answers:
            self.answers[key] = answers_at(self.site, unit)
        return self.answers[key]

    def found(self, words: str, procedure: Procedure, version: Version | None) -> Iterable[tuple[str, FoundWords]]:
        """What is found, with the unit's label where only some units say so."""
        content = content_from_json(version.content) if version else Content(purpose="")
        here: list[Equipment | None] = [unit for unit in self.units if unit.kind == procedure.equipment_kind] or [None]
        by_unit = {
            unit.label if unit else "": found_in(words, procedure.code, procedure.title, content, self.at(unit))
            for unit in here
        }
        seen = list(dict.fromkeys(each for found in by_unit.values() for each in found))
        for each in seen:
            holders = [label for label, found in by_unit.items() if each in found]
            yield ("" if len(holders) == len(by_unit) else ", ".join(holders)), each


def units_of(site: Site, on: date, kind: str | None = None) -> QuerySet[Equipment]:
    rows = Equipment.objects.filter(site=site).in_service_on(on).order_by("kind", "label", "pk")
    return rows.filter(kind=kind) if kind else rows


@dataclass(frozen=True, slots=True)
class SourceShown:
    row: str
    mark: str
    says: str
    means: str
    is_unsure: bool  # check the current text


def source_shown(source: Source) -> SourceShown:
    letters = source.mark.split("+")
    means = "; ".join(MARKS[letter] for letter in letters if letter in MARKS)
    return SourceShown(source.row, source.mark, source.says, means, "M" in letters)


@dataclass(frozen=True, slots=True)
class Study:
    """One text of a procedure at one unit, ready to be read: of a version or of a draft."""

    procedure: Procedure
    text: Content
    unit: Equipment | None
    units: list[Equipment]
    steps: tuple[BenchStep, ...]
    dropped: int
    missing: list[str]
    note: tuple[Words, ...]
    purpose: tuple[Words, ...]
    contents: list[tuple[Words, ...]]
    hands_title: str
    hands: list[tuple[Words, ...]]
    unsafe: tuple[str, ...]
    asks: list[Row]
    sources: list[SourceShown]
    rests_on: list[tuple[Procedure, str]]  # with one’s own state in each

    @property
    def is_topic(self) -> bool:
        return self.procedure.is_topic


def study(
    procedure: Procedure, text: Content, policy: Policy, site: Site, on: date, reader: Person, unit: Equipment | None
) -> Study:
    """The text with the answers of the unit; without one, of the only unit of its kind or of the site."""
    units = list(units_of(site, on, procedure.equipment_kind))
    unit = unit if unit in units else (units[0] if units else None)
    answers = answers_at(site, unit)
    here = steps_here(text.steps, answers)
    photos = photos_at(site, unit)
    steps = tuple(
        bench_step(number, step, procedure.code, answers, photos) for number, step in enumerate(here, start=1)
    )
    rests = list(Procedure.objects.of(site.organisation).filter(code__in=policy.prerequisites))
    spans, tasks = mine(reader, on), list(UpkeepTask.objects.filter(code__in=policy.upkeep_covered).order_by("code"))
    names = {row.code: row.title for row in rests} | {task.code: task.title for task in tasks}
    own = hands()
    return Study(
        procedure=procedure, text=text, unit=unit, units=units, steps=steps, dropped=len(text.steps) - len(here),
        missing=sorted({name for step in steps for name in step.missing}),
        note=filled(text.note, answers), purpose=filled(after_colon(text.purpose), answers),
        contents=[filled(line, answers) for line in text.contents],
        hands_title=own.title, hands=[filled(rule, answers) for rule in own.rules], unsafe=own.stop_unsafe,
        asks=[*policy_rows(policy, is_topic=procedure.is_topic, names=names), *counts_too(procedure, policy)],
        sources=[source_shown(source) for source in text.sources],
        rests_on=[(row, spans[row.pk].state if row.pk in spans else State.UNTRAINED.value) for row in rests],
    )  # fmt: skip


def counts_too(procedure: Procedure, policy: Policy) -> list[Row]:
    """What besides watched work and upkeep begins the idle days anew (`training.doing`)."""
    if policy.idle_days and procedure.stands_for in SAYS:
        return [("Also counts as doing it", SAYS[ProcedureRole(procedure.stands_for)])]
    return []


def study_version(version: Version, site: Site, on: date, reader: Person, unit: Equipment | None) -> Study:
    return study(version.procedure, version.text, version.asks, site, on, reader, unit)


def study_draft(draft: Draft, site: Site, on: date, reader: Person, unit: Equipment | None) -> Study:
    text, policy = content_from_json(draft.content), policy_from_json(draft.policy)
    return study(draft.procedure, text, policy, site, on, reader, unit)


@dataclass(frozen=True, slots=True)
class VersionRow:
    """A line of the list of versions."""

    version: Version
    state: str  # in force, coming, earlier
    check: InstructionsCheck | None


def version_rows(procedure: Procedure, on: date) -> list[VersionRow]:
    """Newest first, each with its last check against the maker's instructions; two queries."""
    versions = list(
        Version.objects.live()
        .filter(procedure=procedure)
        .select_related("recorded_by", "authored_by")
        .order_by("-number")
    )
    checks = InstructionsCheck.objects.live().filter(version__in=versions).select_related("checked_by").in_order()
    by_version = {row.version_id: row for row in checks}
    newest = next((row.number for row in versions if row.in_force_from <= on), 0)

    def state(number: int) -> str:
        return "in force" if number == newest else ("coming" if number > newest else "earlier")

    return [VersionRow(row, state(row.number), by_version.get(row.pk)) for row in versions]


def usable_here(procedure: Procedure, site: Site, on: date) -> list[Person]:
    """Everybody with a job role at the site who may do it alone on the day."""
    here = Person.objects.at_site(site, on)
    usable = StandingSpan.objects.on(on).usable().filter(procedure=procedure, person__in=here).values("person")
    return list(here.filter(pk__in=usable).by_name())


def resting_on(procedure: Procedure, on: date) -> list[Procedure]:
    """Procedures whose version in force rests on this one."""
    rows = Version.objects.live().in_force(on).filter(procedure__organisation=procedure.organisation_id)
    return [v.procedure for v in rows.select_related("procedure") if procedure.code in v.asks.prerequisites]
