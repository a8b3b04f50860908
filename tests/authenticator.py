"""An authenticator in software: what a browser would answer with a key of its own. Only for tests.

It writes the formats of WebAuthn (W3C, level 2, sections 5.8.1, 6.1 and 6.5.4) itself, with no help of the library that reads
them: client data as JSON, authenticator data as bytes, the public key as COSE (RFC 9053).
"""

import hashlib
import json
import secrets
from base64 import urlsafe_b64encode
from typing import Any

import cbor2
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.hashes import SHA256

TOUCHED, HAS_KEY = 0x01, 0x40
ES256, P256, EC2 = -7, 1, 2


def text(data: bytes) -> str:
    return urlsafe_b64encode(data).rstrip(b"=").decode()


class Authenticator:
    """A key with one credential. `count` goes up with each use, unless a test sets it back."""

    def __init__(self, host: str = "localhost", origin: str = "http://localhost") -> None:
        self.key, self.id, self.count = ec.generate_private_key(ec.SECP256R1()), secrets.token_bytes(32), 0
        self.host, self.origin = host, origin

    def make(self, options: str) -> str:
        """To `navigator.credentials.create`."""
        data = self.data(TOUCHED | HAS_KEY) + bytes(16) + len(self.id).to_bytes(2, "big") + self.id + self.public()
        whole = cbor2.dumps({"fmt": "none", "attStmt": {}, "authData": data})
        said = self.said("webauthn.create", options)
        return self.answer(clientDataJSON=said, attestationObject=whole)

    def prove(self, options: str) -> str:
        """To `navigator.credentials.get`."""
        self.count += 1
        data, said = self.data(TOUCHED), self.said("webauthn.get", options)
        signature = self.key.sign(data + hashlib.sha256(said).digest(), ec.ECDSA(SHA256()))
        return self.answer(clientDataJSON=said, authenticatorData=data, signature=signature)

    def data(self, flags: int) -> bytes:
        return hashlib.sha256(self.host.encode()).digest() + bytes([flags]) + self.count.to_bytes(4, "big")

    def public(self) -> bytes:
        numbers = self.key.public_key().public_numbers()
        x, y = (number.to_bytes(32, "big") for number in (numbers.x, numbers.y))
        return cbor2.dumps({1: EC2, 3: ES256, -1: P256, -2: x, -3: y})

    def said(self, kind: str, options: str) -> bytes:
        return json.dumps({"type": kind, "challenge": json.loads(options)["challenge"], "origin": self.origin}).encode()

    def answer(self, **response: Any) -> str:
        words = {name: text(value) for name, value in response.items()}
        return json.dumps({"id": text(self.id), "rawId": text(self.id), "type": "public-key", "response": words})
