"""What to watch this week at a site, as plain data. A fixed number of queries, whatever the number of people."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

from clinic.models import Person, Site
from clinic.rules.words import in_text
from training import gather
from training.models import Procedure, StandingSpan
from training.reads.coverage import away_stretches, closed, duties_of, signing_stretches
from training.reads.plan import step_words
from training.rules.coverage import Stretch, inside
from training.rules.evidence import Piece, PieceKind
from training.rules.facts import Ending, Observed
from training.rules.standing import Standing, evidence_on
from training.rules.week import Need, Unsaved, Watcher, WeekWatch, week_plan
from training.rules.week_wording import resting_sentence, unsaved_sentence, watches_sentence
from training.rules.wording import piece_missing
from training.spans import computed_near

WEEK = 7
AHEAD = timedelta(days=28)  # lapses this near are worth a place in the week
WATCHED = {
    PieceKind.ASSESSMENTS,
    PieceKind.BY_METHOD,
    PieceKind.DAYS,
    PieceKind.SUPERVISORS,
    PieceKind.STEPS,
}  # what watching supplies


@dataclass(frozen=True, slots=True)
class SignOffEnding:
    """A sign-off that ends soon, with what its plan line needs for the page."""

    span: StandingSpan
    need: Need | None  # None: all the evidence is there, only the signature is missing
    says: str
    blocks: tuple[Piece, ...] = ()  # what is missing that no watching of it supplies

    @property
    def id(self) -> str:
        return f"{self.span.person_id}:{self.span.procedure.code}"

    @property
    def last_good(self) -> date:
        return self.span.ends_on or date.max


@dataclass(frozen=True, slots=True)
class WatchLine:
    """One line of a supervisor's day."""

    day: date
    watcher: Person
    ends: SignOffEnding
    times: int


@dataclass(frozen=True, slots=True)
class SignOffLeft:
    """A sign-off that the week could not save, and why."""

    ends: SignOffEnding
    why: str


@dataclass(frozen=True, slots=True)
class Week:
    """The whole page: mine, everybody else's, what only waits for a signature, and what could not be saved."""

    first: date
    last: date
    lines: tuple[WatchLine, ...]
    to_sign: tuple[SignOffEnding, ...]
    left: tuple[SignOffLeft, ...]

    def of(self, person: Person) -> list[WatchLine]:
        return [line for line in self.lines if line.watcher.pk == person.pk]

    def of_others(self, person: Person) -> list[WatchLine]:
        return [line for line in self.lines if line.watcher.pk != person.pk]

    @property
    def after(self) -> date:
        """Where the rule of days ends: all that is looked at."""
        return self.first + AHEAD + timedelta(days=1)

    @property
    def marks(self) -> list[tuple[date, str, str]]:
        ends = sorted({(left.ends.last_good, left.ends.span.procedure.code) for left in self.left})
        return [(day, "lapsed", code) for day, code in ends]


def week_of(site: Site, today: date) -> Week:
    """The coming seven days from today on."""
    duties = duties_of(site, today)
    people = {
        str(person.pk): person
        for person in Person.objects.at_site(site, today).select_related("organisation").by_name()
    }
    days = [today + timedelta(days=n) for n in range(WEEK)]
    at_work = days_at_work(site, list(people.values()), days)
    ending = list(ends_soon(site, people, duties, today, at_work))
    plan = week_plan([each.need for each in ending if each.need], watchers(site, people, duties, at_work), days)
    return Week(today, days[-1], *told(plan.watches, plan.unsaved, ending, people))


def told(
    watches: Iterable[WeekWatch],
    unsaved: Iterable[Unsaved],
    ending: Sequence[SignOffEnding],
    people: Mapping[str, Person],
) -> tuple[tuple[WatchLine, ...], tuple[SignOffEnding, ...], tuple[SignOffLeft, ...]]:
    by_id = {each.id: each for each in ending}
    lines = tuple(WatchLine(one.day, people[one.watcher], by_id[one.need], one.times) for one in watches)
    to_sign = tuple(each for each in ending if each.need is None)
    left = tuple(SignOffLeft(by_id[one.need], reason(one, by_id[one.need])) for one in unsaved)
    return lines, to_sign, left


def reason(one: Unsaved, ends: SignOffEnding) -> str:
    return unsaved_sentence(one.why, ends.need.blocked if ends.need else ())


