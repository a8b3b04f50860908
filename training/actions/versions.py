"""Writing, approving and retiring the texts of procedures. An approved version never changes; a new one follows it."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import Any
from uuid import UUID, uuid4, uuid5

from django.db import transaction

from clinic import clock
from clinic.models import Organisation, Person, Site
from clinic.permissions import WHOM_TO_ASK, May, may_somewhere
from clinic.record import Refusal, Refused, only_if_allowed, record, refuse_if
from clinic.rules.words import short_day
from training.actions.proof import Proved, sign_beside
from training.models import Draft, InstructionsCheck, Procedure, Retirement, Version
from training.reads.drafts import faults, newest
from training.rules.texts import content_from_json
from training.spans import many_facts

APPROVED = "Approval: I have read this version, and put it in force from the day that it names."
HELD = "Responsibility: I held this version against “{title}”, {edition}, step by step, and they agree."


def may_draft(by: Person) -> None:
    """A draft binds nobody yet, so whoever drafts at one site drafts what all share; approving is the group's."""
    only_if_allowed(None if may_somewhere(by, May.DRAFT) else WHOM_TO_ASK[May.DRAFT])


@transaction.atomic
def start_draft(procedure: Procedure, *, by: Person) -> Draft:
    """A draft that begins with the words of the newest version. A draft that is there already is given back."""
    may_draft(by)
    draft = Draft.objects.filter(procedure=procedure).first()
    if draft:
        return draft
    version = newest(procedure)
    if version is None:
        raise Refused(
            Refusal("There is no text yet to draft from.", "Load the library, or write the first text there.")
        )
    return Draft.objects.create(
        procedure=procedure, content=version.content, policy=version.policy, author=by, updated_at=clock.now()
    )


@transaction.atomic
def save_draft(
    draft: Draft, content: dict[str, Any], policy: dict[str, Any], note: str, *, by: Person,
    sent: dict[str, str] | None = None,
) -> Draft:  # fmt: skip
    """Keep the words as they are now. A submitted draft goes back to being written. `sent`: the form that they came by, by
    which its second sending is known."""
    may_draft(by)
    draft.content, draft.policy, draft.change_note, draft.last_sent = content, policy, note.strip(), sent or {}
    draft.state, draft.author, draft.updated_at = Draft.State.WRITING, by, clock.now()
    draft.save()
    return draft


@transaction.atomic
def discard_draft(draft: Draft, *, by: Person) -> None:
    """Throw away what was never approved. The first text of a procedure is kept: without it there is nothing to draft from."""
    may_draft(by)
    refuse_if(
        Refusal("It is the first text of the procedure.", "Change it instead of throwing it away.")
        if newest(draft.procedure) is None
        else None
    )
    draft.delete()


@transaction.atomic
def submit(draft: Draft, *, by: Person) -> Draft:
    """Hand the draft to whoever approves."""
    may_draft(by)
    refuse_if(*faults(draft))
    draft.state, draft.updated_at = Draft.State.SUBMITTED, clock.now()
    draft.save(update_fields=["state", "updated_at"])
    return draft


@transaction.atomic
def approve(draft: Draft, from_day: date, *, site: Site, by: Person, proved: Proved, id: UUID | None = None) -> Version:
    """Put the draft in force from a day, never before today, and never before the version it follows. Signed by whoever
    approves, who proved again who they are."""
    before, today = newest(draft.procedure), clock.today(site.time_zone)
    Draft.objects.select_for_update().get(pk=draft.pk)
    refuse_if(
        *faults(draft),
        Refusal("The draft is not submitted.", "Its author submits it first.")
        if draft.state != Draft.State.SUBMITTED
        else None,
        Refusal(
            "A version is in force from its approval on, not before.",
            f"Choose {short_day(today)} or later.",
            "from_day",
        )
        if from_day < today
        else None,
        Refusal(
            "It would be in force before the version it follows.",
            f"Choose a day after {short_day(before.in_force_from)}.",
            "from_day",
        )
        if before and from_day <= before.in_force_from
        else None,
    )
    content = content_from_json(draft.content)
    version = Version(
        id=id or uuid4(),
        site=site,
        happened_on=today,
        procedure=draft.procedure,
        number=before.number + 1 if before else 1,
        in_force_from=from_day,
        content=draft.content,
        policy=draft.policy,
        critical_when=[step.key for step in content.steps if step.critical and step.when],
        change_note=draft.change_note,
        authored_by=draft.author,
    )
    draft.delete()
    row = record(version, by=by)
    sign_beside(row, APPROVED, by=by, proved=proved)
    return row


