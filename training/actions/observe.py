"""Recording what was seen at the bench."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from uuid import UUID, uuid5
from zoneinfo import ZoneInfo

from django.db import transaction

from clinic import clock
from clinic.models import Equipment, OutsideWitness, Person, Site
from clinic.reads.site_answers import answers_at
from clinic.record import Refusal, record, refuse_if
from clinic.rules.words import several
from training.models import CriticalMissAnswer, Observation, SheetEntered, Version
from training.permissions import has_authority
from training.reads.observed import shapes
from training.rules.facts import Mark
from training.rules.outcome import outcome
from training.rules.place import Answers, steps_here


@dataclass(frozen=True, slots=True)
class Performance:
    """One performance as it was watched, before it is marked against any procedure. `id` is made where it was watched."""

    id: UUID
    site: Site
    person: Person
    purpose: str
    method: str
    started_at: datetime
    finished_at: datetime
    observer: Person | None = None
    witness: OutsideWitness | None = None
    equipment: Equipment | None = None
    pauses: list[dict[str, str]] = field(default_factory=list)
    stopped: bool = False
    stop_reason: str = ""
    notes: str = ""
    language: str = ""
    own_word: str = ""
    own_words: str = ""
    sheet: SheetEntered | None = None  # of paper, that it was entered from
    corrects: UUID | None = None
    reason: str = ""


@transaction.atomic
def record_observations(
    seen: Performance, marks: Mapping[Version, Mapping[str, str]], *, by: Person
) -> list[Observation]:
    """One observation for each version that the performance was marked against; all of them, or none. The same
    performance sent twice is recorded once."""
    answers = answers_at(seen.site, seen.equipment)
    refuse_if(*refusals(seen, marks, answers), *against_the_recorder(seen, marks, by))
    return [record(observation(seen, version, given, answers), by=by) for version, given in marks.items()]


def observation(seen: Performance, version: Version, given: Mapping[str, str], answers: Answers) -> Observation:
    marked = {key: Mark(word) for key, word in given.items()}
    result = outcome(shapes(version, answers, given), marked, stopped=seen.stopped)
    finished = seen.finished_at.astimezone(ZoneInfo(seen.site.time_zone))
    assessment = seen.purpose == Observation.Purpose.ASSESSMENT
    return Observation(
        id=uuid5(seen.id, version.procedure.code),
        site=seen.site,
        happened_on=finished.date(),
        happened_at=finished.time().replace(microsecond=0),
        corrects=seen.corrects,
        reason=seen.reason,
        performance=seen.id,
        version=version,
        person=seen.person,
        observer=seen.observer,
        witness=seen.witness,
        sheet=seen.sheet,
        equipment=seen.equipment,
        purpose=seen.purpose,
        method=seen.method,
        started_at=seen.started_at,
        finished_at=seen.finished_at,
        pauses=seen.pauses,
        marks=[{"step": step.key, "mark": given[step.key]} for step in version.text.steps if step.key in given],
        stopped=seen.stopped,
        stop_reason=seen.stop_reason,
        notes=seen.notes,
        language=seen.language or ("" if seen.sheet else seen.person.language or seen.site.language),
        own_word=seen.own_word,
        own_words=seen.own_words,
        outcome=result.outcome,
        # a critical miss is an assessment's; a stop counts whichever it was
        critical_miss=result.critical_miss and (assessment or seen.stopped),
    )


def against_the_recorder(seen: Performance, marks: Mapping[Version, Mapping[str, str]], by: Person) -> list[Refusal]:
    """What an outside witness saw is recorded by somebody with authority for it."""
    day = seen.finished_at.astimezone(ZoneInfo(seen.site.time_zone)).date()
    supply = "Let somebody with authority record it."
    own = Refusal(
        "Nobody records an outside witness of their own work.", "Let a colleague with authority record it.", "observer"
    )
    return [own] * (seen.witness is not None and by == seen.person) + [
        Refusal(f"You have no authority to record a witness for {version.procedure} here.", supply, "marks")
        for version in marks
        if seen.witness and not has_authority(by, version.procedure, seen.site, day)
    ]


def refusals(seen: Performance, marks: Mapping[Version, Mapping[str, str]], answers: Answers) -> list[Refusal]:
    """Every reason at once why the performance cannot be recorded as an observation."""
    day = seen.finished_at.astimezone(ZoneInfo(seen.site.time_zone)).date()
    started = seen.started_at.astimezone(ZoneInfo(seen.site.time_zone)).date()
    watcher = seen.observer
    checks: list[tuple[Any, str, str, str]] = [
        (not marks, "No procedure is chosen.", "Choose at least one.", "procedures"),
        (
            (watcher is None) == (seen.witness is None),
            "Who watched is not said.",
            "Choose one supervisor or one outside witness.",
            "observer",
        ),
        (watcher == seen.person, "Nobody observes themselves.", "Let another supervisor watch.", "observer"),
        (seen.finished_at < seen.started_at, "It ends before it starts.", "Check the times.", "finished_at"),
        (
            started != day,
            "It did not end on the day it began.",
            "Close it as not counted and watch a new performance.",
            "finished_at",
        ),
        (seen.finished_at > clock.now(), "It ends in the future.", "Check the clock of the tablet.", "finished_at"),
        (
            seen.stopped and not seen.stop_reason.strip(),
            "“Stop: unsafe” needs its reason.",
            "Say what was unsafe.",
            "stop_reason",
        ),
    ]
    found = [Refusal(says, supply, name) for wrong, says, supply, name in checks if wrong]
    for version, given in marks.items():
        found += version_refusals(seen, version, given, day, answers)
    return found


def version_refusals(
    seen: Performance, version: Version, given: Mapping[str, str], day: Any, answers: Answers
) -> list[Refusal]:
    code, text = version.procedure.code, version.text
    strange, wrong_mark = not_of(version, given), not_fitting(version, given)
    unmarked = [] if seen.stopped else [step.key for step in steps_here(text.steps, answers) if step.key not in given]
    authority = seen.observer is None or has_authority(seen.observer, version.procedure, seen.site, day)
    checks: list[tuple[Any, str, str]] = [
        (
            version.in_force_from > day,
            f"{code}: this version is not in force yet.",
            "Observe against the version in force.",
        ),
        (strange, f"{code}: a mark is for a step that the version does not have.", "Open the observation again."),
        (
            wrong_mark,
            f"{code}: a mark does not fit its step.",
            "“Asked” and “not needed” are only for steps with a case.",
        ),
        (
            unmarked,
            f"{code}: {several(len(unmarked), 'step is', 'steps are')} not marked.",
            "Mark each; “not seen” is a mark too.",
        ),
        (
            not authority,
            f"{seen.observer} has no authority for {version.procedure} here that day.",
            "Ask the owner for authority, or let somebody who has it watch.",
        ),
    ]
    return [Refusal(says, supply, "marks") for wrong, says, supply in checks if wrong]


def not_of(version: Version, given: Mapping[str, str]) -> list[str]:
    """Keys of marks for steps that the version does not have."""
    return [key for key in given if key not in {step.key for step in version.text.steps}]


def not_fitting(version: Version, given: Mapping[str, str]) -> list[str]:
    """Keys of marks that their step does not allow: "asked" and "not needed" are for steps with a when."""
    conditional = {step.key for step in version.text.steps if step.when}
    return [
        key
        for key, word in given.items()
        if word not in set(Mark) or (word in (Mark.ASKED, Mark.NOT_NEEDED) and key not in conditional)
    ]


def answer_miss(
    seen: Observation, why_not: str, *, site: Site, by: Person, id: UUID | None = None
) -> CriticalMissAnswer:
    """Why a critical miss by a usable person does not end the sign-off."""
    refuse_if(
        Refusal("Say why the sign-off may stand.", "One or two sentences: what was seen, what was agreed.", "reason")
        if not why_not.strip()
        else None,
        Refusal("Only somebody with authority answers this.", "Ask a supervisor with authority for the procedure.")
        if not has_authority(by, seen.version.procedure, site, clock.today(site.time_zone)) or by == seen.person
        else None,
        sent=id,
    )
    answer = CriticalMissAnswer(
        site=site, happened_on=clock.today(site.time_zone), observation=seen, reason=why_not.strip()
    )
    answer.id = id or answer.id
    return record(answer, by=by)
