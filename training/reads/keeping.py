"""What is kept, how long, and by which rule: the retention table with the days that it comes to here."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Max

from clinic.models import ChemicalGone, EntryPhoto, Fact, Incident, LegalHold, Person, Site, UpkeepEntry
from clinic.reads import purging
from clinic.rules.purging import CHEMICALS, COMPETENCY, INJURIES, PHOTOS, SESSIONS, UPKEEP, RetentionLine
from clinic.rules.retention import competency_keep_through, medical_keep_through
from clinic.rules.words import begun, counted, day_words
from training.models import TaughtSession
from training.reads.kept import KeptPaper, papers_kept

HEALTH = (
    "Health records of staff, where the practice keeps any: employment and thirty years (29 CFR 1910.1020(d)(1)(i)). "
    "This register holds none."
)


@dataclass(frozen=True, slots=True)
class LeftPerson:
    """Somebody who left: through which day their record here is kept, and a health record, which is kept elsewhere."""

    person: Person
    last_day: date

    @property
    def here(self) -> date:
        return competency_keep_through(self.last_day)

    @property
    def elsewhere(self) -> date:
        return medical_keep_through(self.last_day)


@dataclass(frozen=True, slots=True)
class KeptKind:
    """A kind of record in words: the period with its source, what it comes to for the newest, and what is so afterwards."""

    what: str
    period: str
    newest: str
    after: str


@dataclass(frozen=True, slots=True)
class Keeping:
    kinds: Sequence[KeptKind]
    left: Sequence[LeftPerson]
    papers: Sequence[KeptPaper]
    holds: Sequence[LegalHold]
    health: str = HEALTH


def keeping(site: Site, today: date) -> Keeping:
    """A fixed number of queries."""
    gone = Person.objects.ever_at_site(site).filter(last_day__lt=today).order_by("-last_day", "family_name", "pk")
    left = [LeftPerson(person, person.last_day) for person in gone if person.last_day]
    newest = newest_of(site, [one.last_day for one in left])
    kinds = [kind(each, newest) for each in purging.offered(site, today)]
    return Keeping(kinds, left, papers_kept(site, today), purging.holds(site))


def kind(each: purging.PurgeLine, newest: Mapping[str, date | None]) -> KeptKind:
    line = each.line
    after = line.why_not or may_go(len(each.over))
    return KeptKind(begun(line.says), begun(line.rule), through_words(line, newest.get(line.what)), after)


def may_go(over: int) -> str:
    if not over:
        return "The period of none of them is over."
    return f"The period of {counted(over, 'record')} is over: the command purge takes them away, where somebody asks for it."


def through_words(line: RetentionLine, day: date | None) -> str:
    """The newest record's day, and through which day it is kept."""
    if line.through is None:
        return "Kept as long as the register is."
    if day is None:
        return "None here yet."
    return f"The newest, {line.counted_from} {day_words(day)}, is kept through {day_words(line.through(day))}."


def newest_of(site: Site, last_days: Sequence[date]) -> dict[str, date | None]:
    """The newest day of each kind, as its period is counted from it."""
    hurt = Incident.Kind.SHARPS, Incident.Kind.OTHER
    gone = newest(ChemicalGone, site)
    return {
        INJURIES: newest(Incident, site, kind__in=hurt),
        PHOTOS: newest(EntryPhoto, site),
        SESSIONS: newest(TaughtSession, site),
        UPKEEP: newest(UpkeepEntry, site),
        CHEMICALS: gone - timedelta(days=1) if gone else None,
        COMPETENCY: max(last_days, default=None),
    }


def newest(model: type[Fact], site: Site, **which: object) -> date | None:
    live: Callable[[], object] = model._default_manager.live  # type: ignore[attr-defined]
    return live().filter(site=site, **which).aggregate(day=Max("happened_on"))["day"]  # type: ignore[attr-defined]
