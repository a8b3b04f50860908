"""Of work that was logged, and of what was watched, the procedures in which it may change where somebody stands."""

from typing import Any
from uuid import UUID

from django.db.models import Q

from clinic.models import Fact, JobStarted, ToolMounted, UpkeepEntry
from clinic.prepared import Prepared
from training import gather
from training.models import Observation, StandingSpan
from training.rules.facts import State
from training.rules.work import Stood, has_idle_limit, may_change
from training.touched import Touched, covering_codes
from training.waiting import PreparedSpans

Work = UpkeepEntry | ToolMounted | JobStarted


def that_may_change(fact: Fact, touched: Touched) -> Touched:
    """The part of what the fact touches that has to be computed: of whoever did the work, or watched it, and did nothing else by
    it, only what such a performance may change. The caller holds the people, so that nobody else records about them meanwhile;
    and the fact corrects nothing, as what stood in its place may have counted."""
    performed = performers(fact)
    if not any(touched.get(person) for person in performed):
        return touched
    return touched | {person: of_performer(fact, person, touched[person]) for person in performed}


def performers(fact: Fact) -> list[UUID]:
    """To whom the fact is a performance and nothing else."""
    if isinstance(fact, Work):
        return [fact.done_by_id]
    if isinstance(fact, Observation) and fact.observer_id not in (None, fact.person_id):
        return [fact.observer_id]
    return []


def of_performer(fact: Fact, person: UUID, codes: set[str]) -> set[str]:
    """What stands says most often that nothing changes; only then it is asked for limits, and at last for other work."""
    day = fact.happened_on
    stood: dict[str, list[Stood]] = {code: [] for code in codes}
    for code, first, state, cause in STOOD.rows(people=[person], codes=sorted(codes), day=[day]):
        stood[code].append(Stood(first, State(state), cause))
    left = {code for code in codes if may_change(day, stood[code], has_limit=True, done_already=False)}
    whole = gather.programme(fact.site.organisation) if left else {}
    limited = {code for code in left if has_idle_limit(whole[code])}
    left = {code for code in left if may_change(day, stood[code], has_limit=code in limited, done_already=False)}
    done = done_already(fact, left) if left and isinstance(fact, Work) else set()
    return {code for code in left if may_change(day, stood[code], has_limit=code in limited, done_already=code in done)}


def done_already(fact: Work, codes: set[str]) -> set[str]:
    """In which of these other work of the same kind counts that the person did on that day."""
    if isinstance(fact, UpkeepEntry):
        rows = ENTRIES.rows(person=[fact.done_by_id], day=[fact.happened_on])
        tasks = {task for key, task in rows if key != fact.pk}
        return codes & covering_codes(tasks, fact.site.organisation) if tasks else set()
    rows = OTHERS[type(fact)].rows(person=[fact.done_by_id], day=[fact.happened_on])
    return codes if any(key != fact.pk for key, *_ in rows) else set()


def of_that_day(model: Any, *columns: str) -> Prepared:
    return Prepared(
        lambda person, day: (
            model.objects.live().filter(done_by__in=person, happened_on__in=day).values_list("pk", *columns)
        )
    )


ENTRIES = of_that_day(UpkeepEntry, "task__code")
OTHERS = {model: of_that_day(model) for model in (ToolMounted, JobStarted)}
STOOD = PreparedSpans(
    lambda people, codes, day: (
        StandingSpan.objects.filter(Q(after__isnull=True) | Q(after__gt=day[0]))
        .filter(person__in=people, procedure__code__in=codes)
        .order_by("first")
        .values_list("procedure__code", "first", "state", "cause")
    )
)