def days_at_work(site: Site, people: Sequence[Person], days: Sequence[date]) -> dict[str, frozenset[date]]:
    """By person: which of the days they are at work, the site being open."""
    away = away_stretches(site, people, days[0], days[-1] + timedelta(days=1))
    shut = closed(site)
    return {
        str(person.pk): frozenset(day for day in days if works(site, person, day, [*away[person.pk], *shut]))
        for person in people
    }


def works(site: Site, person: Person, day: date, away: Iterable[Stretch]) -> bool:
    return (person.working_days or site.working_days)[day.weekday()] == "1" and not inside(away, day)


def watchers(
    site: Site, people: Mapping[str, Person], duties: Sequence[Procedure], at_work: Mapping[str, frozenset[date]]
) -> list[Watcher]:
    signing = signing_stretches(site, duties)
    return [
        Watcher(
            key,
            {
                code: frozenset(day for day in at_work[key] if inside(stretches, day))
                for code, stretches in signing[key].items()
            },
        )
        for key in sorted(signing)
        if key in people
    ]


def ends_soon(
    site: Site,
    people: Mapping[str, Person],
    duties: Sequence[Procedure],
    today: date,
    at_work: Mapping[str, frozenset[date]],
) -> Iterator[SignOffEnding]:
    """Who may work alone today and will not much longer, by the last good day, with what saves it. What ends because a
    prerequisite ends has no line: the prerequisite has a line of its own, and counts with all that rest on it."""
    spans = StandingSpan.objects.on(today).usable().filter(person__in=list(people.values()), procedure__in=duties)
    found = list(
        spans.filter(ends_on__lte=today + AHEAD).select_related("person", "procedure").order_by("ends_on", "pk")
    )
    rows = [row for row in found if row.ends_because != Ending.PREREQUISITE]
    resting = Counter((row.person_id, row.ends_by) for row in found if row.ends_because == Ending.PREREQUISITE)
    touched = [people[key] for key in sorted({str(row.person_id) for row in rows})]
    programme = gather.programme(site.organisation)
    codes = {row.procedure.code for row in rows}
    standings = computed_near(programme, site.organisation, touched, codes) if touched else {}
    words = step_words(touched[0], today) if touched else {}
    titles = {duty.code: in_text(duty.title) for duty in duties}
    for row in rows:
        key, code = str(row.person_id), row.procedure.code
        ends = ends_of(row, standings[key][code], today, at_work[key], {**titles, **words.get(code, {})})
        yield with_resting(ends, resting[row.person_id, code])


def with_resting(ends: SignOffEnding, resting: int) -> SignOffEnding:
    """Those that end because this one ends are saved with it."""
    need = replace(ends.need, lapses=1 + resting) if ends.need else None
    return replace(ends, need=need, says=f"{ends.says}{resting_sentence(resting)}")


def ends_of(
    row: StandingSpan, standing: Standing, today: date, days: frozenset[date], names: Mapping[str, str]
) -> SignOffEnding:
    """What saves one of them: a performance where idle days end it, else the missing evidence of a renewal."""
    if row.ends_because == Ending.IDLE:
        return SignOffEnding(row, need_of(row, days, 1), "one met assessment keeps it alive")
    detail = evidence_on(standing, today)
    missing = {piece.kind: piece.needed - piece.have for piece in detail.missing}
    quotas = sum(piece.needed - piece.have for piece in detail.missing if piece.kind is PieceKind.BY_METHOD)
    watches = max(
        [0, quotas, *(1 if kind is PieceKind.STEPS else more for kind, more in missing.items() if kind in WATCHED)]
    )
    blocks = tuple(piece for piece in detail.missing if piece.kind not in WATCHED)
    blocked = tuple(piece_missing(piece, names)[0] for piece in blocks)
    if not watches and not blocked:
        return SignOffEnding(row, None, "all the evidence is there: it can be signed")
    more = {"apart": missing.get(PieceKind.DAYS, 1), "others": missing.get(PieceKind.SUPERVISORS, 0)}
    counted = {f.observer for f in standing.course.facts if isinstance(f, Observed) and f.id in detail.rests_on}
    need = need_of(row, days, max(1, watches), **more, counted=frozenset(counted), blocked=blocked)
    return SignOffEnding(row, need, watches_sentence(watches, more["apart"], more["others"]), blocks)


def need_of(row: StandingSpan, days: frozenset[date], watches: int, **more: Any) -> Need:
    key = f"{row.person_id}:{row.procedure.code}"
    return Need(key, str(row.person_id), row.procedure.code, row.ends_on or date.max, watches, days, **more)
