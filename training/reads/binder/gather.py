"""Everything a binder says, gathered once into plain content, with the ids of the facts it rests on."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from django.conf import settings
from django.urls import reverse

from clinic import clock
from clinic.checkpoints import checking_command, head, public_key, signed
from clinic.models import Person, RoleHeld, Site
from clinic.port import code_of
from clinic.rules.ids import is_id
from clinic.rules.letters import printed_otherwise
from clinic.rules.roles import ProcedureRole
from clinic.rules.words import coordinator_words, day_words, short_day
from training.documents.binder import content as b
from training.documents.content import texts_in
from training.models import SignOff
from training.reads.binder import extras as binder_extras
from training.reads.binder import people as binder_people
from training.reads.binder import questions as binder_questions
from training.reads.binder import records as binder_records
from training.reads.binder import tables as binder_tables
from training.reads.binder import upkeep as binder_upkeep
from training.reads.binder.asked import BinderAsked
from training.reads.binder.seals import SealsRead, check_seals_of
from training.reads.findings.stored import findings_in
from training.reads.kept import KeptPaper, papers_kept
from training.reads.matrix import LEAST, Squares, squares
from training.rules.findings_closed import Occurrence, counts

Tell = Callable[[int, int, str], None]
STEPS = 6  # how many times `tell` is called while gathering
HOW_TO_CHECK = [
    "Every fact is sealed when it is recorded: its content and the seal before it give the next seal. The database refuses to "
    "change or delete a fact, and a mistake is put right by a later fact that names it.",
    "To check: run the command printed below at the practice. It recomputes every seal, says exactly what broke, and says "
    "whether today’s log begins with the log of this binder: the same seals, in the same order. “manage.py seals prove” "
    "writes a proof of it that “verify.py” checks on any computer, without the database, against the head and the key below.",
    "What no seal can prove: that what was recorded is true, or that everything was recorded. About what was recorded after "
    "this binder, its head says nothing.",
]


def gather_binder(asked: BinderAsked, tell: Tell = lambda done, total, says: None) -> b.BinderContent:
    """A fixed number of queries, whatever the number of people. `asked.facts` then holds what it rests on."""
    site, now = asked.site, asked.local(clock.now())
    tell(0, STEPS, "people")
    members = people_in(asked)
    matrix = squares(site, asked.as_of)
    tell(1, STEPS, "records")
    records = binder_people.records(asked, members, matrix)
    tell(2, STEPS, "procedures")
    versions = binder_records.in_force(asked)
    texts = binder_records.texts(asked, versions)
    tell(3, STEPS, "upkeep")
    upkeep, extras = binder_upkeep.upkeep(asked), binder_extras.extras(asked)
    tell(4, STEPS, "findings")
    found = findings_in(site, asked.first, min(max(asked.last, asked.as_of), clock.today(site.time_zone)))
    tell(5, STEPS, "what an inspector asks")
    kept = [kept_row(paper) for paper in papers_kept(site, min(asked.as_of, clock.today(site.time_zone)))]
    sources = binder_records.sources(versions) if asked.in_full else []
    told = Gathered(matrix, records, texts, upkeep, extras, found, kept, sources)
    plain = {**identity(asked, now), **about_people(asked, told, members), **about_equipment(told)}
    sealed = check_seals_of(asked)  # last, when everything that the binder rests on is named
    plain |= about_the_record(asked, told, sealed)
    content = b.BinderContent(**plain, questions=[], packing=b.PACKING)
    beside = binder_questions.AnsweredBeside(told.extras, sealed)
    asks = binder_questions.questions(asked, content, beside)
    otherwise = printed_otherwise(texts_in(content))
    return replace(content, questions=asks, scope=[*content.scope, otherwise] if otherwise else content.scope)


@dataclass(frozen=True, slots=True)
class Gathered:
    """What was gathered, before it is laid out."""

    matrix: Squares
    records: list[b.PersonRecord]
    texts: list[b.ProcedureText]
    upkeep: binder_upkeep.UpkeepOfPeriod
    extras: binder_extras.Extras
    found: Sequence[Occurrence]
    kept: list[b.KeptRow]
    sources: list[b.SourceRow]


def identity(asked: BinderAsked, now: str) -> dict[str, Any]:
    """Whose binder it is, of which days, in which form, and when it was made."""
    site = asked.site
    return {
        "organisation": site.organisation.name,
        "site": site.name,
        "address": site.address,
        "paper": asked.paper,
        "language": site.language,
        "first": asked.first.isoformat(),
        "last": asked.last.isoformat(),
        "as_of": asked.as_of.isoformat(),
        "made_at": now,
        "known_by": now,
        "short": not asked.in_full,
        "scope": scope(asked),
        "fact_url": fact_url(site),
        "coordinator": coordinator_words(site.infection_coordinator),
    }


def about_people(asked: BinderAsked, told: Gathered, members: Sequence[Person]) -> dict[str, Any]:
    matrix = told.matrix
    return {
        "roster": binder_people.roster(asked, members),
        "procedures": [b.Head(p.code, p.title) for p in matrix.procedures],
        "matrix": [b.MatrixRow(p.printed_name, states(matrix, p)) for p in matrix.people],
        "minimum": LEAST,
        "pathogens": code_of(asked.site.organisation, ProcedureRole.PATHOGENS),
        "people": told.records,
        "sessions": binder_records.sessions(asked),
        "texts": told.texts,
        "sources": told.sources,
        "authorities": binder_tables.authorities(asked),
        "signed": binder_tables.signed(asked),
    }


def about_equipment(told: Gathered) -> dict[str, Any]:
    return {
        "late": told.upkeep.late,
        "late_says": told.upkeep.late_says,
        "upkeep": told.upkeep.rows,
        "years": told.upkeep.years,
        "extras": [table for table in told.extras.tables if table.rows],
        "doubts": told.extras.doubts,
    }


def about_the_record(asked: BinderAsked, told: Gathered, sealed: SealsRead) -> dict[str, Any]:
    return {
        **counts(told.found),
        "findings": [finding_row(one) for one in told.found],
        "events": binder_tables.events(asked),
        "kept": told.kept,
        "register": told.extras.register,
        "kept_elsewhere": len(told.kept),
        "seals": seals_say(asked, sealed),
        "how_to_check": HOW_TO_CHECK,
        **log_head(asked.site),
    }


def people_in(asked: BinderAsked) -> list[Person]:
    """Who held a job role here in the period or on the day, and whoever signed here then."""
    last = max(asked.last, asked.as_of)
    held = RoleHeld.objects.held_in(asked.first, last).filter(site=asked.site).values("person")
    signed = SignOff.objects.live().filter(site=asked.site, happened_on__range=(asked.first, last)).values("signer")
    return list((Person.objects.filter(pk__in=held) | Person.objects.filter(pk__in=signed)).distinct().by_name())


def states(matrix: Squares, person: Person) -> list[str]:
    """One word a procedure; empty where the job role does not ask for it and nothing is there."""
    return [matrix.at(person, p).state.value if matrix.is_shown(person, p) else "" for p in matrix.procedures]


def scope(asked: BinderAsked) -> list[str]:
    site = asked.site
    return [
        f"The register answers for this site from {day_words(site.register_start)}. What was mastered before is carried over "
        "with the place of its paper.",
        "It keeps who may do what in the millroom, who watched and signed that, and the upkeep of the units. It is no licence "
        "and no clinical record; the makers’ instructions, local rules and licensed practice come first.",
        "A day through which somebody may work alone is the last good day. Days after the day of this binder say what follows "
        "if nothing more is recorded.",
    ]


def finding_row(one: Occurrence) -> b.FindingRow:
    done = "; ".join(f"{short_day(a.day)}, {a.by}: {a.done}" for a in one.actions)
    weight, last = one.finding.weight.value, one.last.isoformat() if one.last else ""
    fact = next(filter(is_id, one.finding.evidence), "")
    return b.FindingRow(weight, one.finding.sentence, one.first.isoformat(), done, one.finding.ends_when, last, fact)


def kept_row(paper: KeptPaper) -> b.KeptRow:
    row = paper.row
    return b.KeptRow(row.what, row.place, row.keeper, paper.reviewed.isoformat() if paper.reviewed else "")


def origin() -> str:
    """Scheme and host that paper names; empty where the practice has not said them."""
    return next(iter(settings.CSRF_TRUSTED_ORIGINS), "")


def fact_url(site: Site) -> str:
    """What stands before a fact's id in its address; empty where the paper names no host."""
    page = reverse("training:audit", kwargs={"site": site.code}).replace("/audit/", "/facts/")
    return f"{origin()}{page}" if origin() else ""


def seals_say(asked: BinderAsked, sealed: SealsRead) -> list[str]:
    last = sealed.site.last_recorded_at
    return sealed.says(asked.local(last).replace("T", " at ") if last else "")


def log_head(site: Site) -> dict[str, str]:
    """The signed head of the site's log as it is now, and how it is checked later."""
    now = head(site)
    return {"checkpoint": signed(now), "log_check": checking_command(site, now), "log_key": public_key(now.origin)}
