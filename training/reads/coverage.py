"""Who can cover what at a site in the coming days, as plain data. A fixed number of queries, whatever the number of people."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from typing import Any

from clinic.models import Absence, Closure, Person, RoleHeld, Site, SiteSetting
from training import gather
from training.models import Procedure, Requirement, Retirement, StandingSpan
from training.reads.plan import held_on, required_of
from training.reads.standing import standings_on
from training.rules import cover_wording as wording
from training.rules.coverage import DutyCoverage, Staff, Stretch, coverage
from training.rules.drawing import CoverPicture, cover_picture
from training.rules.facts import Ending, ProcedureFacts
from training.rules.plan import closure, earliest_due, plan
from training.rules.stretches import both, outside

DAYS = 90
LEAST = 2  # people at work for each duty, where the site has not set another number


@dataclass(frozen=True)
class DutyCovered:
    """One duty over the coming days with what the page says of it."""

    procedure: Procedure
    cover: DutyCoverage
    names: Mapping[str, str]
    picture: CoverPicture
    ended_by: Mapping[str, str]  # person → the prerequisite whose end ends it

    @property
    def is_short(self) -> bool:
        return bool(self.cover.short_days)

    @property
    def is_unsigned(self) -> bool:
        return bool(self.cover.unsigned_days)

    @cached_property
    def first_gap(self) -> date | None:
        days = [each.day for each in self.cover.short_days[:1]] + list(self.cover.unsigned_days[:1])
        return min(days, default=None)

    @cached_property
    def short_says(self) -> str:
        return wording.short_sentence(self.cover)

    @cached_property
    def unsigned_says(self) -> list[str]:
        return wording.unsigned_sentences(self.cover)

    @cached_property
    def lapse_says(self) -> str:
        return wording.lapse_sentence(self.cover, self.names)

    @cached_property
    def repair_says(self) -> str:
        return wording.repair_sentence(self.cover, self.names, self.ended_by)


@dataclass(frozen=True)
class SiteCoverage:
    """Every duty of a site from today on, those with gaps first, the nearest gap before the others."""

    first: date
    after: date
    duties: tuple[DutyCovered, ...]
    people: tuple[Person, ...]

    @cached_property
    def short(self) -> list[DutyCovered]:
        return [duty for duty in self.duties if duty.is_short]

    @cached_property
    def unsigned(self) -> list[DutyCovered]:
        return [duty for duty in self.duties if duty.is_unsigned]

    @cached_property
    def gaps(self) -> list[DutyCovered]:
        return [duty for duty in self.duties if duty.first_gap]

    @cached_property
    def sound(self) -> list[DutyCovered]:
        return [duty for duty in self.duties if not duty.first_gap]

    @property
    def marks(self) -> list[tuple[date, str, str]]:
        """For the rule of days: the first day of each gap, gaps of one day together."""
        by_day: dict[date, list[str]] = defaultdict(list)
        for duty in self.gaps:
            if duty.first_gap:
                by_day[duty.first_gap].append(duty.procedure.code)
        return [(day, "lapsed", few(codes)) for day, codes in by_day.items()]


def few(codes: Sequence[str]) -> str:
    return ", ".join(codes) if len(codes) < 4 else f"{len(codes)} duties"


def site_coverage(site: Site, today: date, days: int = DAYS) -> SiteCoverage:
    """Everything the coverage page shows. A duty is a procedure that a job role of today needs here."""
    after = today + timedelta(days=days)
    duties = duties_of(site, today)
    held = RoleHeld.objects.held_in(today, after).filter(site=site)
    people = list(Person.objects.filter(pk__in=held.values("person")).select_related("organisation").by_name())
    staff = staff_of(site, people, duties, today, after)
    minimums = least_cover(site, [duty.code for duty in duties], today)
    names = {str(person.pk): person.printed_name for person in people}
    found = coverage(staff, minimums, today, days=days, closed=closed(site))
    below = prerequisites_that_end(people, duties, today)
    shown = [
        DutyCovered(duty, cover, names, cover_picture(cover, today, after), below[duty.code])
        for duty, cover in zip(duties, found, strict=True)
    ]
    shown.sort(key=lambda duty: (duty.first_gap or date.max, not duty.is_short, duty.procedure.code))
    return SiteCoverage(today, after, tuple(shown), tuple(people))


def duties_of(site: Site, today: date) -> list[Procedure]:
    """Practices that a job role needs here today, retired ones left out; topics are nobody's duty."""
    needed = Requirement.objects.in_force(today).at(site).values("procedure")
    retired = Retirement.objects.live().filter(happened_on__lte=today).values("procedure")
    rows = Procedure.objects.of(site.organisation).filter(pk__in=needed, kind=Procedure.Kind.PRACTICE)
    return list(rows.exclude(pk__in=retired).order_by("code"))


def least_cover(site: Site, codes: Iterable[str], today: date) -> dict[str, int]:
    """The site's least number of people at work: for a duty, else for all, else two."""
    rows = SiteSetting.objects.live().filter(
        site=site, name=SiteSetting.Name.LEAST_COVER, happened_on__lte=today
    ).in_order()  # fmt: skip
    said = {row.about: row.value for row in rows}
    return {code: said.get(code, said.get("", LEAST)) for code in codes}


