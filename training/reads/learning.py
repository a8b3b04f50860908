"""A person's learning picture in each procedure: performances in order, with what the counts may and may not say."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from clinic.models import Person, Site
from clinic.rules.words import out_of
from training.models import Observation, SignOff
from training.rules.charts import PerformanceChart, learning_picture, slipping_picture
from training.rules.drawing import ScorePicture, score_picture, share_picture
from training.rules.learning import clean_sentence, counts_sentence, may_judge, wilson


@dataclass(frozen=True, slots=True)
class Learnt:
    """One procedure. Charts are None while there is too little to judge by."""

    code: str
    title: str
    counts: str
    clean: str
    quiet: bool
    alone_says: str
    alone: ScorePicture | None
    learning: ScorePicture | None
    slipping: ScorePicture | None


def learning_of(person: Person, site: Site, today: date) -> list[Learnt]:
    """Every procedure in which the person was watched, those with too little to judge by last, then by code. Three queries."""
    seen: dict[str, list[Observation]] = defaultdict(list)
    rows = Observation.objects.live().filter(person=person, happened_on__lte=today)
    for row in rows.select_related("version__procedure").order_by("finished_at", "pk"):
        seen[row.version.procedure.code].append(row)
    signed: dict[str, date] = {}
    for code, day in (
        SignOff.objects.live().filter(person=person).values_list("version__procedure__code", "happened_on")
    ):
        signed[code] = min(day, signed.get(code, day))
    people = Person.objects.at_site(site, today).count()
    found = (learnt(code, seen[code], signed.get(code), people) for code in seen)
    return sorted(found, key=lambda one: (one.quiet, one.code))


def learnt(code: str, rows: Sequence[Observation], signed_on: date | None, people: int) -> Learnt:
    good = [not row.critical_miss for row in rows if row.purpose == Observation.Purpose.ASSESSMENT]
    met = [row.outcome == "met" for row in rows]
    since = [row.outcome == "met" for row in rows if signed_on and row.happened_on > signed_on]
    says, picture = steps_alone(rows)
    quiet = not may_judge(people, len(rows))
    return Learnt(
        code=code,
        title=rows[0].version.procedure.title,
        counts=counts_sentence(sum(good), len(good)),
        clean="" if quiet else clean_sentence(sum(good), len(good)),
        quiet=quiet,
        alone_says=says,
        alone=None if quiet else picture,
        learning=drawn(learning_picture(met, people), met),
        slipping=drawn(slipping_picture(since, people), since),
    )


def drawn(picture: PerformanceChart, met: Sequence[bool]) -> ScorePicture | None:
    return None if picture.quiet else score_picture(picture.scores, met, picture.chart.h, picture.says)


def steps_alone(rows: Sequence[Observation]) -> tuple[str, ScorePicture | None]:
    """The share of steps done alone up to each performance, with its Wilson 95 % interval."""
    alone = seen = 0
    shares = []
    for row in rows:
        marks = [
            mark["mark"] for mark in row.marks if mark["mark"] in ("alone", "prompted", "helped", "wrong", "asked")
        ]
        alone, seen = alone + sum(mark in ("alone", "asked") for mark in marks), seen + len(marks)
        interval = wilson(alone, seen)
        if interval:
            shares.append((alone / seen, interval.lower, interval.upper))
    if not shares:
        return "No step was seen yet.", None
    _, low, high = shares[-1]
    says = f"{out_of(alone, seen, 'step')} alone; 95 % interval {100 * low:.0f} % to {100 * high:.0f} %"
    return says, share_picture(shares, says)
