"""Who is still to be taught about a hazard class that came new to the site (29 CFR 1910.1200(h)(1))."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from datetime import date, datetime
from typing import Any, NamedTuple

from django.db.models import F

from clinic.models import Person, RoleHeld, Site
from clinic.port import ToTeach
from clinic.prepared import Instances, Prepared
from clinic.reads.chemicals import new_hazards_of
from clinic.reads.findings import Keys, Told
from clinic.rules.chemicals import NewHazard
from clinic.rules.findings import Days
from training.models import Attendance, Procedure, SessionTopic, TaughtSession, Version
from training.reads.findings.people import asks_of
from training.reads.plan import required_of
from training.reads.teach import with_parts
from training.reads.who_may import PEOPLE_HERE
from training.rules.findings import Ask
from training.rules.findings_hazards import Untaught, new_hazards_untaught
from training.rules.plan import Required
from training.rules.stretches import both

SOURCE = "O-24"  # the source by which a topic says that it is for new hazards


def to_teach(site: Site, on: date) -> list[ToTeach]:
    """Hazards that came new, each with everybody of today whom their job role asked for the topic when it came, and who
    attended no countable session of it since. Whoever came later learns it with the first teaching."""
    hazards = new_hazards_of(site, on)
    topics = topics_for_hazards(site, on) if hazards else []
    if not topics:
        return []
    people = [*PEOPLE_HERE.rows(site=[site.pk], day=[on])]
    asks, taught = required_of(people, on), days_taught(site, topics, min(one.since for one in hazards), on)
    found = [for_hazard(hazard, topic, people, asks, taught) for hazard in hazards for topic in topics]
    return [one for one in found if one.people]


class Topic(NamedTuple):
    pk: int
    code: str
    title: str


def topics_for_hazards(site: Site, on: date) -> list[Topic]:
    """Topics in force that rest on the rule about new hazards."""
    rows = TOPICS.rows(organisation=[site.organisation_id], day=[on])
    return [Topic(*topic) for *topic, sources in rows if SOURCE in {source["row"] for source in sources}]


def days_taught(site: Site, topics: Collection[Topic], since: date, on: date) -> dict[tuple[Any, str], date]:
    """The newest of these days on which somebody was taught a topic in a session whose record is whole, at any site."""
    sessions = SESSIONS.all(
        organisation=[site.organisation_id], topics=[topic.pk for topic in topics], first=[since], last=[on]
    )
    keys = [row.pk for row in sessions]
    attended: dict[Any, list[tuple[str, Any]]] = defaultdict(list)
    for session, title, person in ATTENDED.rows(sessions=keys):
        attended[session].append((title, person))
    codes: dict[Any, set[str]] = defaultdict(set)
    rests_on: dict[Any, list[Mapping[str, Any]]] = defaultdict(list)
    for session, code, sources in COVERED.rows(sessions=keys):
        codes[session].add(code)
        rests_on[session] += sources
    found: dict[tuple[Any, str], date] = defaultdict(lambda: date.min)
    for row in sessions:
        if row.lacks(attended[row.pk], rests_on[row.pk]):
            continue
        for key in ((person, code) for _, person in attended[row.pk] for code in codes[row.pk]):
            found[key] = max(found[key], row.happened_on)
    return found


def topics_on(organisation: Any, day: Any) -> Any:
    rows = Version.objects.live().in_force(day[0]).filter(procedure__organisation__in=organisation)
    rows = rows.filter(procedure__kind=Procedure.Kind.TOPIC).order_by("procedure__code")
    return rows.values_list("procedure", "procedure__code", "procedure__title", F("content__sources"))


def sessions_in(organisation: Any, topics: Any, first: Any, last: Any) -> Any:
    about = SessionTopic.objects.filter(version__procedure__in=topics).values("session")
    return TaughtSession.objects.live().filter(
        pk__in=about, site__organisation__in=organisation, happened_on__gte=first[0], happened_on__lte=last[0]
    )


TOPICS, SESSIONS = Prepared(topics_on), Instances(TaughtSession, sessions_in)
ATTENDED = Prepared(
    lambda sessions: Attendance.objects.filter(session__in=sessions).values_list("session", "job_title", "person")
)
COVERED = Prepared(
    lambda sessions: SessionTopic.objects.filter(session__in=sessions).values_list(
        "session", "version__procedure__code", F("version__content__sources")
    )
)


def for_hazard(
    hazard: NewHazard,
    topic: Topic,
    people: Collection[Person],
    asks: dict[Any, list[Required]],
    taught: dict[tuple[Any, str], date],
) -> ToTeach:
    waiting = [
        (person.pk, str(person))
        for person in people
        if asked_when(asks.get(person.pk, ()), topic.code, hazard.since)
        and taught.get((person.pk, topic.code), date.min) < hazard.since
    ]
    return ToTeach(hazard, f"{topic.title}, {topic.code}", tuple(waiting))


def asked_when(asks: Collection[Required], code: str, day: date) -> bool:
    """Whether the topic was asked of the person on the day already."""
    return any(one.procedure == code and max(one.role_start, one.requirement_start) <= day for one in asks)


def of_hazards(site: Site, keys: Keys = None, known_by: datetime | None = None) -> list[Told]:
    """Hazards that came new and were not taught in time. A fixed number of queries."""
    hazards = new_hazards_of(site, known_by=known_by)
    topics = days_of_topics(site, known_by) if hazards else {}
    if not topics:
        return []
    held = RoleHeld.objects.filter(site=site).select_related("person").order_by("person__family_name", "person", "pk")
    asks, taught = asks_of(site, held), sessions_of(site, topics, known_by)
    found = [untaught(hazard, topic, days, asks, taught) for hazard in hazards for topic, days in topics.items()]
    return [("", one) for one in new_hazards_untaught(found)]


def days_of_topics(site: Site, known_by: datetime | None) -> dict[Procedure, list[Days]]:
    """Topics that rest on the rule about new hazards, with the days on which such a version is in force."""
    rows = Version.objects.live(known_by).filter(procedure__organisation=site.organisation_id)
    versions: dict[Procedure, list[Version]] = defaultdict(list)
    for row in rows.filter(procedure__kind=Procedure.Kind.TOPIC).select_related("procedure").order_by("number"):
        versions[row.procedure].append(row)
    found: dict[Procedure, list[Days]] = {}
    for topic, mine in versions.items():
        ends = [*(row.in_force_from for row in mine[1:]), None]
        days = [(row.in_force_from, end) for row, end in zip(mine, ends, strict=True) if is_for_hazards(row)]
        found |= {topic: days} if days else {}
    return found


def is_for_hazards(row: Version) -> bool:
    return SOURCE in {source["row"] for source in row.content["sources"]}


def sessions_of(
    site: Site, topics: Collection[Procedure], known_by: datetime | None
) -> dict[tuple[Any, str], list[date]]:
    """The days on which somebody was taught a topic in a session whose record is whole, at any site."""
    rows: Any = TaughtSession.objects.live(known_by).filter(
        site__organisation=site.organisation_id, topics__version__procedure__in=topics
    )
    found: dict[tuple[Any, str], list[date]] = defaultdict(list)
    for row in with_parts(rows.distinct()):
        for one in row.attendances.all() if not row.missing_fields else ():
            for topic in row.topics.all():
                found[one.person_id, topic.version.procedure.code].append(row.happened_on)
    return found


def untaught(
    hazard: NewHazard,
    topic: Procedure,
    in_force: Iterable[Days],
    asks: dict[tuple[Person, Procedure], list[Ask]],
    taught: dict[tuple[Any, str], list[date]],
) -> Untaught:
    """Whoever was asked the topic when the hazard came, and still is, until a session of it from then on."""
    waiting = []
    for (person, procedure), rows in asks.items():
        if procedure == topic:
            after = min((day for day in taught[person.pk, topic.code] if hazard.since <= day), default=None)
            mine = [
                (hazard.since, min(filter(None, (ask.after, after)), default=None))
                for ask in rows
                if ask.first <= hazard.since
            ]
            waiting.append(
                (str(person), list(both(in_force, (one for one in mine if one[1] is None or one[0] < one[1]))))
            )
    return Untaught(hazard, f"{topic.title}, {topic.code}", waiting)