def closed(site: Site) -> list[Stretch]:
    return list(Closure.objects.live().filter(site=site).values_list("first", "after"))


def staff_of(
    site: Site, people: Sequence[Person], duties: Sequence[Procedure], today: date, after: date
) -> list[Staff]:
    """Everybody who holds a job role here in these days, with when they are at work and what they may do then."""
    usable = usable_stretches(people, duties)
    signing = signing_stretches(site, duties)
    away = away_stretches(site, people, today, after)
    ready = ready_days(people, duties, today)
    return [
        one_of_staff(site, person, away[person.pk], usable[person.pk], signing[str(person.pk)], ready[person.pk])
        for person in people
    ]


def one_of_staff(
    site: Site, person: Person, away: list[Stretch], usable: Any, signing: Any, ready: Mapping[str, date]
) -> Staff:
    weekdays = frozenset(number for number, one in enumerate(person.working_days or site.working_days) if one == "1")
    may_sign = {code: tuple(both(stretches, signing.get(code, ()))) for code, stretches in usable.items()}
    able = {code: tuple(stretches) for code, stretches in usable.items()}
    plain = Staff(str(person.pk), weekdays, tuple(away), able, may_sign)
    at_work = {code: day for code, first in ready.items() if (day := next_day_at_work(plain, first))}
    return Staff(plain.name, weekdays, plain.absences, able, may_sign, at_work)


def next_day_at_work(person: Staff, first: date, reach: int = 2 * DAYS) -> date | None:
    return next((day for n in range(reach) if person.at_work(day := first + timedelta(days=n))), None)


def usable_stretches(people: Collection[Person], duties: Collection[Procedure]) -> dict[Any, dict[str, list[Stretch]]]:
    found: dict[Any, dict[str, list[Stretch]]] = defaultdict(lambda: defaultdict(list))
    rows = StandingSpan.objects.usable().filter(person__in=people, procedure__in=duties)
    for person, code, first, after in rows.values_list("person", "procedure__code", "first", "after"):
        found[person][code].append((first, after))
    return found


def prerequisites_that_end(
    people: Collection[Person], duties: Collection[Procedure], today: date
) -> dict[str, dict[str, str]]:
    """Per duty: whose standing of today ends because a prerequisite ends, and which."""
    found: dict[str, dict[str, str]] = defaultdict(dict)
    rows = StandingSpan.objects.on(today).filter(person__in=people, procedure__in=duties)
    rows = rows.filter(ends_because=Ending.PREREQUISITE)
    for person, code, below in rows.values_list("person", "procedure__code", "ends_by"):
        found[code][str(person)] = below
    return found


def signing_stretches(site: Site, duties: Collection[Procedure]) -> dict[str, dict[str, list[Stretch]]]:
    """Per person (by id as text) and duty: when authority for it holds at the site."""
    found: dict[str, dict[str, list[Stretch]]] = defaultdict(lambda: defaultdict(list))
    for grant in gather.grant_facts(site.organisation):
        if grant.site == site.pk:
            for duty in duties:
                if grant.covers(duty.code, duty.area):
                    after = grant.last + timedelta(days=1) if grant.last else None
                    found[grant.person][duty.code].append((grant.first, after))
    return found


def away_stretches(site: Site, people: Collection[Person], today: date, after: date) -> dict[Any, list[Stretch]]:
    """Planned absences, and the days on which no job role is held here or the last day is past."""
    held: dict[Any, list[Stretch]] = defaultdict(list)
    for role in RoleHeld.objects.held_in(today, after).filter(site=site, person__in=people):
        held[role.person_id].append((role.from_day, role.to_day + timedelta(days=1) if role.to_day else None))
    found = {person.pk: list(outside(held[person.pk], today, after)) for person in people}
    for absence in Absence.objects.filter(person__in=people, to_day__gte=today):
        found[absence.person_id].append((absence.from_day, absence.to_day + timedelta(days=1)))
    for person in people:
        if person.last_day:
            found[person.pk].append((person.last_day + timedelta(days=1), None))
    return found


def ready_days(people: Sequence[Person], duties: Collection[Procedure], today: date) -> dict[Any, dict[str, date]]:
    """For each person whose job needs a duty: the first day on which they could do it alone, prerequisites included."""
    codes = {duty.code for duty in duties}
    if not people:
        return {}
    programme = gather.programme(people[0].organisation)
    held, asked = held_on(people, today), required_of(people, today)
    missing = {key: [one for one in those if one.procedure not in held[key]] for key, those in asked.items()}
    learning = [person for person in people if missing.get(person.pk)]
    wanted = {person.pk: closure(earliest_due(missing[person.pk]), programme, today) for person in learning}
    standings = standings_on(programme, learning, today, wanted) if learning else {}
    ready = {
        person.pk: {one.procedure: today for one in asked[person.pk] if one.procedure in codes & held[person.pk]}
        for person in people
    }
    for person in learning:
        ready[person.pk] |= finishes(missing[person.pk], programme, standings[person.pk], codes, today)
    return ready


def finishes(
    asked: Any, programme: Mapping[str, ProcedureFacts], standings: Any, codes: set[str], today: date
) -> Iterator[tuple[str, date]]:
    for line in plan(asked, programme, standings, today):
        if line.is_required and line.procedure in codes and line.earliest_finish:
            yield line.procedure, line.earliest_finish
