"""Asking for a binder, and making it: gathered, frozen, sealed as one fact. A reprint reads the frozen content and nothing else."""

import json
import secrets
from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime, timedelta
from uuid import UUID, uuid4, uuid5

from django.db import transaction
from django.db.models import Max
from django.urls import reverse

from clinic import clock
from clinic.changes import change, make
from clinic.models import Person, Site
from clinic.permissions import May
from clinic.record import Refusal, only_if_allowed, record, refuse_if
from clinic.rights import here
from clinic.rules.jumps import TOLERANCE, stepped_back
from clinic.rules.seal import sha256_hex
from clinic.rules.words import short_day
from training.documents.binder.build import build
from training.documents.binder.content import BinderContent
from training.models import BinderJob, InspectorPass, Issue, PassUsed
from training.papers import keep_once_recorded
from training.reads.binder.asked import BinderAsked
from training.reads.binder.gather import STEPS, gather_binder, origin
from training.rules.frozen import frozen_digest

READS = here(May.READ_SITE)
Tell = Callable[[int, int, str], None]
MOST_A_MINUTE = 5  # ASVS 2.4.1: costly work is asked for at a human pace
RUNNING = (BinderJob.State.QUEUED, BinderJob.State.RUNNING)
GATHERED = 40  # of a hundred: how far the bar is when everything is gathered


@transaction.atomic
def request_binder(
    site: Site,
    first: date,
    last: date,
    as_of: date,
    *,
    in_full: bool,
    paper: str,
    by: Person | None,
    id: UUID | None = None,
) -> BinderJob:
    """Put a binder into the queue. The same request twice is one job."""
    only_if_allowed(None if by is None else READS.against(by, None, site))
    Site.objects.select_for_update().get(pk=site.pk)
    earlier = BinderJob.objects.filter(pk=id).first() if id else None
    if earlier:
        return earlier
    refuse_if(*against(site, first, last, as_of), too_fast(site, by))
    return BinderJob.objects.create(
        id=id or uuid4(), site=site, first=first, last=last, as_of=as_of, in_full=in_full, paper=paper, requested_by=by,
        requested_at=after_the_last(site), total=100, says="Waiting for its turn.",
    )  # fmt: skip


@transaction.atomic
def request_pack(issue: Issue, *, by: Person) -> BinderJob:
    """Put the evidence of a binder into the queue. One that waits or is being made is not begun twice."""
    site = issue.site
    only_if_allowed(READS.against(by, None, site))
    Site.objects.select_for_update().get(pk=site.pk)
    running = issue.pack_jobs.filter(state__in=RUNNING).first()
    if running:
        return running
    refuse_if(too_fast(site, by))
    content = issue.frozen["content"]
    days = {name: date.fromisoformat(content[name]) for name in ("first", "last", "as_of")}
    return BinderJob.objects.create(
        site=site, **days, in_full=not content["short"], paper=content["paper"], requested_by=by, pack_of=issue,
        requested_at=after_the_last(site), total=100, says="Waiting for its turn.",
    )  # fmt: skip


def against(site: Site, first: date, last: date, as_of: date) -> list[Refusal | None]:
    today = clock.today(site.time_zone)
    return [
        Refusal("The last day is before the first.", "Write the earlier day first.", "last") if last < first else None,
        Refusal("The last day is still to come.", f"Choose {short_day(today)} or earlier.", "last") if last > today else None,
        Refusal("The day of the matrix is still to come.", f"Choose {short_day(today)} or earlier.", "as_of") if as_of > today else None,
        Refusal(f"The register starts on {short_day(site.register_start)}.", "Choose that day or later.", "last")
        if last < site.register_start
        else None,
    ]  # fmt: skip


def after_the_last(site: Site) -> datetime:
    """Now, but always later than the request before it, so that requests have one order and numbers are given once."""
    now = clock.now()
    jobs = BinderJob.objects.filter(site=site)
    newest = jobs.aggregate(at=Max("requested_at"))["at"]
    if stepped_back(newest, now):  # what a wrong clock stamped must not drag what follows with it
        newest = jobs.filter(requested_at__lte=now + TOLERANCE).aggregate(at=Max("requested_at"))["at"]
    return newest + timedelta(microseconds=1) if newest and newest >= now else now


def too_fast(site: Site, by: Person | None) -> Refusal | None:
    since = clock.now() - timedelta(minutes=1)
    asked = BinderJob.objects.filter(site=site, requested_by__isnull=False, requested_at__gt=since).count()
    if by is None or asked < MOST_A_MINUTE:
        return None
    return Refusal("Five binders or packs were asked for within a minute.", "Wait a minute, and ask again.")


