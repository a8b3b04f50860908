"""What an observation amounted to, and what follows from it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from uuid import UUID
from zoneinfo import ZoneInfo

from clinic.models import UpkeepEntry, UpkeepTask
from clinic.reads.site_answers import answers_at
from clinic.rules.site_text import by_name
from clinic.rules.words import clock_words, instant_words, several
from training.models import CriticalMissAnswer, EvidenceSpan, Observation, StandingSpan, Version, Withdrawal
from training.reads.languages import language_words
from training.reads.sheets import OF_PAPER, paper_words
from training.rules.facts import Evidence, Mark, Method
from training.rules.outcome import OutcomeResult, StepShape, outcome
from training.rules.place import Answers, steps_here
from training.rules.wording import outcome_words


@dataclass(frozen=True, slots=True)
class ObservationShown:
    """One recorded observation with what follows from it. `asks`: a critical miss by a usable person without an answer."""

    observation: Observation
    result: OutcomeResult
    marks: list[tuple[int, str, str, bool]]  # number here, what is done, mark, critical
    asks: bool
    answer: CriticalMissAnswer | None
    ready: bool
    tasks: list[UpkeepTask]

    @property
    def came_to(self) -> str:
        """What it came to, for the head: practice is never met."""
        row = self.observation
        practice = row.purpose == Observation.Purpose.PRACTICE
        return outcome_words(row.outcome, practice=practice, stopped=row.stopped, critical_miss=row.critical_miss)

    @property
    def because(self) -> list[str]:
        """The reasons, without the word of the head."""
        return [words.removeprefix("met: ") for words in self.result.because]

    @property
    def is_evidence(self) -> bool:
        return self.observation.purpose == Observation.Purpose.ASSESSMENT


def seen_together(first: Observation) -> list[Observation]:
    """Every standing observation of the same performance."""
    rows = Observation.objects.live().filter(performance=first.performance, person=first.person_id)
    return list(
        rows.select_related(
            "version__procedure",
            "person",
            "observer",
            "witness",
            "equipment",
            "site",
            *OF_PAPER,
        ).order_by("version__procedure__code")
    )


def what_follows(rows: list[Observation], today: date) -> list[ObservationShown]:
    """Outcome, reasons and what it asks for, of each observation of one performance."""
    answers = {row.observation_id: row for row in CriticalMissAnswer.objects.live().filter(observation__in=rows)}
    asking = {row.pk for row in unanswered_misses(rows)} - set(answers) - withdrawn_since(rows)
    ready = enough_for(rows, today)
    return [
        ObservationShown(
            observation=row,
            result=explained(row),
            marks=marks_of(row),
            asks=row.pk in asking,
            answer=answers.get(row.pk),
            ready=row.version.procedure_id in ready,
            tasks=tasks_logged(row),
        )
        for row in rows
    ]


def marks_of(row: Observation) -> list[tuple[int, str, str, bool]]:
    steps = {step.key: step for step in row.version.text.steps}
    return [
        (number, by_name(steps[each["step"]].do), Mark(each["mark"]).value, steps[each["step"]].critical)
        for number, each in enumerate(row.marks, start=1)
    ]


def withdrawn_since(rows: list[Observation]) -> set[UUID]:
    """Observations of people whose sign-off in that procedure was withdrawn on that day or later."""
    found = set()
    for row in rows:
        since = Withdrawal.objects.live().filter(procedure=row.version.procedure_id, happened_on__gte=row.happened_on)
        if since.filter(person=row.person_id).exists():
            found.add(row.pk)
    return found


def enough_for(rows: list[Observation], today: date) -> set[int]:
    """Keys of the procedures for which the person's evidence is enough today."""
    spans = EvidenceSpan.objects.on(today).filter(
        evidence=Evidence.ENOUGH.value, person__in=[row.person_id for row in rows]
    )
    return set(spans.values_list("procedure", flat=True))


def said_of(row: Observation) -> list[tuple[str, str]]:
    """What was said and when, in words; a value that is not there is said so."""
    zone = ZoneInfo(row.site.time_zone)
    began, ended = row.started_at.astimezone(zone), row.finished_at.astimezone(zone)
    pauses = f", {several(len(row.pauses), 'pause', 'pauses')}" if row.pauses else ""
    word = row.get_own_word_display() if row.own_word else "not said"
    paper = [("Written", paper_words(row) if row.witness else f"{paper_words(row)}; confirmed by {row.recorded_by}")]
    checked = [("Checked who it is", row.sheet.identity_checked or "not said")] if row.sheet else []
    return [
        *(paper if row.sheet else []),
        *checked,
        ("Language used", language_words(row.language) or "not said"),
        ("Time", f"{clock_words(began)} to {clock_words(ended)}{pauses}"),
        (f"{row.person.given_name}’s own word", f"{word}. {row.own_words}".strip()),
        ("Notes", row.notes or "none"),
        ("Recorded", f"{row.recorded_by}, {instant_words(row.recorded_at.astimezone(zone))}"),
    ]


def tasks_logged(row: Observation) -> list[UpkeepTask]:
    """Upkeep that an assessment of real work was: it may be logged from here."""
    real = row.purpose == Observation.Purpose.ASSESSMENT and row.method == Method.REAL and not row.stopped
    if not real or row.equipment is None:
        return []
    logged = UpkeepEntry.objects.live().filter(from_observation=row.pk).values("task")
    tasks = UpkeepTask.objects.filter(code__in=row.version.asks.upkeep_covered, equipment_kind=row.equipment.kind)
    return list(tasks.exclude(pk__in=logged))


def shapes(version: Version, answers: Answers, given: Mapping[str, str]) -> list[StepShape]:
    """The steps that apply at this unit; one that was marked all the same counts."""
    here = {step.key for step in steps_here(version.text.steps, answers)} | set(given)
    return [StepShape(step.key, step.critical, bool(step.when)) for step in version.text.steps if step.key in here]


def explained(seen: Observation) -> OutcomeResult:
    """The recorded outcome with its reasons. A step that was not used at the unit has no mark and is left out."""
    given = {row["step"]: Mark(row["mark"]) for row in seen.marks}
    answers = answers_at(seen.site, seen.equipment) if seen.stopped else {}
    known = shapes(seen.version, answers, given)
    steps = known if seen.stopped else [shape for shape in known if shape.key in given]
    assessment = seen.purpose == Observation.Purpose.ASSESSMENT
    return outcome(steps, given, stopped=seen.stopped, assessment=assessment)


def unanswered_misses(observations: list[Observation]) -> list[Observation]:
    """Critical misses by people usable that day, which ask at once: withdraw, or why not."""
    return [seen for seen in observations if seen.critical_miss and usable_at(seen)]


def usable_at(seen: Observation) -> bool:
    """Whether the person was usable in the procedure on the day of the observation."""
    spans = StandingSpan.objects.on(seen.happened_on).usable()
    return spans.filter(person=seen.person_id, procedure=seen.version.procedure_id).exists()
