"""Everything a binder says, gathered once into plain content, with the ids of the facts it rests on."""

from collections.abc import Callable, Sequence

from django.conf import settings
from django.urls import reverse

from clinic import clock
from clinic.models import KeptElsewhere, Person, RoleHeld, Site
from training.documents.binder import content as b
from training.models import SignOff
from training.reads import binder_extras, binder_people, binder_questions, binder_records, binder_tables, binder_upkeep
from training.reads.binder_asked import Asked
from training.reads.findings import findings
from training.reads.matrix import LEAST, Squares, squares
from training.rules.facts import State
from training.rules.findings_closed import Weighed, counts

Tell = Callable[[int, int, str], None]
STEPS = 6  # how many times `tell` is called while gathering
HOW_TO_CHECK = [
    "Every fact is sealed when it is recorded: its content and the seal before it give the next seal. Nobody changes or "
    "deletes a fact; the database refuses it, and a mistake is put right by a later fact that names it.",
    "To check: run “manage.py seals” at the practice. It recomputes every seal and says exactly what broke. The last seal "
    "printed above must be among them, at the place printed beside it.",
    "What no seal can prove: that what was recorded is true, or that something was recorded at all.",
]


def gather_binder(asked: Asked, tell: Tell = lambda done, total, says: None) -> b.BinderContent:
    """A fixed number of queries, whatever the number of people. `asked.facts` then holds what it rests on."""
    site, now = asked.site, asked.local(clock.now())
    tell(0, STEPS, "people")
    members = people_in(asked)
    matrix = squares(site, asked.as_of)
    tell(1, STEPS, "records")
    records = binder_people.records(asked, members, matrix)
    tell(2, STEPS, "procedures")
    texts = binder_records.texts(asked)
    tell(3, STEPS, "upkeep")
    upkeep, extras = binder_upkeep.upkeep(asked), binder_extras.extras(asked)
    tell(4, STEPS, "findings")
    weighed = findings(site, min(asked.as_of, clock.today(site.time_zone)))
    elsewhere = kept_elsewhere(site)
    tell(5, STEPS, "what an inspector asks")
    weights = counts(weighed)
    sessions, authorities = binder_records.sessions(asked), binder_tables.authorities(asked)
    events = binder_tables.events(asked)
    kept = [kept_row(row) for row in elsewhere]
    counted = binder_questions.Counted(matrix, upkeep, extras, sessions, events, kept, weighed, texts, len(members))
    return b.BinderContent(
        organisation=site.organisation.name,
        site=site.name,
        address=site.address,
        paper=asked.paper,
        language=site.language,
        first=asked.first.isoformat(),
        last=asked.last.isoformat(),
        as_of=asked.as_of.isoformat(),
        made_at=now,
        known_by=now,
        short=not asked.in_full,
        stop=weights["stop"],
        fix=weights["fix"],
        note=weights["note"],
        kept_elsewhere=len(elsewhere),
        late=upkeep.late,
        late_says=upkeep.late_says,
        questions=binder_questions.questions(asked, counted),
        scope=scope(asked),
        roster=binder_people.roster(asked, members),
        procedures=[b.Head(p.code, p.title) for p in matrix.procedures],
        matrix=[b.MatrixRow(p.printed_name, states(matrix, p)) for p in matrix.people],
        minimum=LEAST,
        people=records,
        sessions=sessions,
        texts=texts,
        authorities=authorities,
        signed=binder_tables.signed(asked),
        upkeep=upkeep.rows,
        findings=[finding_row(one) for one in weighed],
        extras=[table for table in extras.tables if table.rows],
        seals=seals(asked),
        how_to_check=HOW_TO_CHECK,
        fact_url=fact_url(site),
        years=upkeep.years,
        events=events,
        kept=kept,
    )


def people_in(asked: Asked) -> list[Person]:
    """Who held a job role here in the period or on the day, and whoever signed here then."""
    last = max(asked.last, asked.as_of)
    held = RoleHeld.objects.held_in(asked.first, last).filter(site=asked.site).values("person")
    signed = SignOff.objects.live().filter(site=asked.site, happened_on__range=(asked.first, last)).values("signer")
    return list((Person.objects.filter(pk__in=held) | Person.objects.filter(pk__in=signed)).distinct().by_name())


def states(matrix: Squares, person: Person) -> list[str]:
    """One word a procedure; empty where the job role does not ask for it and nothing is there."""
    asked = matrix.asked.get(person.pk, set())
    found = [(matrix.at(person, p).state, p.pk in asked) for p in matrix.procedures]
    return [state.value if is_asked or state is not State.UNTRAINED else "" for state, is_asked in found]


def scope(asked: Asked) -> list[str]:
    site = asked.site
    return [
        f"The register answers for this site from {site.register_start:%-d %B %Y}. What was mastered before is carried over "
        "with the place of its paper.",
        "It keeps who may do what in the millroom, who watched and signed that, and the upkeep of the units. It is no licence "
        "and no clinical record; the makers’ instructions, local rules and licensed practice come first.",
        "A day through which somebody may work alone is the last good day. Days after the day of this binder say what follows "
        "if nothing more is recorded.",
    ]


def finding_row(one: Weighed) -> b.FindingRow:
    done = "; ".join(f"{a.day:%-d %b %Y}, {a.by}: {a.done}" for a in one.actions)
    weight, since = one.finding.weight.value, one.finding.since.isoformat()
    ended = "" if one.is_open else one.actions[-1].day.isoformat()
    return b.FindingRow(weight, one.finding.sentence, since, done, one.finding.ends_when, ended)


def kept_elsewhere(site: Site) -> Sequence[KeptElsewhere]:
    """The newest line of each paper."""
    rows = {row.what.casefold(): row for row in KeptElsewhere.objects.live().filter(site=site).in_order()}
    return sorted(rows.values(), key=lambda row: row.what.casefold())


def kept_row(row: KeptElsewhere) -> b.KeptRow:
    return b.KeptRow(row.what, row.place, row.keeper, row.last_review.isoformat() if row.last_review else "")


def origin() -> str:
    """Scheme and host that paper names; empty where the practice has not said them."""
    return next(iter(settings.CSRF_TRUSTED_ORIGINS), "")


def fact_url(site: Site) -> str:
    """What stands before a fact's id in its address; empty where the paper names no host."""
    page = reverse("training:audit", kwargs={"site": site.code}).replace("/audit/", "/facts/")
    return f"{origin()}{page}" if origin() else ""


def seals(asked: Asked) -> list[str]:
    site = Site.objects.get(pk=asked.site.pk)
    if not site.last_recorded_at:
        return ["Nothing is recorded yet."]
    last = asked.local(site.last_recorded_at)
    return [
        f"This binder rests on {len(asked.facts):,} facts of {site.last_position:,} in the register of this site.",
        f"The last seal when it was made: place {site.last_position:,}, {site.last_digest}, recorded {last.replace('T', ' at ')}.",
    ]