def call_off(job: BinderJob, *, by: Person) -> None:
    """What is made of it is thrown away at its next step, and nothing was issued. A binder that is made stays made."""
    says = f"Called off by {by.printed_name}. Nothing was issued."
    BinderJob.objects.filter(pk=job.pk, state__in=RUNNING).update(
        state=BinderJob.State.CALLED_OFF, says=says[:200], lease_until=None
    )


def gathered(job: BinderJob, tell: Tell) -> tuple[BinderContent, list[str]]:
    """What the binder will say, with its number and code, and the ids of the facts it rests on."""
    asked = BinderAsked(job.site, job.first, job.last, job.as_of, job.in_full, job.paper)
    content = gather_binder(asked, lambda done, total, says: tell(GATHERED * done // STEPS, 100, f"Gathering {says}."))
    page = reverse("training:binder", kwargs={"site": job.site.code, "issue": issue_id(job)})
    address = f"{origin()}{page}" if origin() else ""
    code = secrets.token_urlsafe(12)
    return replace(content, number=number_of(job), code=code, check_url=address), sorted(asked.facts)


def issue_id(job: BinderJob) -> UUID:
    """The same however often the job is begun, so that it is issued once."""
    return uuid5(job.pk, "issue")


def number_of(job: BinderJob) -> str:
    """Site, year and a running number of the requests of that year, such as high-street-2026-B0003."""
    year = job.requested_at.year
    binders = BinderJob.objects.filter(site=job.site, pack_of__isnull=True)
    before = binders.filter(requested_at__year=year, requested_at__lt=job.requested_at).count()
    return f"{job.site.code}-{year}-B{before + 1:04d}"


def drawn(content: BinderContent, tell: Tell) -> bytes:
    return build(
        content,
        progress=lambda done, total, says: tell(
            GATHERED + (99 - GATHERED) * done // max(total, 1), 100, f"Drawing: {says}."
        ),
    )


def issue_binder(job: BinderJob, content: BinderContent, facts: list[str], pdf: bytes) -> Issue:
    """The fact that this binder was issued, with its content frozen and the digest of its file. Called in the transaction
    that ends the job."""
    pk, frozen = issue_id(job), {"content": json.loads(content.to_json()), "facts": facts}
    row = Issue(
        id=pk, site=job.site, happened_on=clock.today(job.site.time_zone), happened_at=clock.time_of_day(job.site.time_zone),
        document=Issue.Kind.BINDER, number=content.number, code=content.code, frozen=frozen,
        frozen_digest=frozen_digest(pk, frozen), file_digest=sha256_hex(pdf),
    )  # fmt: skip
    issued = record(row, by=job.requested_by)
    keep_once_recorded(issued, pdf)
    return issued


@transaction.atomic
def give_pass(issue: Issue, person: Person, until: date, *, site: Site, by: Person) -> InspectorPass:
    """An inspector reads this binder, and the facts it rests on, through the day. Given again, it moves the day; given
    again after it was taken back, it is a new pass."""
    today = clock.today(site.time_zone)
    refuse_if(
        Refusal("That day is over.", "Choose today or later.", "until") if until < today else None,
        Refusal("That is more than a year.", "Choose a day within a year.", "until") if until > today + timedelta(days=366) else None,
        Refusal("This is no binder of this site.", "Choose one of the list.") if issue.site_id != site.pk else None,
    )  # fmt: skip
    row = InspectorPass.objects.filter(issue=issue, person=person, taken_back_at__isnull=True).first()
    said = f"{person} may read binder {issue.number} through {short_day(until)}."
    if row is None:
        return make(InspectorPass(issue=issue, person=person, until=until, given_by=by), site=site, by=by, said=said)
    row.until, row.given_by = until, by
    change(row, site=site, by=by, said=said, only=["until", "given_by_id"])
    return row


@transaction.atomic
def take_back_pass(row: InspectorPass, *, site: Site, by: Person) -> InspectorPass:
    """From this instant the pass opens nothing. Taken back twice, it was taken back once."""
    if row.taken_back_at is not None:
        return row
    row.taken_back_at = clock.now()
    said = f"{row.person} may no longer read binder {row.issue.number}."
    change(row, site=site, by=by, said=said, only=["taken_back_at"])
    return row


def use_pass(row: InspectorPass, what: PassUsed.What, opened: UUID, *, by: Person) -> PassUsed:
    """The fact that a pass was used, before what it opens is shown: unrecorded, nothing is opened."""
    site = row.issue.site
    used = PassUsed(
        site=site, happened_on=clock.today(site.time_zone), happened_at=clock.time_of_day(site.time_zone),
        inspector_pass=row, what=what, opened=opened,
    )  # fmt: skip
    return record(used, by=by)
