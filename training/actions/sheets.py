"""Numbered sheets of paper: printed for the day the network is down, entered later, and confirmed by whoever watched.

Nobody's name stands for what they did not do. Whoever enters a sheet is named as that; the observation is recorded by the
watcher's own act, with a proof, and until then nothing counts. An outside witness signs on paper: then a third, with
authority, compares the entry with the photo of the sheet, and proves who they are.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from uuid import UUID, uuid4, uuid5
from zoneinfo import ZoneInfo

from django.db import transaction

from clinic import clock
from clinic.models import Equipment, OutsideWitness, Person, Site
from clinic.reads.site_answers import answers_at
from clinic.record import Refusal, record, refuse_if
from clinic.rules.words import short_day
from training.actions import observe
from training.actions.observe import Performance, record_observations
from training.actions.proof import Proved, sign_beside
from training.models import Observation, SheetEntered, SheetPhoto, SheetsPrinted, Version
from training.reads.sheets import against_confirming, already_entered, printed_as
from training.rules.sheets import NO_PHOTO, sheet_words

MOST_SHEETS = 50
CONFIRMED = "Observer: I watched this performance, and what was entered from the sheet is what I saw and marked."
COMPARED = (
    "Authority: I compared what was entered with the photo of the sheet that the outside witness signed, mark by mark, and "
    "it says the same. I neither did the work nor entered the sheet."
)


@transaction.atomic
def print_sheets(
    version: Version, count: int, *, site: Site, unit: Equipment | None, by: Person, id: UUID | None = None
) -> SheetsPrinted:
    """Give the next numbers of the site to so many blank checklists. Sent twice, they are the same sheets."""
    Site.objects.select_for_update().get(pk=site.pk)  # numbers are given one after the other
    earlier = SheetsPrinted.objects.filter(pk=id).first() if id else None
    if earlier is not None:
        return earlier
    refuse_if(
        Refusal(f"{count} sheets cannot be printed at once.", f"Print 1 to {MOST_SHEETS}.", "count")
        if not 1 <= count <= MOST_SHEETS
        else None
    )
    last = SheetsPrinted.objects.filter(site=site).order_by("first").last()
    row = SheetsPrinted(
        id=id or uuid4(), site=site, happened_on=clock.today(site.time_zone),
        happened_at=clock.time_of_day(site.time_zone), version=version, equipment=unit,
        first=last.numbers.stop if last else 1, count=count,
    )  # fmt: skip
    return record(row, by=by)


@dataclass(frozen=True, slots=True)
class OnSheet:
    """What stands on a sheet, as somebody reads it off. `photo`: a JPEG made by `clinic.photos`, or empty."""

    id: UUID
    number: int
    person: Person
    purpose: str
    method: str
    started_at: datetime
    finished_at: datetime
    marks: Mapping[str, str]
    observer: Person | None = None
    witness: OutsideWitness | None = None
    identity_checked: str = ""
    language: str = ""
    equipment: Equipment | None = None
    stopped: bool = False
    stop_reason: str = ""
    notes: str = ""
    own_word: str = ""
    own_words: str = ""
    photo: bytes = field(default=b"", repr=False)


@transaction.atomic
def enter_sheet(said: OnSheet, *, site: Site, by: Person) -> SheetEntered:
    """Record what stands on a sheet, in the name of whoever enters it. It waits for the watcher. Sent twice, it is one."""
    site = Site.objects.select_for_update().get(pk=site.pk)  # one number is entered once
    printed = printed_as(site, said.number)
    refuse_if(against_the_number(site, said, printed))
    assert printed is not None
    refuse_if(*against_the_sheet(said, printed))
    row = record(entered(said, printed), by=by)
    if said.photo:
        photo = SheetPhoto(
            id=uuid5(row.pk, "photo"), site=site, happened_on=row.happened_on, sheet=row, picture=said.photo
        )
        record(photo, by=by)
    return row


def entered(said: OnSheet, printed: SheetsPrinted) -> SheetEntered:
    finished = said.finished_at.astimezone(ZoneInfo(printed.site.time_zone))
    return SheetEntered(
        id=said.id, site=printed.site, happened_on=finished.date(), happened_at=finished.time().replace(microsecond=0),
        printed=printed, number=said.number, version=printed.version, person=said.person, observer=said.observer,
        witness=said.witness, identity_checked=said.identity_checked, language=said.language, equipment=said.equipment, purpose=said.purpose, method=said.method, started_at=said.started_at,
        finished_at=said.finished_at, stopped=said.stopped, stop_reason=said.stop_reason, notes=said.notes,
        own_word=said.own_word, own_words=said.own_words,
        marks=[
            {"step": step.key, "mark": said.marks[step.key]}
            for step in printed.version.text.steps
            if step.key in said.marks
        ],
    )  # fmt: skip


def against_the_number(site: Site, said: OnSheet, printed: SheetsPrinted | None) -> Refusal | None:
    """A number that no sheet of the site has, or that was entered before: then what was recorded is named."""
    if printed is None:
        return Refusal(
            f"No {sheet_words(said.number)} was printed here.",
            "Read the number at the top of the sheet again.",
            "number",
        )
    earlier = already_entered(site, said.number)
    return None if earlier is None or earlier.row.pk == said.id else Refusal(earlier.says, earlier.supply, "number")


def against_the_sheet(said: OnSheet, printed: SheetsPrinted) -> list[Refusal]:
    """Everything that keeps it from being an observation once it is confirmed, but for the proof."""
    zone = ZoneInfo(printed.site.time_zone)
    began, ended = said.started_at.astimezone(zone), said.finished_at.astimezone(zone)
    checks = [
        (
            ended.date() < printed.happened_on,
            f"It was printed only on {short_day(printed.happened_on)}.",
            "Read the day and the number on the sheet again.",
            "day",
        ),
        (said.finished_at > clock.now(), "It ends in the future.", "Read the day and the times again.", "day"),
        (began > ended, "It ends before it begins.", "Read both times again.", "ended"),
        (
            (said.observer is None) == (said.witness is None),
            "Who watched is not said.",
            "Choose one supervisor or one outside witness.",
            "observer",
        ),
        (said.witness is not None and not said.photo, *NO_PHOTO, "photo"),
        (said.observer == said.person, "Nobody watches themselves.", "Read both names again.", "observer"),
        (
            said.stopped and not said.stop_reason.strip(),
            "“Stop: unsafe” needs its reason.",
            "Say what was unsafe.",
            "stop_reason",
        ),
    ]
    found = [Refusal(says, supply, name) for wrong, says, supply, name in checks if wrong]
    answers = answers_at(printed.site, said.equipment)
    seen = performance(entered(said, printed))
    return found + observe.version_refusals(seen, printed.version, said.marks, ended.date(), answers)


def performance(row: SheetEntered) -> Performance:
    """The performance as the sheet describes it, watched by whoever it names."""
    return Performance(
        id=row.pk, site=row.site, person=row.person, purpose=row.purpose, method=row.method, started_at=row.started_at,
        finished_at=row.finished_at, observer=row.observer, witness=row.witness, language=row.language, equipment=row.equipment, stopped=row.stopped,
        stop_reason=row.stop_reason, notes=row.notes, own_word=row.own_word, own_words=row.own_words,
    )  # fmt: skip


@transaction.atomic
def confirm_sheet(row: SheetEntered, *, by: Person, proved: Proved) -> Observation:
    """The observation, recorded and signed by whoever watched, or by whoever compared it with the photo of a sheet that an
    outside witness signed. Sent twice, it is one."""
    refuse_if(
        *against_confirming(by, row),
        Refusal("What was entered was taken back.", "Enter the sheet again.")
        if not SheetEntered.objects.live().filter(pk=row.pk).exists()
        else None,
    )
    seen = replace(performance(row), sheet=row)
    given = {each["step"]: each["mark"] for each in row.marks}
    [observation] = record_observations(seen, {row.version: given}, by=by)
    sign_beside(observation, CONFIRMED if row.observer else COMPARED, by=by, proved=proved)
    return observation
