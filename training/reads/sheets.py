"""Sheets of paper: which were printed, what was entered from them, and what waits for whoever watched."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import Exists, OuterRef, Q, QuerySet

from clinic import clock
from clinic.models import Equipment, Person, Site
from clinic.prepared import Instances, Prepared
from clinic.reads.site_answers import answers_at
from clinic.record import Refusal
from clinic.rules.words import begun, clock_words, day_words
from training.models import Observation, SheetEntered, SheetPhoto, SheetsPrinted
from training.permissions import OwnGrant, authorised, granted_to, has_authority
from training.reads.languages import language_words
from training.rules import sheets as words
from training.rules.facts import Mark, Method
from training.rules.place import Answers, said
from training.rules.sheets import TO_BE_COMPARED, against_comparing, sheet_words, waits_words
from training.rules.texts import Step
from training.rules.wording import METHODS

JOINED = ("person", "observer", "witness", "recorded_by", "version__procedure", "equipment", "site", "printed")


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
        who = f"{row.version.procedure} of {row.person} on {day_words(row.happened_on)}, watched by {row.watched_by}"
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


def paper_words(seen: Observation) -> str:
    """From paper, sheet 0123, entered by … on …, of an observation; empty where it was marked at the bench."""
    return f"from paper, {entered_words(seen)}" if seen.sheet else ""


def entered_words(seen: Observation) -> str:
    """Sheet 0123, entered by … on …; with who compared it with the photo, where an outside witness signed it."""
    row = seen.sheet
    assert row is not None
    return words.entered_words(*entry(row), str(seen.recorded_by) if seen.witness_id else "")


def entry(row: SheetEntered) -> tuple[int, str, date]:
    """The number, who entered it, and on which day."""
    return row.number, str(row.recorded_by or "the register"), written_on(row)


def paper_words_of(ids: Iterable[UUID]) -> dict[UUID, str]:
    """The same for each of these observations that was entered from paper. One query."""
    rows = Observation.objects.filter(pk__in=list(ids), sheet__isnull=False)
    return {row.pk: paper_words(row) for row in rows.select_related(*OF_PAPER)}


OF_PAPER = ("recorded_by", "sheet__recorded_by", "sheet__site")  # what `paper_words` reads beside the observation


@dataclass(frozen=True, slots=True)
class PaperSheet:
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
        if not self.waits:
            return f"{name} is confirmed."
        return f"{name} waits for {self.row.observer}." if self.row.observer else f"{name} waits to be compared."

    @property
    def then(self) -> str:
        entered = f"From paper, {words.entered_words(*entry(self.row))}."
        if self.confirmed:
            day = clock.local(self.confirmed.recorded_at, self.row.site.time_zone).date()
            how = "Confirmed by" if self.row.observer else "Compared with the photo and confirmed by"
            return f"{entered} {how} {self.confirmed.recorded_by} on {day_words(day)}."
        waits = waits_words(str(self.row.observer)) if self.row.observer else TO_BE_COMPARED
        return f"{entered} {waits}" if self.stands else entered

    @property
    def said(self) -> list[tuple[str, str]]:
        row, zone = self.row, self.row.site.time_zone
        began, ended = clock.local(row.started_at, zone), clock.local(row.finished_at, zone)
        stop = [("Stopped as unsafe", row.stop_reason)] if row.stopped else []
        return [
            ("Who", str(row.person)),
            ("Said to have watched", row.watched_by),
            ("Day", f"{day_words(row.happened_on)}, {clock_words(began)} to {clock_words(ended)}"),
            ("For", row.get_purpose_display().lower()),
            ("How", METHODS[Method(row.method)]),
            ("Unit", str(row.equipment) if row.equipment else "none"),
            ("Checked who it is", row.identity_checked or "not said"),
            ("Language used", language_words(row.language) or "not said"),
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


def sheet_of(row: SheetEntered) -> PaperSheet:
    return PaperSheet(
        row=row,
        confirmed=Observation.objects.live().filter(sheet=row).first(),
        photo=SheetPhoto.objects.live().filter(sheet=row).first(),
        stands=SheetEntered.objects.live().filter(pk=row.pk).exists(),
    )


def entered_rows(site: Site) -> "QuerySet[SheetEntered]":
    return SheetEntered.objects.live().filter(site=site).select_related(*JOINED)


def confirmed_at(site: Site) -> "QuerySet[Observation, Any]":
    return Observation.objects.live().filter(site=site, sheet__isnull=False).values("sheet")


def waiting_at(sites: Any) -> "QuerySet[SheetEntered]":
    """Asked sheet by sheet: they are few, and what was observed at a site is much."""
    confirmed = Exists(Observation.objects.live().filter(sheet=OuterRef("pk")))
    return SheetEntered.objects.live().filter(~confirmed, site__in=sites)  # type: ignore[no-any-return]


WAITING = Prepared(lambda sites: waiting_at(sites).order_by().values_list("pk"))
WAITING_NAMED = Instances(
    SheetEntered,
    lambda sites: (
        waiting_at(sites)
        .select_related("person", "observer", "witness", "recorded_by", "version__procedure")
        .defer("marks", "version__content", "version__policy")
        .order_by("happened_on", "happened_at", "recorded_at", "pk")
    ),
)


def waiting(site: Site, which: Q) -> list[SheetEntered]:
    """Entered and not confirmed, the oldest first. Most often nothing waits, and nothing more is asked."""
    if not [*WAITING.rows(sites=[site.pk])]:
        return []
    rows = entered_rows(site).filter(which).exclude(pk__in=confirmed_at(site))
    return list(rows.order_by("happened_on", "happened_at", "recorded_at"))


def waiting_now(site: Site) -> list[SheetEntered]:
    """Every one of them, for a page that only names them: neither marks nor the words of the version are read."""
    return WAITING_NAMED.all(sites=[site.pk])


def to_compare(me: Person, rows: Iterable[SheetEntered]) -> list[SheetEntered]:
    """Of these, what was signed on paper by an outside witness and waits for somebody like me: with authority at the site, not
    entered by me, not of me."""
    theirs = [row for row in rows if row.witness_id and me.pk not in (row.person_id, row.recorded_by_id)]
    mine = list(granted_to(me)) if theirs else []
    return [row for row in theirs if any(may_compare(grant, row) for grant in mine)]


def may_compare(grant: OwnGrant, row: SheetEntered) -> bool:
    return grant.site == row.site_id and grant.holds_on(row.happened_on) and grant.covers(row.version.procedure)


def to_confirm(me: Person, site: Site) -> list[SheetEntered]:
    """Everything from paper that waits for me."""
    rows = waiting_now(site)
    return [*(row for row in rows if row.observer_id == me.pk), *to_compare(me, rows)]


def against_confirming(me: Person, row: SheetEntered) -> list[Refusal]:
    """Every reason, with its remedy, why I may not confirm what was entered."""
    if row.observer is not None:
        only = f"Only {row.observer}, who is said to have watched, confirms it."
        return [Refusal(only, f"Let {row.observer} sign in.")] if me != row.observer else []
    found = against_comparing(
        authority=has_authority(me, row.version.procedure, row.site, row.happened_on),
        did_it=me == row.person,
        entered_it=me == row.recorded_by,
        photo=SheetPhoto.objects.live().filter(sheet=row).exists(),
    )
    return [Refusal(says, supply) for says, supply in found]


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
