"""The practice's own signature behind a paper that was issued: an update added to its file, whose first part stays what it was,
byte for byte, so that its digest can still be held against the seal of its issue.

By PAdES, level B-B (ETSI EN 319 142-1), and without the network: no server says when it was made. It has no place on the page;
its field lies outside of what is printed, as PDF/A-2 (6.3.3) and PDF/UA-1 (7.18.4) ask of one that is not shown.
"""

from dataclasses import dataclass
from datetime import datetime
from io import BytesIO
from typing import Any

from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.sign.fields import InvisSigSettings, SigFieldSpec, SigSeedSubFilter, append_signature_field
from pyhanko.sign.signers import PdfSignatureMetadata, PdfSigner, SimpleSigner

FIELD = "Practice"
NOT_SHOWN = InvisSigSettings(set_print_flag=True, set_hidden_flag=False, box_out_of_bounds=True)


@dataclass(frozen=True, slots=True)
class Signed:
    """What the signature says in words: whose it is, of which place, and why; beside what the certificate says."""

    name: str
    place: str
    reason: str


class Added(IncrementalPdfFileWriter):
    """What is added. Title, maker and days of the paper are those of its issue, and stay."""

    def _update_meta(self) -> None:
        """The library would write itself down as the maker of the paper, and this instant as the day of its making."""


class SignedAt(PdfSigner):
    """Signs at an instant that it is given, not at one that it asks the computer for."""

    at: datetime

    def init_signing_session(self, *given: Any, **named: Any) -> Any:
        session = super().init_signing_session(*given, **named)
        session.system_time = self.at
        return session


def signed(pdf: bytes, pkcs12: bytes, passphrase: bytes | None, says: Signed, at: datetime) -> bytes:
    """The paper with the signature behind it. `pkcs12`: key and certificate, with those that lead to its root where it has any."""
    key = SimpleSigner.load_pkcs12_data(pkcs12, other_certs=[], passphrase=passphrase)
    file = Added(BytesIO(pdf))
    place = SigFieldSpec(FIELD, readable_field_name=says.reason, invis_sig_settings=NOT_SHOWN)
    append_signature_field(file, place)
    words = PdfSignatureMetadata(
        FIELD, md_algorithm="sha256", name=says.name, location=says.place, reason=says.reason, subfilter=SigSeedSubFilter.PADES
    )  # fmt: skip
    hand = SignedAt(words, signer=key)
    hand.at = at
    out = BytesIO()
    hand.sign_pdf(file, existing_fields_only=True, output=out)
    return out.getvalue()
