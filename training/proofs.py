"""Proofs about an issued file and about heads that were held, for somebody without the database (`clinic/verify.py`)."""

from collections.abc import Sequence
from hashlib import sha256
from pathlib import Path
from typing import Any

from clinic.checkpoints import extends, head, leaves, proof_of, signed
from clinic.models import Seal, Site
from clinic.rules.merkle import inclusion
from clinic.rules.seal import canonical, link_text
from clinic.seals import Break, facts_of, wrong_fact
from clinic.verify import LogHead, longer, parts
from training.models import Issue


class Unproved(Exception):
    """What was to be proved does not hold, in words."""


def issue_of(file: Path) -> Issue:
    """The issue whose file this is, byte for byte, or begins with: one that was handed over signed."""
    data = file.read_bytes()
    found = sha256(data).hexdigest()
    digests = [found, *(digest for _, digest in parts(data))]
    row = Issue.objects.filter(file_digest__in=digests).select_related("site__organisation").first()
    if row is None:
        raise Unproved(f"{file} is not a file that this register issued: no fact holds its digest, {found}.")
    return row


def refuse_longer(file: Path, issue: Issue) -> None:
    """What was added behind a paper is not what was issued, whoever added it. Unproved where there is any."""
    data = file.read_bytes()
    end = next((end for end, digest in parts(data) if digest == issue.file_digest), len(data))
    if end < len(data):
        raise Unproved(longer(file, end, issue.number, len(data)))


def broken_issue(issue: Issue) -> list[Break]:
    """What does not hold about the seal of the issue itself."""
    seal = Seal.objects.select_related("shape").filter(fact=issue.pk, site=issue.site).first()
    if seal is None:
        return [Break(0, issue.fact_kind(), str(issue.pk), "the issue has no seal")]
    fact = facts_of([seal]).get(issue.pk)
    says = wrong_fact(seal, fact, seal.shape.covers)
    return [Break(seal.position, seal.kind, str(seal.fact), each) for each in says]


def proof(site: Site, held: Sequence[LogHead], issue: Issue | None = None) -> dict[str, Any]:
    """The newest checkpoint of the site, the seal of the issue in it, and its consistency with each head that was held.
    Unproved where any of that does not hold."""
    log, now = leaves(site), head(site)
    if says := extends(log, now):
        raise Unproved(f"{site}: {says}. Run “manage.py seals check”.")
    for each in held:
        if says := extends(log, each):
            raise Unproved(f"{site}: {says}.")
    paths = {str(each.size): proof_of(log, each) for each in held}
    entry = {"entry": entry_of(issue, log)} if issue else {}
    return {"checkpoint": signed(now), "consistency": paths, **entry}


def entry_of(issue: Issue, log: Sequence[bytes]) -> dict[str, Any]:
    if broken := broken_issue(issue):
        raise Unproved(f"{issue.number}: {broken[0].says}.")
    seal = Seal.objects.select_related("shape").get(fact=issue.pk)
    return {
        "link": link_text(seal.sealed, seal.form).decode(),
        "content": canonical(issue.sealed_content(seal.shape.covers)).decode(),
        "path": [node.hex() for node in inclusion(log, seal.position - 1)],
    }
