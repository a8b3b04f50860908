"""Teaching one person, day by day: show, say why, let try, watch, sign off, on days on which somebody who may is there.

Readings of the text:

1. Nothing is shown before what it rests on is signed; the same day is soon enough.
2. What was done falls out: the first performance, whether practice or evidence, was shown and tried before; a passed check
   leaves nothing to say why; a sign-off that ended asks no showing again, a withdrawal does.
3. Spacing is the policy’s own: distinct days and distinct supervisors, as evidence counts them. A day that counts already
   serves no second time.
4. At most so many turns at the unit a day (trying and being watched; own choice, the same as in the week plan). What the
   supervisors do besides is not known here.
5. Whoever will be there next the latest is asked first. It is a proposal that keeps every rule, and seldom a day later than
   the best one.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from enum import StrEnum

from training.rules.evidence import EvidenceDetail, PieceKind
from training.rules.facts import Observed, Policy, State
from training.rules.order import days_after
from training.rules.standing import Standing
from training.rules.week import A_DAY

DAY = timedelta(days=1)


class LessonPart(StrEnum):
    """What happens, in the order in which somebody learns."""

    TEACH = "teach"  # a topic, in a session
    SHOW = "show"
    WHY = "say why"
    TRY = "let try"
    WATCH = "watch"
    SIGN = "sign off"


TURNS = frozenset({LessonPart.TRY, LessonPart.WATCH})  # what takes a turn at the unit


@dataclass(frozen=True, slots=True)
class Lesson:
    """One part of one procedure on a day, by somebody who may (their id)."""

    day: date
    procedure: str
    part: LessonPart
    who: str


ByDay = Mapping[date, tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class Crew:
    """Who is there for one learner. By procedure and day on which both are at work: who may teach or watch it so that it
    counts, and who may sign it. `until`: the last day that was looked at; `at_work`: the learner's own days until then."""

    until: date
    watch: Mapping[str, ByDay]
    sign: Mapping[str, ByDay]
    at_work: frozenset[date] = frozenset()

    def watch_days(self, code: str, start: date) -> list[date]:
        return sorted(day for day, who in self.watch.get(code, {}).items() if who and day >= start)

    def sign_days(self, code: str, start: date) -> list[date]:
        return sorted(day for day, who in self.sign.get(code, {}).items() if who and day >= start)


@dataclass(frozen=True, slots=True)
class TeachingWanted:
    """What one procedure still asks of one person. `watches` met assessments, on at least `apart` days that do not count
    yet, by at least `others` people who do not count yet."""

    procedure: str
    is_topic: bool = False
    shows: bool = True
    asks_why: bool = True
    watches: int = 1
    apart: int = 1
    others: int = 0
    counted_days: frozenset[date] = frozenset()
    counted_people: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Placed:
    """The lessons in order. `finish` is None where the days that were looked at do not reach; `left` days are missing then."""

    lessons: tuple[Lesson, ...]
    finish: date | None
    left: int = 0


@dataclass
class Turns:
    """How many turns at the unit each day has had."""

    taken: Counter[date] = field(default_factory=Counter)

    def free(self, day: date) -> int:
        return A_DAY - self.taken[day]

    def take(self, lessons: Iterable[Lesson]) -> None:
        self.taken.update(lesson.day for lesson in lessons if lesson.part in TURNS)


def wanted(code: str, standing: Standing, detail: EvidenceDetail, policy: Policy, is_topic: bool) -> TeachingWanted:
    """What is missing of somebody who may not work alone in it. `policy`: of the version in force, else of the first one."""
    if is_topic:
        return TeachingWanted(code, is_topic=True)
    shows = never_tried(standing)
    if detail.version is None:  # the first version is approved and not in force yet
        apart = min(policy.distinct_days, policy.needed)
        others = min(policy.distinct_supervisors, policy.needed)
        return TeachingWanted(code, False, shows, policy.check_asked or shows, policy.needed, apart, others)
    lacks = {piece.kind: piece.needed - piece.have for piece in detail.missing}
    quotas = sum(piece.needed - piece.have for piece in detail.missing if piece.kind is PieceKind.BY_METHOD)
    steps = 1 if PieceKind.STEPS in lacks else 0
    apart, others = lacks.get(PieceKind.DAYS, 0), lacks.get(PieceKind.SUPERVISORS, 0)
    watches = max(quotas, steps, apart, others, lacks.get(PieceKind.ASSESSMENTS, 0))
    rests = [f for f in standing.course.facts if isinstance(f, Observed) and f.id in detail.rests_on]
    days, people = frozenset(f.day for f in rests), frozenset(f.observer for f in rests)
    return TeachingWanted(code, False, shows, PieceKind.CHECK in lacks or shows, watches, apart, others, days, people)


