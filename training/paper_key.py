"""The key that papers are signed with when they are handed over, where the practice has one; and what is wrong with it, in words.

Off unless `MILLROOM_PAPER_KEY` names a file. What does not get right by itself stops the start. A certificate that ended does
not, or one morning nobody could work: it is said at the start, and to whoever opens a paper, who may have it without.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from cryptography import x509
from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey
from cryptography.hazmat.primitives.asymmetric.rsa import RSAPrivateKey
from cryptography.hazmat.primitives.serialization.pkcs12 import load_key_and_certificates
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID
from django.conf import settings
from django.core.checks import CheckMessage, Error, Warning

from clinic import clock
from clinic.rules.words import day_words

FILE, PASSPHRASE = "MILLROOM_PAPER_KEY", "MILLROOM_PAPER_KEY_PASSPHRASE"
SOON = timedelta(days=30)
LEAST_BITS = 2048  # NIST SP 800-131A Rev. 2, table 2 (from memory): a shorter RSA key signs nothing any more
# What a certificate for these alone is made for is not a signature under a paper (purposes by RFC 5280, 4.2.1.12).
OTHER_PURPOSES = {
    ExtendedKeyUsageOID.SERVER_AUTH, ExtendedKeyUsageOID.CODE_SIGNING, ExtendedKeyUsageOID.TIME_STAMPING,
    ExtendedKeyUsageOID.OCSP_SIGNING,
}  # fmt: skip


class NotSigned(Exception):
    """A paper cannot be signed, in words that name the setting and the remedy."""


@dataclass(frozen=True, slots=True)
class PaperKey:
    pkcs12: bytes
    passphrase: bytes | None
    certificate: x509.Certificate

    @property
    def named(self) -> str:
        """Whose it is, as its certificate says."""
        found = self.certificate.subject.get_attributes_for_oid(NameOID.COMMON_NAME)
        return str(found[0].value) if found else self.certificate.subject.rfc4514_string()

    def ended(self, at: datetime) -> str:
        """Why it does not count at this instant; nothing while it does."""
        first, last = self.certificate.not_valid_before_utc, self.certificate.not_valid_after_utc
        if at < first:
            return f"{FILE}: the certificate of {self.named} counts from {day_words(first.date())} only."
        if at > last:
            return f"{FILE}: the certificate of {self.named} ended on {day_words(last.date())}. Put a newer one in its place."
        return ""

    def ends_soon(self, at: datetime) -> str:
        last = self.certificate.not_valid_after_utc
        says = f"{FILE}: the certificate of {self.named} ends on {day_words(last.date())}. Ask for the next one."
        return says if at <= last < at + SOON else ""


def is_on() -> bool:
    return settings.PAPER_KEY is not None


def paper_key() -> PaperKey:
    """Read anew each time, so that one that was replaced is used at once. NotSigned where it cannot sign; whether it ended is
    asked apart."""
    if find_spec("pyhanko") is None:
        raise NotSigned(f"{FILE} is set, and what signs is not installed: run .venv/bin/pip install -c .ci/constraints.txt -e '.[signing]'.")  # fmt: skip
    place, lies = settings.PAPER_KEY, settings.PAPER_KEY_PASSPHRASE
    assert place is not None
    data = read(
        place, FILE, "Put the PKCS#12 file of the practice there, or leave the setting out: papers are then not signed."
    )
    words = read(lies, PASSPHRASE, "Write the passphrase on its first line.") if lies else None
    passphrase = words.split(b"\n")[0].rstrip(b"\r") if words else None
    try:
        key, certificate, _ = load_key_and_certificates(data, passphrase)
    except ValueError as wrong:
        asked = (
            f"the passphrase in {lies} does not open it"
            if lies
            else f"it needs a passphrase ({PASSPHRASE} names its file)"
        )
        raise NotSigned(f"{FILE}: {place} cannot be opened: {asked}, or it is no PKCS#12 file.") from wrong
    if key is None or certificate is None:
        raise NotSigned(f"{FILE}: {place} holds no key with its certificate. Export both into one PKCS#12 file.")
    if says := next(unfit(key, certificate), ""):
        raise NotSigned(f"{FILE}: {says} Ask for a certificate for signing documents.")
    return PaperKey(data, passphrase, certificate)


def read(place: Path, setting: str, remedy: str) -> bytes:
    try:
        return place.read_bytes()
    except OSError as wrong:
        raise NotSigned(f"{setting}: {place} cannot be read ({wrong.strerror}). {remedy}") from wrong


def unfit(key: Any, certificate: x509.Certificate) -> Iterator[str]:
    """Why no paper is signed with it, whatever the day."""
    if not isinstance(key, (RSAPrivateKey, EllipticCurvePrivateKey)):
        yield "its key is neither RSA nor of an elliptic curve."
    elif isinstance(key, RSAPrivateKey) and key.key_size < LEAST_BITS:
        yield f"its key has {key.key_size} bits, and {LEAST_BITS} are the least."
    if key.public_key() != certificate.public_key():
        yield "the certificate in it is of another key."
    used = extension(certificate, x509.KeyUsage)
    if used is not None and not (used.digital_signature or used.content_commitment):
        yield "its certificate is not for signatures (key usage)."
    purposes = extension(certificate, x509.ExtendedKeyUsage)
    if purposes is not None and set(purposes) <= OTHER_PURPOSES:
        yield "its certificate is for a server or a program, not for documents (extended key usage)."


def extension(certificate: x509.Certificate, kind: Any) -> Any:
    try:
        return certificate.extensions.get_extension_for_class(kind).value
    except x509.ExtensionNotFound:
        return None


def looked_at(**_: Any) -> list[CheckMessage]:
    """What Django is told at each start and by `manage.py check`."""
    if not is_on():
        return []
    try:
        key = paper_key()
    except NotSigned as wrong:
        return [Error(str(wrong), id="training.E001")]
    says = key.ended(clock.now()) or key.ends_soon(clock.now())
    return [Warning(says, id="training.W001")] if says else []
