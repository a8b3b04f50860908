"""Keys that papers are signed with, made for a test: fit for it, and unfit in one way each."""

from datetime import UTC, datetime, timedelta
from functools import cache
from typing import Any

from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec, rsa
from cryptography.hazmat.primitives.serialization import (
    BestAvailableEncryption,
    KeySerializationEncryption,
    NoEncryption,
)
from cryptography.hazmat.primitives.serialization.pkcs12 import serialize_key_and_certificates
from cryptography.x509.oid import NameOID

PASSPHRASE = "four plain words here"
FROM = datetime(2020, 1, 1, tzinfo=UTC)
PRACTICE = "Quayside Dental"


@cache
def elliptic() -> ec.EllipticCurvePrivateKey:
    return ec.generate_private_key(ec.SECP256R1())


@cache
def of_bits(bits: int) -> rsa.RSAPrivateKey:
    return rsa.generate_private_key(65537, bits)


def used_for(*uses: str) -> x509.KeyUsage:
    known = (
        "digital_signature", "content_commitment", "key_encipherment", "data_encipherment", "key_agreement", "key_cert_sign",
        "crl_sign", "encipher_only", "decipher_only",
    )  # fmt: skip
    return x509.KeyUsage(**{each: each in uses for each in known})


SIGNS = used_for("digital_signature", "content_commitment")


def certificate(
    key: Any, first: datetime = FROM, last: datetime | None = None, usage: x509.KeyUsage | None = SIGNS,
    purposes: tuple[x509.ObjectIdentifier, ...] = (),
) -> x509.Certificate:  # fmt: skip
    """Signed by itself, as one that a practice makes."""
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, PRACTICE)])
    made = x509.CertificateBuilder(name, name, key.public_key(), 7).not_valid_before(first)
    made = made.not_valid_after(last or FROM + timedelta(days=20 * 365))
    if usage is not None:
        made = made.add_extension(usage, critical=True)
    if purposes:
        made = made.add_extension(x509.ExtendedKeyUsage(purposes), critical=False)
    return made.sign(key, hashes.SHA256())


def pkcs12(key: Any = None, of: x509.Certificate | None = None, passphrase: str = PASSPHRASE) -> bytes:
    key = key or elliptic()
    locked: KeySerializationEncryption = BestAvailableEncryption(passphrase.encode()) if passphrase else NoEncryption()
    return serialize_key_and_certificates(b"papers", key, of or certificate(key), None, locked)


@cache
def practice() -> tuple[bytes, x509.Certificate]:
    """The key of the practice as its file, and its certificate."""
    made = certificate(elliptic())
    return pkcs12(elliptic(), made), made
