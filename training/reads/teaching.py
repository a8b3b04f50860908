"""Who may teach, watch and sign one person, on which days: both at work at the site. And the ten days that follow from it."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import groupby, islice

from django.db.models import Min

from clinic.models import Person, RoleHeld, Site
from clinic.permissions import May, who_may
from training import gather
from training.models import Procedure
from training.reads.coverage import closed, usable_stretches
from training.reads.plan import PlanRow, Training, plan_rows, training_of
from training.reads.week import days_at_work
from training.rules.coverage import Stretch, inside
from training.rules.teaching import Crew, TaughtDay, taught_days
from training.rules.teaching_wording import lessons_sentence

LOOKS = 90  # days ahead, as the coverage does
TEN = 10  # working days of the site
Days = dict[str, dict[date, list[str]]]  # by procedure and day


def crew_of(person: Person, site: Site, day: date, codes: Collection[str]) -> Crew:
    """For these procedures. A fixed number of queries, whatever the number of people and procedures."""
    people = [each for each in Person.objects.at_site(site, day).by_name() if each.pk != person.pk]
    days = [day + timedelta(days=n) for n in range(LOOKS)]
    at_work = days_at_work(site, [*people, person], days)
    both = {str(each.pk): sorted(at_work[str(each.pk)] & at_work[str(person.pk)]) for each in people}
    procedures = list(Procedure.objects.of(site.organisation).filter(code__in=codes))
    usable = {str(who): by_code for who, by_code in usable_stretches(people, procedures).items()}
    watch: Days = {row.code: defaultdict(list) for row in procedures}
    sign: Days = {row.code: defaultdict(list) for row in procedures}
    for grant in gather.grant_facts(site.organisation):
        stretch: Stretch = (grant.first, grant.last + timedelta(days=1) if grant.last else None)
        granted = [each for each in both.get(grant.person, ()) if grant.site == site.pk and inside([stretch], each)]
        for row in (row for row in procedures if granted and grant.covers(row.code, row.area)):
            alone = [each for each in granted if inside(usable.get(grant.person, {}).get(row.code, ()), each)]
            counts = bool(grant.counts_because) or grant.founding or is_topic(row)
            add(watch[row.code], grant.person, granted if counts else alone)
            add(sign[row.code], grant.person, alone)
    for who in (str(each.pk) for each in who_may(May.ROSTER, site, day)):
        for row in filter(is_topic, procedures):
            add(watch[row.code], who, both.get(who, ()))
    order = list(both)
    return Crew(days[-1], in_order(watch, order), in_order(sign, order), at_work[str(person.pk)])


def is_topic(procedure: Procedure) -> bool:
    return procedure.kind == Procedure.Kind.TOPIC


def add(found: dict[date, list[str]], who: str, days: Iterable[date]) -> None:
    for day in days:
        found[day].append(who)


def in_order(found: Days, order: Sequence[str]) -> dict[str, dict[date, tuple[str, ...]]]:
    """Each person once, by name."""
    return {
        code: {day: tuple(sorted(set(who), key=order.index)) for day, who in by_day.items()}
        for code, by_day in found.items()
    }


def possible(training: Training, site: Site) -> Training:
    """The same, taught on days on which somebody is there who may. Where all is done, nobody is asked for."""
    codes = {line.procedure for line in training.lines if not line.is_done}
    return replace(training, crew=crew_of(training.person, site, training.day, codes)) if codes else training


@dataclass(frozen=True, slots=True)
class Taught:
    """One procedure on one day, in words."""

    code: str
    title: str
    says: str


@dataclass(frozen=True, slots=True)
class DayShown:
    """One working day of the site with what is taught on it."""

    day: date
    is_away: bool
    taught: tuple[Taught, ...]


@dataclass(frozen=True, slots=True)
class TenDays:
    """The coming ten working days of one learner. `later`: what they do not finish. `held`: how
    many already may be done alone."""

    person: Person
    site: Site
    day: date
    days: tuple[DayShown, ...]
    finished: tuple[PlanRow, ...]
    later: tuple[PlanRow, ...]
    held: int

    @property
    def to_do(self) -> int:
        return len(self.finished) + len(self.later)

    @property
    def taught(self) -> list[DayShown]:
        return [each for each in self.days if each.taught]

    @property
    def next(self) -> DayShown | None:
        return next(iter(self.taught), None)


def ten_days(person: Person, site: Site, day: date) -> TenDays:
    """From the day on, or from the learner’s first day in a job role here where that comes later."""
    start = max(day, first_day_here(person, site) or day)
    training = possible(training_of(person, start), site)
    rows = plan_rows(training)
    open_rows = [row for row in rows if not row.line.is_done]
    here = training.crew.at_work if training.crew else frozenset()
    days = open_days(site, start)
    lessons = [lesson for row in open_rows for lesson in row.line.lessons]
    names = {str(each.pk): each.printed_name for each in Person.objects.filter(pk__in={one.who for one in lessons})}
    last = days[-1] if days else day
    in_time = [row for row in open_rows if is_by(row, last)]
    return TenDays(
        person=person, site=site, day=day,
        days=tuple(day_shown(each, training, names) for each in taught_days(lessons, days, here)),
        finished=tuple(in_time),
        later=tuple(row for row in open_rows if row not in in_time),
        held=len(rows) - len(open_rows),
    )  # fmt: skip


def first_day_here(person: Person, site: Site) -> date | None:
    found: date | None = RoleHeld.objects.filter(person=person, site=site).aggregate(first=Min("from_day"))["first"]
    return found


def is_by(row: PlanRow, last: date) -> bool:
    finish = row.line.earliest_finish
    return finish is not None and not row.line.is_beyond and finish <= last


def open_days(site: Site, start: date) -> list[date]:
    """The site's next ten working days from `start` on, within a year."""
    shut = closed(site)
    days = (start + timedelta(days=n) for n in range(366))
    return list(islice((d for d in days if site.working_days[d.weekday()] == "1" and not inside(shut, d)), TEN))


def day_shown(one: TaughtDay, training: Training, names: Mapping[str, str]) -> DayShown:
    by_code = groupby(one.lessons, key=lambda lesson: lesson.procedure)
    taught = (
        Taught(code, training.procedures[code].title, lessons_sentence(list(mine), names)) for code, mine in by_code
    )
    return DayShown(one.day, one.is_away, tuple(taught))
