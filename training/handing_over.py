"""A paper as it leaves the register: as it was issued, and signed with the practice's own key where it has one.

The kept file and the digest in its seal are of the unsigned paper. What is not in force any more is not signed.
"""

from clinic import clock
from clinic.rules.late import Late
from training.models import Issue
from training.paper_key import NotSigned, is_on, paper_key
from training.papers import printed_again

signature = Late("training.paper_signature")  # few practices sign, and what signs takes a while to load


def handed_over(issue: Issue, across: str = "", *, unsigned: bool = False) -> bytes:
    """The file for whoever asked for it. Raises `papers.Differs`, and NotSigned where it is to be signed and cannot be."""
    pdf = printed_again(issue, across)
    return pdf if across or unsigned or not is_on() else signed(issue, pdf)


def signed(issue: Issue, pdf: bytes) -> bytes:
    key, now = paper_key(), clock.now()
    if says := key.ended(now):
        raise NotSigned(says)
    content = issue.frozen.get("content", issue.frozen)  # a binder's lies beside the facts it rests on
    practice, place = content["organisation"], content["site"]
    reason = f"{issue.get_document_display()} {issue.number}, as {practice} issued it. It is no licence."
    return signature.signed(pdf, key.pkcs12, key.passphrase, signature.Signed(practice, place, reason), now)
