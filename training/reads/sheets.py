"""Sheets of paper: which were printed, what was entered from them, and what waits for whoever watched."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import Q, QuerySet

from clinic import clock
from clinic.models import Equipment, Person, Site
from clinic.reads.site_answers import answers_at
from clinic.rules.words import begun, clock_words, day_words
from training.models import Observation, SheetEntered, SheetPhoto, SheetsPrinted
from training.permissions import authorised
from training.rules import sheets as words
from training.rules.facts import Mark, Method
from training.rules.place import Answers, said
from training.rules.sheets import sheet_words, waits_words
from training.rules.texts import Step
from training.rules.wording import METHODS

JOINED = ("person", "observer", "recorded_by", "version__procedure", "equipment", "site", "printed")


def printed_as(site: Site, number: int) -> SheetsPrinted | None:
    """The sheets that the number is one of."""
    row = (
        SheetsPrinted.objects.filter(site=site, first__lte=number)
        .select_related("version__procedure", "equipment", "site")
        .order_by("first")
        .last()
    )
    return row if row is not None and number in row.numbers else None


@dataclass(frozen=True, slots=True)
class Earlier:
    """A sheet that was entered before, and what that recorded."""

    row: SheetEntered

    @property
    def says(self) -> str:
        row = self.row
        who = f"{row.version.procedure} of {row.person} on {day_words(row.happened_on)}, watched by {row.observer}"
        return (
            f"{begun(sheet_words(row.number))} was entered by {row.recorded_by} on {day_words(written_on(row))}: {who}."
        )

    supply = "A photocopy bears the number of its original: copy it onto a sheet of its own, and keep both."


def already_entered(site: Site, number: int) -> Earlier | None:
    """What stands recorded for the sheet; nothing where it was taken back."""
    row = SheetEntered.objects.live().filter(site=site, number=number).select_related(*JOINED).first()
    return Earlier(row) if row else None


def written_on(row: SheetEntered) -> date:
    return clock.local(row.recorded_at, row.site.time_zone).date()


def paper_words(row: SheetEntered) -> str:
    """From paper, sheet 0123, entered by … on …"""
    return f"from paper, {entered_words(row)}"


def entered_words(row: SheetEntered) -> str:
    """Sheet 0123, entered by … on …"""
    return words.entered_words(row.number, str(row.recorded_by or "the register"), written_on(row))


def paper_words_of(ids: Iterable[UUID]) -> dict[UUID, str]:
    """The same for each of these observations that was entered from paper. One query."""
    rows = Observation.objects.filter(pk__in=list(ids), sheet__isnull=False)
    return {
        row.pk: paper_words(row.sheet) for row in rows.select_related("sheet__recorded_by", "sheet__site") if row.sheet
    }


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet as its page shows it. `confirmed`: the observation that stands for it."""

    row: SheetEntered
    confirmed: Observation | None
    photo: SheetPhoto | None
    stands: bool

    @property
    def waits(self) -> bool:
        return self.stands and self.confirmed is None

    @property
    def says(self) -> str:
        """The answer that the page says first."""
        name = begun(sheet_words(self.row.number))
        if not self.stands:
            return f"{name} was taken back."
        return f"{name} waits for {self.row.observer}." if self.waits else f"{name} is confirmed."

    @property
    def then(self) -> str:
        entered = paper_words(self.row)
        entered = f"{begun(entered)}."
        if self.confirmed:
            day = clock.local(self.confirmed.recorded_at, self.row.site.time_zone).date()
            return f"{entered} Confirmed by {self.row.observer} on {day_words(day)}."
        return f"{entered} {waits_words(str(self.row.observer))}" if self.stands else entered

    @property
    def said(self) -> list[tuple[str, str]]:
        row, zone = self.row, self.row.site.time_zone
        began, ended = clock.local(row.started_at, zone), clock.local(row.finished_at, zone)
        stop = [("Stopped as unsafe", row.stop_reason)] if row.stopped else []
        return [
            ("Who", str(row.person)),
            ("Said to have watched", str(row.observer)),
            ("Day", f"{day_words(row.happened_on)}, {clock_words(began)} to {clock_words(ended)}"),
            ("For", row.get_purpose_display().lower()),
            ("How", METHODS[Method(row.method)]),
            ("Unit", str(row.equipment) if row.equipment else "none"),
            *stop,
            (
                f"{row.person.given_name}’s own word",
                f"{row.get_own_word_display() or 'not said'}. {row.own_words}".strip(),
            ),
            ("Notes", row.notes or "none"),
            ("Sheet printed", day_words(row.printed.happened_on)),
        ]

    @property
    def marks(self) -> list[tuple[int, str, str, bool]]:
        """Number on the page, words of the step at its unit, mark, and whether it is critical."""
        answers = answers_at(self.row.site, self.row.equipment)
        steps = {step.key: step for step in self.row.version.text.steps}
        return [
            (number, in_words(steps[each["step"]], answers), Mark(each["mark"]).value, steps[each["step"]].critical)
            for number, each in enumerate(self.row.marks, start=1)
        ]


def in_words(step: Step, answers: Answers) -> str:
    """As it stands on the sheet: with its case, and the answers of the walk round."""
    case = f"When {said(step.when, answers, begins=False)}: " if step.when else ""
    return case + said(step.do, answers, begins=not case)


def sheet_of(row: SheetEntered) -> Sheet:
    return Sheet(
        row=row,
        confirmed=Observation.objects.live().filter(sheet=row).first(),
        photo=SheetPhoto.objects.live().filter(sheet=row).first(),
        stands=SheetEntered.objects.live().filter(pk=row.pk).exists(),
    )


def entered_rows(site: Site) -> "QuerySet[SheetEntered]":
    return SheetEntered.objects.live().filter(site=site).select_related(*JOINED)


def confirmed_at(site: Site) -> "QuerySet[Observation, Any]":
    return Observation.objects.live().filter(site=site, sheet__isnull=False).values("sheet")


def waiting(site: Site, which: Q) -> list[SheetEntered]:
    """Entered and not confirmed, the oldest first."""
    rows = entered_rows(site).filter(which).exclude(pk__in=confirmed_at(site))
    return list(rows.order_by("happened_on", "happened_at", "recorded_at"))


def lately(site: Site, which: Q, most: int = 20) -> list[SheetEntered]:
    """The last that were confirmed, newest first."""
    return list(entered_rows(site).filter(which, pk__in=confirmed_at(site)).order_by("-recorded_at")[:most])


def may_have_watched(printed: SheetsPrinted, today: date) -> list[Person]:
    """Who may have watched with one of these sheets: authority for the procedure since it was printed, or today."""
    found = {
        person.pk: person
        for day in (printed.happened_on, today)
        for person in authorised(printed.version.procedure, printed.site, day)
    }
    return sorted(found.values(), key=lambda person: (person.family_name, person.given_name, str(person.pk)))


def units_for(printed: SheetsPrinted, today: date) -> "QuerySet[Equipment]":
    rows = Equipment.objects.filter(site=printed.site, kind=printed.version.procedure.equipment_kind)
    return rows.in_service_on(today).order_by("label")