def never_tried(standing: Standing) -> bool:
    """Neither performed nor signed since the last withdrawal, if any."""
    course = standing.course
    since = course.withdrawals[-1] if course.withdrawals else -1
    performed = any(isinstance(fact, Observed) for fact in course.facts[since + 1 :])
    return not performed and not any(life.position > since for life in course.signed)


def place(want: TeachingWanted, crew: Crew, turns: Turns, start: date) -> Placed:
    """The lessons from `start` on; takes their turns."""
    placed = topic(want, crew, start) if want.is_topic else practice(want, crew, turns, start)
    turns.take(placed.lessons)
    return placed


def topic(want: TeachingWanted, crew: Crew, start: date) -> Placed:
    days = crew.watch_days(want.procedure, start)
    if not days:
        return Placed((), None, 1)
    taught = Lesson(days[0], want.procedure, LessonPart.TEACH, crew.watch[want.procedure][days[0]][0])
    return Placed((taught,), days[0])


def practice(want: TeachingWanted, crew: Crew, turns: Turns, start: date) -> Placed:
    code, lessons = want.procedure, [*opening(want, crew, turns, start)]
    if (want.shows or want.asks_why) and not lessons:
        return Placed((), None, max(want.apart, 1))
    begin = lessons[0].day if lessons else start
    used = Counter(lesson.day for lesson in lessons if lesson.part in TURNS)
    seen, left = watching(want, crew, turns, begin, used)
    lessons += seen
    if left:
        return Placed(tuple(lessons), None, left)
    for day in crew.sign_days(code, lessons[-1].day if lessons else start)[:1]:
        lessons.append(Lesson(day, code, LessonPart.SIGN, crew.sign[code][day][0]))
        return Placed(tuple(lessons), day)
    return Placed(tuple(lessons), None, 1)


def opening(want: TeachingWanted, crew: Crew, turns: Turns, start: date) -> Sequence[Lesson]:
    """Show, say why, let try: together on the first day with a turn free, by one person."""
    parts = [
        part
        for part, asked in (
            (LessonPart.SHOW, want.shows),
            (LessonPart.WHY, want.asks_why),
            (LessonPart.TRY, want.shows),
        )
        if asked
    ]
    for day in crew.watch_days(want.procedure, start) if parts else ():
        if not want.shows or turns.free(day):
            who = latest_next(crew, want.procedure, day, crew.watch[want.procedure][day])
            return [Lesson(day, want.procedure, part, who) for part in parts]
    return ()


def watching(
    want: TeachingWanted, crew: Crew, turns: Turns, start: date, used: Counter[date]
) -> tuple[list[Lesson], int]:
    """The watchings that are missing, as early as they fit, and how many more days are needed than were looked at."""
    lessons: list[Lesson] = []
    left, apart, others, counted = want.watches, want.apart, want.others, set(want.counted_people)
    for day in crew.watch_days(want.procedure, start):
        fresh = day not in want.counted_days
        room = min(turns.free(day) - used[day], left - max(apart - fresh, 0))
        for _ in range(room):
            here = crew.watch[want.procedure][day]
            new = [who for who in here if who not in counted]
            if left == others and not new:
                break
            who = latest_next(crew, want.procedure, day, (others and new) or here)
            lessons.append(Lesson(day, want.procedure, LessonPart.WATCH, who))
            left, others = left - 1, others - (others > 0 and who not in counted)
            counted.add(who)
        apart -= fresh and bool(lessons) and lessons[-1].day == day
        if not left:
            return lessons, 0
    return lessons, max(apart, 1) if left else 0


def latest_next(crew: Crew, code: str, day: date, among: Sequence[str]) -> str:
    """Whoever of them will be there again the latest, or never: the others can be asked later."""
    after = crew.watch_days(code, day + DAY)

    def again(who: str) -> date:
        return next((each for each in after if who in crew.watch[code][each]), date.max)

    return max(among, key=again)


def beyond(placed: Placed, crew: Crew, start: date) -> date:
    """The earliest day where the days looked at do not reach: never said too late."""
    return days_after(max(start, crew.until + DAY), max(placed.left, 1) - 1)


@dataclass(frozen=True, slots=True)
class TaughtDay:
    """One working day of the site. `is_away`: the learner is not at work."""

    day: date
    is_away: bool
    lessons: tuple[Lesson, ...]


def taught_days(lessons: Iterable[Lesson], open_days: Sequence[date], at_work: Iterable[date]) -> tuple[TaughtDay, ...]:
    """What happens on each of the site's working days; in the order in which it was planned."""
    here, found = set(at_work), list(lessons)
    return tuple(
        TaughtDay(day, day not in here, tuple(lesson for lesson in found if lesson.day == day)) for day in open_days
    )


def asks_teaching(state: State) -> bool:
    """Whether there is anything to teach: not of what may be done alone, nor of what is only on hold."""
    return not state.is_usable and state is not State.ON_HOLD
