"""Who may sign: every reason against it at once, each with what supplies it.

Not oneself; authority alive that day for the procedure at that site; usable in it that day; the version in force
and checked against the maker's instructions; evidence enough on that day.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum

from training.rules.evidence import EvidenceDetail, PieceKind
from training.rules.facts import Evidence
from training.rules.sentence import sentence
from training.rules.standing import StandingSpan
from training.rules.wording import NO_NAMES, piece_missing


class Code(StrEnum):
    """Why something may not be signed. The pieces of evidence carry their own kind as their code."""

    SELF = "self"
    NO_AUTHORITY = "no authority"
    SIGNER_NOT_USABLE = "signer not usable"
    NOT_IN_FORCE = "version not in force"
    NOT_CHECKED = "not checked against the maker’s instructions"
    NO_EVIDENCE = "no evidence"


@dataclass(frozen=True, slots=True)
class SigningRefusal:
    """One reason against signing, as a sentence, and what supplies what is missing."""

    code: Code | PieceKind
    says: str
    supply: str


def may_sign(
    *,
    person: str,
    signer: str,
    has_authority: bool,
    signer_standing: StandingSpan,
    detail: EvidenceDetail,
    checked: bool,
    names: Mapping[str, str] = NO_NAMES,
) -> tuple[SigningRefusal, ...]:
    """Every reason why the signer may not sign the person off on the day of the detail; empty when it may be signed.

    `has_authority`: for the procedure at the site on that day. `signer_standing`: the signer's own span of that day
    in the same procedure. `checked`: the version in force was checked against the maker's instructions. `names`:
    titles of procedures and words of steps.
    """
    found = [*against_the_signer(person, signer, has_authority, signer_standing, names)]
    if detail.version is None:
        says = "No version of this procedure is in force that day."
        return (
            *found,
            SigningRefusal(Code.NOT_IN_FORCE, says, "Wait for its day, or let the owner approve a version."),
        )
    if not checked:
        supply = "Compare it with them and record title, edition, by whom and when."
        found.append(
            SigningRefusal(Code.NOT_CHECKED, "This version was not checked against the maker’s instructions.", supply)
        )
    return (*found, *against_the_evidence(detail, names))


def against_the_signer(
    person: str, signer: str, has_authority: bool, signer_standing: StandingSpan, names: Mapping[str, str]
) -> Iterator[SigningRefusal]:
    if person == signer:
        yield SigningRefusal(Code.SELF, "Nobody signs for themselves.", "Let another supervisor sign.")
    if not has_authority:
        supply = "Ask the owner for authority, or let somebody who has it sign."
        yield SigningRefusal(Code.NO_AUTHORITY, "You have no authority for this procedure here that day.", supply)
    if not signer_standing.state.is_usable:
        says = f"You may not work alone in it yourself that day. {sentence(signer_standing, names)}"
        yield SigningRefusal(
            Code.SIGNER_NOT_USABLE,
            says,
            "Renew your own sign-off first, or let somebody sign who may work alone in it.",
        )


def against_the_evidence(detail: EvidenceDetail, names: Mapping[str, str]) -> Iterator[SigningRefusal]:
    for piece in detail.missing:
        yield SigningRefusal(piece.kind, *piece_missing(piece, names))
    if not detail.missing and detail.evidence is not Evidence.ENOUGH:
        supply = "Record what was seen."
        yield SigningRefusal(Code.NO_EVIDENCE, "No observation and no result counts that day.", supply)
