"""Every finding of a site on a day, with what was done about it. A fixed number of queries, whatever the number of rows."""

from collections.abc import Sequence
from datetime import date

from clinic.models import Person, Site, UpkeepEntry
from clinic.reads.clock import jumps
from clinic.reads.findings import equipment_findings
from clinic.reads.upkeep import UnitTask
from clinic.rules.findings import Finding
from training.models import CorrectiveAction, Procedure, StandingSpan
from training.reads.findings_misses import open_misses
from training.reads.findings_people import signatures, signers, signing_links
from training.reads.findings_records import last_check, sessions_kept, unanswered_facts
from training.reads.new_hazards import to_teach
from training.reads.plan import required_of
from training.reads.safeguards import kept, last_safeguards
from training.rules import findings as training_rules
from training.rules.findings_closed import Action, Weighed, weighed
from training.rules.findings_hazards import Untaught, new_hazards_untaught
from training.rules.findings_records import (
    Jumped,
    PastDeadline,
    clock_jumps,
    missing_site_facts,
    records_with_gaps,
    seal_check,
    work_past_deadline,
)
from training.rules.findings_safeguards import safeguards_late
from training.rules.plan import earliest_due
from training.rules.rings import rings


def findings(site: Site, day: date, tasks: Sequence[UnitTask] | None = None) -> list[Weighed]:
    """The heaviest first. Each carries the corrective actions about this appearance of it. `tasks`: the upkeep tasks of the
    site, where they were read already."""
    found = [
        *about_people(site, day),
        *about_equipment(site, day, tasks),
        *about_hazards(site, day),
        *about_records(site, day),
    ]
    return weighed(found, actions(site))


def actions(site: Site) -> list[Action]:
    rows = CorrectiveAction.objects.live().filter(site=site).select_related("done_by")
    return [Action(str(row.pk), row.finding, row.since, row.done, str(row.done_by), row.happened_on) for row in rows]


def about_people(site: Site, day: date) -> list[Finding]:
    links, anchors, names = signing_links(site)
    misses = [
        training_rules.CriticalMiss(str(row.pk), row.happened_on, str(row.person), row.version.procedure.code)
        for row in open_misses(site)
    ]
    return [
        *training_rules.training_overdue(overdue_candidates(site, day), day),
        *training_rules.wrong_signatures(signatures(site)),
        *training_rules.unanswered_misses(misses, day),
        *training_rules.too_few_signers(signers(site, day)),
        *rings(links, anchors, names),
    ]


def overdue_candidates(site: Site, day: date) -> list[training_rules.Required]:
    """What the job roles of today ask of each person, and whether they are usable in it. Four queries."""
    people = list(Person.objects.at_site(site, day).by_name())
    procedures = {p.code: p for p in Procedure.objects.of(site.organisation)}
    usable = set(StandingSpan.objects.on(day).usable().filter(person__in=people).values_list("person", "procedure"))
    asks = required_of(people, day)
    return [
        training_rules.Required(str(p), str(p.pk), str(procedures[code]), due, (p.pk, procedures[code].pk) in usable)
        for p in people
        for code, due in earliest_due(asks.get(p.pk, ())).items()
    ]


def about_equipment(site: Site, day: date, tasks: Sequence[UnitTask] | None = None) -> list[Finding]:
    """What the clinic finds; work of somebody whose version had passed its deadline is said once, as that."""
    found = equipment_findings(site, day, tasks)
    bare = UpkeepEntry.objects.filter(pk__in=[one.evidence[0] for one in found if one.code == "not held"])
    old = past_deadline(site, list(bare.select_related("task")))
    told = {fact for one in old for fact, _ in one.entries}
    return [one for one in found if one.code != "not held" or one.evidence[0] not in told] + work_past_deadline(old)


def about_hazards(site: Site, day: date) -> list[Finding]:
    untaught = [Untaught(one.hazard, one.topic, tuple(name for _, name in one.people)) for one in to_teach(site, day)]
    return new_hazards_untaught(untaught, day)


def past_deadline(site: Site, rows: Sequence[UpkeepEntry]) -> list[PastDeadline]:
    codes = {row.task.covered_by for row in rows}
    spans = StandingSpan.objects.filter(
        cause__startswith="deadline:", procedure__code__in=codes, procedure__organisation=site.organisation
    )
    found = []
    for span in spans.filter(person__in={row.done_by_id for row in rows}).select_related("person", "procedure"):
        entries = tuple((str(row.pk), row.happened_on) for row in rows if is_work_in(row, span))
        version = span.cause.partition(":")[2]
        found.append(
            PastDeadline(str(span.person), str(span.person_id), span.procedure.code, version, span.first, entries)
        )
    return found


def is_work_in(row: UpkeepEntry, span: StandingSpan) -> bool:
    mine = row.done_by_id == span.person_id and row.task.covered_by == span.procedure.code
    return mine and span.first <= row.happened_on and (span.after is None or row.happened_on < span.after)


def about_records(site: Site, day: date) -> list[Finding]:
    asked, since = unanswered_facts(site, day)
    return [
        *records_with_gaps(sessions_kept(site)),
        *missing_site_facts(asked, since),
        *seal_check(last_check(site), day),
        *clock_jumps([Jumped(str(row.pk), row.happened_on, row.said) for row in jumps(site)]),
        *safeguards_late(kept(last_safeguards(site, day)), site.register_start, day),
    ]
