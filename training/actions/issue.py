"""Issuing certificates: the content is frozen when it is issued, and a reprint reads nothing else."""

import json
import secrets
from collections.abc import Iterator
from datetime import date
from uuid import UUID, uuid4

from django.conf import settings
from django.db import transaction
from django.urls import reverse

from clinic import clock
from clinic.models import Person, Site
from clinic.record import Refusal, record, refuse_if
from clinic.rules.letters import SUPPLY, lacks, not_printed
from clinic.rules.seal import sha256_hex
from training.documents.certificate import CertificateContent, build
from training.documents.content import texts_in
from training.models import Issue, SignOff, StandingSpan
from training.papers import keep_once_recorded
from training.reads.certificate import IssueIdentity, content_from, content_of
from training.rules.frozen import frozen_digest


@transaction.atomic
def issue_certificate(
    signed: SignOff, *, by: Person | None, code: str = "", origin: str = "", id: UUID | None = None
) -> Issue:
    """The certificate of a sign-off, with its content frozen. Asked again, it is the same one.

    `code` leads to the check page and is made so that nobody guesses it; `origin` is the scheme and host that the paper
    names ("https://register.example"); where nobody knows it, the paper names no address. Refused where the sign-off does not stand, was renewed, or holds no longer.
    """
    site = Site.objects.select_for_update().get(pk=signed.site_id)
    earlier = Issue.objects.live().filter(sign_off=signed).first()
    if earlier:
        return earlier
    day, pk, code = clock.today(site.time_zone), id or uuid4(), code or secrets.token_urlsafe(12)
    refuse_if(*refusals(signed, day))
    replaced = (
        Issue.objects.live()
        .filter(person=signed.person, procedure=signed.version.procedure, replaced_by__isnull=True)
        .last()
    )
    origin = (origin or next(iter(settings.CSRF_TRUSTED_ORIGINS), "")).rstrip("/")
    address = f"{origin}{reverse('training:certificate_check', args=[code])}" if origin else ""
    identity = IssueIdentity(next_number(site, day), code, address, day, replaced.number if replaced else "")
    content = content_of(signed, identity)
    refuse_if(*against_letters(content))
    frozen = json.loads(content.to_json())
    pdf = build(content_from(frozen))
    row = Issue(
        id=pk, site=site, happened_on=day, happened_at=clock.time_of_day(site.time_zone), document=Issue.Kind.CERTIFICATE,
        number=identity.number, code=code, frozen=frozen, frozen_digest=frozen_digest(pk, frozen), person=signed.person,
        procedure=signed.version.procedure, sign_off=signed, replaces=replaced, file_digest=sha256_hex(pdf),
    )  # fmt: skip
    issued = record(row, by=by)
    keep_once_recorded(issued, pdf)
    return issued


def refusals(signed: SignOff, day: date) -> list[Refusal]:
    newer = SignOff.objects.live().filter(
        person=signed.person, version__procedure=signed.version.procedure, recorded_at__gt=signed.recorded_at
    )
    usable = StandingSpan.objects.on(day).usable().filter(person=signed.person, procedure=signed.version.procedure)
    checks = [
        (
            not SignOff.objects.live().filter(pk=signed.pk).exists(),
            "This sign-off was taken back.",
            "Sign again, then issue.",
        ),
        (newer.exists(), "A later sign-off took its place.", "Issue the certificate of the later one."),
        (not usable.exists(), f"{signed.person} may not work alone in it today.", "Bring it up to date first."),
    ]
    return [Refusal(says, supply) for wrong, says, supply in checks if wrong]


def against_letters(content: CertificateContent) -> Iterator[Refusal]:
    """A certificate says each word as it is, or is not issued."""
    for words in texts_in(content):
        if missing := not_printed(words):
            yield Refusal(
                f"{lacks(missing)} The certificate would say: {words}", f"{SUPPLY} A name is changed under People."
            )


def next_number(site: Site, day: date) -> str:
    """Site, year and a running number, such as harbour-row-2026-0017. The caller holds the site's row."""
    before = Issue.objects.filter(site=site, document=Issue.Kind.CERTIFICATE, happened_on__year=day.year).count()
    return f"{site.code}-{day.year}-{before + 1:04d}"


def is_whole(issue: Issue) -> bool:
    """Whether the frozen content is still what was issued under this id."""
    return issue.frozen_digest == frozen_digest(issue.pk, issue.frozen)