def approve_set(
    drafts: Sequence[Draft], from_day: date, *, site: Site, by: Person, proved: Proved, submission: UUID
) -> list[Version]:
    """All of these drafts in force from one day, each signed; all of them, or none. Sent twice, it is once."""
    refuse_if(
        Refusal("None of these drafts waits for approval.", "Open the page again.", "procedures")
        if not drafts
        else None,
        *(replace(each, says=f"{row.procedure.code}: {each.says}") for row in drafts for each in faults(row)),
    )
    with transaction.atomic(), many_facts():
        return [
            approve(row, from_day, site=site, by=by, proved=proved, id=uuid5(submission, row.procedure.code))
            for row in drafts
        ]


def approved_before(submission: UUID, codes: Sequence[str]) -> bool:
    """Whether the same form was sent before and is recorded."""
    return Version.objects.filter(pk__in=[uuid5(submission, code) for code in codes]).exists()


@transaction.atomic
def submit_drafted(codes: Sequence[str], organisation: Organisation, *, by: Person) -> None:
    """Hand every draft of these procedures to whoever approves. Refused with every fault of all of them."""
    rows = list(Draft.objects.filter(procedure__organisation=organisation, procedure__code__in=codes))
    refuse_if(*(replace(each, says=f"{row.procedure.code}: {each.says}") for row in rows for each in faults(row)))
    for row in rows:
        submit(row, by=by)


def check_instructions(
    version: Version,
    title: str,
    edition: str,
    *,
    site: Site,
    by: Person,
    proved: Proved,
    on: date | None = None,
    id: UUID | None = None,
) -> InstructionsCheck:
    """A named person has held the version against the maker's instructions of the unit, which the signature names; today,
    where no day is given."""
    today = clock.today(site.time_zone)
    refuse_if(
        Refusal("The instructions have no title.", "Write what stands on their cover.", "title")
        if not title.strip()
        else None,
        Refusal("The edition is not named.", "Write the edition or the printed date.", "edition")
        if not edition.strip()
        else None,
        Refusal("The day is in the future.", f"Choose {short_day(today)} or earlier.", "day")
        if on and on > today
        else None,
    )
    row = InstructionsCheck(
        id=id or uuid4(), site=site, happened_on=on or today, version=version, title=title.strip(), edition=edition.strip(),
        checked_by=by,
    )  # fmt: skip
    row = record(row, by=by)
    sign_beside(row, HELD.format(title=row.title, edition=row.edition), by=by, proved=proved)
    return row


def retire(
    procedure: Procedure, from_day: date, reason: str, *, site: Site, by: Person, id: UUID | None = None
) -> Retirement:
    """From the day it is no longer taught, and no longer counts as a prerequisite. Sign-offs live on to their last day."""
    already, today = Retirement.objects.filter(pk=id).first() if id else None, clock.today(site.time_zone)
    if already:
        return already
    refuse_if(
        Refusal("It is retired already.", "Nothing to do.")
        if Retirement.objects.live().filter(procedure=procedure).exists()
        else None,
        Refusal("A procedure is retired from today on, never backward.", f"Choose {short_day(today)} or later.", "day")
        if from_day < today
        else None,
        Refusal("Say why it is retired.", "One sentence is enough.", "reason") if not reason.strip() else None,
    )
    row = Retirement(id=id or uuid4(), site=site, happened_on=from_day, procedure=procedure, reason=reason.strip())
    return record(row, by=by)
