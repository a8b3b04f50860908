"""Who was watched while tightening; and which assessments are no evidence because of who watched them, or would not be."""

from collections.abc import Collection, Iterable, Sequence
from datetime import date
from uuid import UUID

from clinic.models import Organisation, Person, Site
from clinic.port import Watched
from clinic.rules.roles import ProcedureRole
from clinic.rules.words import short_day
from training import gather
from training.gather_near import in_doubt, watchers_of
from training.models import Observation, Procedure, StandingSpan
from training.rules.facts import Fact, State
from training.rules.watchers import in_its_place, set_aside_by, sets_aside

TIGHTENED = (ProcedureRole.TOOL_SWAP, ProcedureRole.CLAMPING)


def watched_tightening(site: Site, first: date, last: date) -> list[Watched]:
    """One query."""
    rows = Observation.objects.live().filter(
        site=site,
        equipment__isnull=False,
        happened_on__range=(first, last),
        version__procedure__stands_for__in=TIGHTENED,
    )
    return [
        Watched(
            row.pk, row.person_id, row.equipment_id, row.happened_on,
            f"{row.person}, {row.version.procedure.code}, {short_day(row.happened_on)}: {row.get_outcome_display().lower()}",
        )
        for row in rows.select_related("person", "version__procedure").in_order()
        if row.equipment_id
    ]  # fmt: skip


def will_not_count(watcher: Person, site: Site, day: date, procedures: Iterable[Procedure]) -> dict[str, State]:
    """Where the watcher stands in each of these procedures in which an assessment watched that day would not count, by
    code. Three queries, whatever the number."""
    spans = StandingSpan.objects.on(day).filter(person=watcher)
    states = {code: State(state) for code, state in spans.values_list("procedure__code", "state")}
    mine = [g for g in gather.grant_facts(site.organisation) if g.person == str(watcher.pk) and g.site == site.pk]
    found: dict[str, State] = {}
    for procedure in procedures:
        alive = [g for g in mine if g.holds_on(day) and g.covers(procedure.code, procedure.area)]
        state = sets_aside(
            states.get(procedure.code, State.UNTRAINED),
            founder=any(grant.founding for grant in alive),
            lowered=any(grant.counts_because for grant in alive),
        )
        if state is not None:
            found[procedure.code] = state
    return found


def set_aside_of(organisation: Organisation, people: Collection[Person]) -> dict[str, State]:
    """The watcher's own state then, by the id of each assessment of these people that it keeps from counting. What is stored
    answers for most; of what it leaves in doubt the facts of whoever watched are read."""
    book = gather.Rulebook.of(organisation, gather.programme(organisation), None)
    doubts = in_doubt(gather.watched_assessments(gather.FactsWanted([person.pk for person in people]), book), book)
    if not doubts:
        return {}
    watchers, chains = watchers_of(doubts, book), chains_of([row for row, _ in doubts if row.corrects], book)
    states = {
        str(row.id): set_aside_by(
            row.code, in_its_place(row.as_fact, chains.get((row.person, row.code), ())), seen, watchers
        )
        for row, seen in doubts
    }
    return {key: state for key, state in states.items() if state is not None}


def chains_of(rows: Collection[gather.Assessed], book: gather.Rulebook) -> dict[tuple[UUID, str], Sequence[Fact]]:
    """The facts among which each correction has its place, by person and procedure."""
    if not rows:
        return {}
    found = gather.own_facts(
        Person.objects.filter(pk__in={row.person for row in rows}), {row.code for row in rows}, book
    )
    return {(row.person, row.code): found[str(row.person)].by_procedure[row.code] for row in rows}
