"""A paper signed with the practice's own key, held by two programs that did not draw it, one of which did not sign it either."""

import subprocess
from collections.abc import Callable
from hashlib import sha256
from io import BytesIO
from pathlib import Path
from shutil import which
from typing import Any

import pytest
from asn1crypto import x509
from cryptography.hazmat.primitives.serialization import Encoding
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign.diff_analysis import ModificationLevel
from pyhanko.sign.validation import SignatureCoverageLevel, validate_pdf_signature
from pyhanko_certvalidator import ValidationContext

from clinic.verify import parts
from tests import paper_keys
from tests.documents.papers import SIGNED_AT, paper
from training.paper_signature import Signed, signed

SAYS = Signed("Quayside Dental", "Harbour Row", "Issued by Quayside Dental.")
Holds = Callable[[bytes], bool]


def said_of(data: bytes) -> Any:
    """What the library's own reader says. It trusts the practice's certificate and no other, and asks nobody."""
    root = x509.Certificate.load(paper_keys.practice()[1].public_bytes(Encoding.DER))
    (found,) = PdfFileReader(BytesIO(data)).embedded_signatures
    return validate_pdf_signature(found, ValidationContext(trust_roots=[root], allow_fetching=False, moment=SIGNED_AT))


def holds_by_library(data: bytes) -> bool:
    return bool(said_of(data).bottom_line)


def holds_by_program(data: bytes, folder: Path) -> bool:
    file = folder / "paper.pdf"
    file.write_bytes(data)
    told = subprocess.run(["pdfsig", "-nocert", file], capture_output=True, text=True, check=False).stdout
    return "Signature is Valid." in told and "Total document signed" in told


@pytest.fixture(params=["the library that signs", "another program"])
def holds(request: pytest.FixtureRequest, tmp_path: Path) -> Holds:
    if request.param == "the library that signs":
        return holds_by_library
    if which("pdfsig") is None:
        pytest.skip("pdfsig of poppler-utils is not here")
    return lambda data: holds_by_program(data, tmp_path)


@pytest.mark.parametrize("name", ("certificate", "binder"))
def test_a_signed_paper_holds(name: str, holds: Holds) -> None:
    assert holds(paper(f"signed {name}"))


@pytest.mark.parametrize("altered", (b"/Page\n", b"as Quayside"))
def test_one_altered_byte_in_what_was_added_is_found(altered: bytes, holds: Holds) -> None:
    data = paper("signed certificate")
    at = data.rindex(altered) + 1
    assert not holds(data[:at] + bytes([data[at] ^ 1]) + data[at + 1 :])


def test_one_altered_byte_in_the_paper_is_found(holds: Holds) -> None:
    data = paper("signed certificate")
    at = data.index(b"dc:title") + 40
    assert not holds(data[:at] + bytes([data[at] ^ 1]) + data[at + 1 :])


def test_it_is_over_the_whole_file_at_the_instant_given() -> None:
    says = said_of(paper("signed binder"))
    assert says.coverage == SignatureCoverageLevel.ENTIRE_FILE and says.modification_level == ModificationLevel.NONE
    assert says.signer_reported_dt == SIGNED_AT


def test_another_certificate_is_not_taken_for_the_practices() -> None:
    """Made by somebody who gave it the practice's name."""
    other = paper_keys.of_bits(2048)
    assert not holds_by_library(
        signed(paper("certificate"), paper_keys.pkcs12(other), b"four plain words here", SAYS, SIGNED_AT)
    )


def test_an_rsa_key_signs_too(tmp_path: Path) -> None:
    data = signed(
        paper("certificate"), paper_keys.pkcs12(paper_keys.of_bits(2048)), b"four plain words here", SAYS, SIGNED_AT
    )
    (found,) = PdfFileReader(BytesIO(data)).embedded_signatures
    assert found.signer_info["signature_algorithm"].signature_algo == "rsassa_pkcs1v15"


@pytest.mark.parametrize("name", ("certificate", "binder"))
def test_its_first_part_is_the_unsigned_paper_byte_for_byte(name: str) -> None:
    """So its digest can still be held against the seal of its issue."""
    whole, unsigned = paper(f"signed {name}"), paper(name)
    end, digest = next(parts(whole))
    assert whole[:end] == unsigned and digest == sha256(unsigned).hexdigest() and end < len(whole)


def test_it_says_whose_it_is_where_and_why() -> None:
    (found,) = PdfFileReader(BytesIO(paper("signed binder"))).embedded_signatures
    words = {name: str(found.sig_object[name]) for name in ("/Name", "/Location", "/Reason")}
    assert words == {
        "/Name": "Quayside Dental", "/Location": "Harbour Row",
        "/Reason": "Binder quay-2026-B0001, as Quayside Dental issued it.",
    }  # fmt: skip


def test_letters_beyond_ascii_are_said_as_they_are() -> None:
    says = Signed("Zahnärzte Łódź", "Ærø", "Ausgestellt · №7")
    data = signed(paper("certificate"), paper_keys.practice()[0], b"four plain words here", says, SIGNED_AT)
    (found,) = PdfFileReader(BytesIO(data)).embedded_signatures
    assert str(found.sig_object["/Name"]) == "Zahnärzte Łódź" and holds_by_library(data)
