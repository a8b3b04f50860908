"""What the bench shows: who, what, where, and every step in the words of this unit."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from django.db.models import QuerySet

from clinic.models import Equipment, OutsideWitness, Person, Site
from clinic.reads.site_answers import answers_at
from clinic.rules.words import listed
from training.models import Procedure, Retirement, Version
from training.permissions import procedures_of
from training.reads.library import makers
from training.reads.pictures import NONE, Photo, Photos, photos_at
from training.rules.facts import Mark, Method
from training.rules.maker_wins import maker_wins
from training.rules.place import Answers, Words, filled, steps_here
from training.rules.texts import Step
from training.rules.wording import METHODS

ALWAYS = (Mark.ALONE, Mark.PROMPTED, Mark.HELPED, Mark.WRONG, Mark.NOT_SEEN)
# The same marks first, so that they keep their places at the bench on every step; the further ones come after them.
WITH_A_WHEN = (*ALWAYS, Mark.ASKED, Mark.NOT_NEEDED)
HINTS = {
    Mark.ALONE: "right, with no help",
    Mark.PROMPTED: "one word or sign",
    Mark.HELPED: "shown, or partly done",
    Mark.WRONG: "left out, or done wrong",
    Mark.ASKED: "said and showed it",
    Mark.NOT_NEEDED: "case did not arise",
    Mark.NOT_SEEN: "you were not looking",
}


@dataclass(frozen=True, slots=True)
class BenchStep:
    """One step as it is shown. `name` is that of its field in the form; `number` counts the steps of this unit, from 1."""

    number: int
    key: str
    name: str
    critical: bool
    when: tuple[Words, ...]
    do: tuple[Words, ...]
    caution: tuple[Words, ...]
    marks: tuple[Mark, ...]
    photos: tuple[Photo, ...] = ()
    maker_wins: bool = False  # a value, or the unit’s own: said at the step

    @property
    def missing(self) -> list[str]:
        return [words.fact for words in (*self.when, *self.do, *self.caution) if words.missing]

    @property
    def choices(self) -> list[tuple[str, str]]:
        return [(mark.value, HINTS[mark]) for mark in self.marks]


def bench_step(number: int, step: Step, code: str, answers: Answers, photos: Photos = NONE) -> BenchStep:
    return BenchStep(
        number=number,
        key=step.key,
        name=f"{code}-{step.key}",
        critical=step.critical,
        when=filled(step.when, answers, begins=False),
        do=filled(step.do, answers),
        caution=filled(step.caution, answers),
        marks=WITH_A_WHEN if step.when else ALWAYS,
        photos=photos.of_step(code, step),
        maker_wins=maker_wins(step, makers()),
    )


@dataclass(frozen=True, slots=True)
class BenchProcedure:
    """A procedure at the bench: its version, its steps here, and how many dropped out because something is not used here."""

    version: Version
    code: str
    title: str
    steps: tuple[BenchStep, ...]
    dropped: int
    missing: list[str] = field(default_factory=list)

    def plain(self) -> dict[str, Any]:
        """For the script: lists and words only."""
        return {"code": self.code, "title": self.title, "steps": [plain_step(step) for step in self.steps]}


def plain_step(step: BenchStep) -> dict[str, Any]:
    texts = {name: [[w.says, w.fact, w.missing] for w in getattr(step, name)] for name in ("when", "do", "caution")}
    return texts | {
        "number": step.number,
        "key": step.key,
        "name": step.name,
        "critical": step.critical,
        "marks": step.marks,
        "maker": step.maker_wins,
        "photos": [[photo.address, photo.says] for photo in step.photos],
    }


def bench_procedures(versions: Sequence[Version], site: Site, equipment: Equipment | None) -> list[BenchProcedure]:
    answers, photos = answers_at(site, equipment), photos_at(site, equipment)
    return [bench_procedure(version, answers, photos) for version in versions]


def bench_procedure(version: Version, answers: Answers, photos: Photos = NONE) -> BenchProcedure:
    steps, code = version.text.steps, version.procedure.code
    here = steps_here(steps, answers)
    shown = tuple(bench_step(number, step, code, answers, photos) for number, step in enumerate(here, start=1))
    missing = sorted({name for step in shown for name in step.missing})
    return BenchProcedure(version, code, version.procedure.title, shown, len(steps) - len(here), missing)


def observable(person: Person, site: Site, on: date) -> "QuerySet[Version]":
    """Versions in force of the procedures that the person's authority covers here: watched ones, not retired."""
    retired = Retirement.objects.live().filter(happened_on__lte=on).values("procedure")
    covered = procedures_of(person, site, on)
    rows = Version.objects.live().in_force(on).filter(procedure__organisation=site.organisation_id)
    rows = rows.filter(procedure__code__in=covered, procedure__kind=Procedure.Kind.PRACTICE).exclude(
        procedure__in=retired
    )
    return rows.select_related("procedure").order_by("procedure__code")


def learners(observer: Person, site: Site, on: date) -> "QuerySet[Person]":
    """Whoever holds a job role here today, never oneself."""
    return Person.objects.at_site(site, on).exclude(pk=observer.pk).by_name()


def units(site: Site, on: date) -> "QuerySet[Equipment]":
    return Equipment.objects.filter(site=site).in_service_on(on).order_by("kind", "label")


def witnesses(site: Site) -> "QuerySet[OutsideWitness]":
    return OutsideWitness.objects.filter(organisation=site.organisation_id).order_by("printed_name", "pk")


def counting_methods(version: Version) -> frozenset[Method]:
    """Methods that count for a first sign-off or for a renewal."""
    return version.asks.methods | version.asks.renewal_methods


def does_not_count(version: Version, method: Method) -> str:
    """Why a method is not offered for an assessment of this version; empty where it counts."""
    counts = counting_methods(version)
    if method in counts:
        return ""
    words = listed([METHODS[each] for each in Method if each in counts])
    return f"{METHODS[method]} does not count for {version.procedure}: {words} {'counts' if len(counts) == 1 else 'count'}."
