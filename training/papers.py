"""The files of what was issued: kept beside the database, drawn again where they are lost, and never served when they differ.

The digest of the file stands in the fact of its issue, so the seal covers every byte of the paper.
"""

import logging
import os
from collections.abc import Iterable
from hashlib import sha256
from pathlib import Path

from django.conf import settings
from django.db import transaction

from clinic.models import Site
from clinic.seals import Break
from training.documents import certificate
from training.documents.binder import build as binder
from training.documents.binder.content import BinderContent
from training.documents.certificate_content import CertificateContent
from training.models import Issue

log = logging.getLogger(__name__)


class Differs(Exception):
    """Neither the kept file nor a new drawing is what was issued. Nothing is shown."""

    def __init__(self, issue: Issue) -> None:
        super().__init__(
            f"The file of {issue.number} is not the one that was issued, so it is not shown. Put the file "
            f"{issue.pk}.pdf back from a backup of the documents; for a certificate, another can be issued."
        )


def draw(issue: Issue) -> bytes:
    """The paper from the frozen content and nothing else."""
    if issue.document == Issue.Kind.CERTIFICATE:
        return certificate.build(CertificateContent.from_plain(issue.frozen))
    return binder.build(BinderContent.from_plain(issue.frozen["content"]))


def is_issued(issue: Issue, pdf: bytes) -> bool:
    return sha256(pdf).hexdigest() == issue.file_digest


def place_of(issue: Issue) -> Path:
    return settings.DOCUMENTS_DIR / f"{issue.pk}.pdf"


def keep(issue: Issue, pdf: bytes) -> None:
    """A copy beside the database, so that it need not be drawn again. Written aside and moved into place."""
    place = place_of(issue)
    place.parent.mkdir(parents=True, exist_ok=True)
    aside = place.with_name(f".{issue.pk}.{os.getpid()}")
    aside.write_bytes(pdf)
    aside.replace(place)


def keep_once_recorded(issue: Issue, pdf: bytes) -> None:
    transaction.on_commit(lambda: keep(issue, pdf))


def paper(issue: Issue) -> bytes:
    """The file as it was issued, byte for byte. A kept file that differs is left where it lies, for whoever looks into it.
    Raises Differs where what was issued cannot be had."""
    place = place_of(issue)
    kept = place.read_bytes() if place.exists() else None
    if kept is not None and is_issued(issue, kept):
        return kept
    drawn = draw(issue)
    if not is_issued(issue, drawn):
        raise Differs(issue)
    if kept is None:
        try:
            keep(issue, drawn)
        except OSError:  # a full or read-only disk keeps nobody from the paper
            log.exception("The file of %s could not be kept.", issue.number)
    return drawn


def printed_again(issue: Issue, across: str) -> bytes:
    """The paper; a certificate that is not in force any more with that printed across it. Raises Differs as `paper` does."""
    issued = paper(issue)
    if not across:
        return issued
    return certificate.build(CertificateContent.from_plain(issue.frozen), across=across)


def kept_papers(site: Site) -> Iterable[Break]:
    """Every kept file against the digest in the fact of its issue: a part of the check of the seals."""
    for issue in Issue.objects.filter(site=site).defer("frozen").iterator():
        place = place_of(issue)
        if place.exists() and not is_issued(issue, place.read_bytes()):
            yield Break(
                0,
                issue.fact_kind(),
                str(issue.pk),
                f"the kept file of {issue.number} is not the one that was issued",
                "papers",
            )
