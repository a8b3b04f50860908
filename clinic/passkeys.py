"""Passkeys (WebAuthn, W3C), verified by the library py_webauthn. A passkey belongs to the name of the register: one made for
`register.example` proves nothing at `localhost`.

The browser answers in JSON that anybody could have written: whatever is wrong with it is one answer, "no".
"""

import hashlib
import ipaddress
import logging
from collections.abc import Iterable
from dataclasses import dataclass

import webauthn
from django.http import HttpRequest
from webauthn.helpers import base64url_to_bytes, bytes_to_base64url
from webauthn.helpers.exceptions import WebAuthnException
from webauthn.helpers.structs import (
    AuthenticatorSelectionCriteria,
    PublicKeyCredentialDescriptor,
    ResidentKeyRequirement,
    UserVerificationRequirement,
)

from clinic import clock
from clinic.models import Account, SecondFactor

logger = logging.getLogger(__name__)
LONGEST_ANSWER = 20_000  # letters
# What the library lets through where an answer is malformed in ways it does not foresee.
MALFORMED = (
    WebAuthnException,
    ValueError,
    KeyError,
    TypeError,
    AttributeError,
    IndexError,
    OverflowError,
    RecursionError,
)


@dataclass(frozen=True, slots=True)
class RegisterOrigin:
    """The register as this browser knows it: its name, and the whole origin."""

    host: str
    origin: str


@dataclass(frozen=True, slots=True)
class NewPasskey:
    """What a browser made, verified: id and public key in base64url, and the count it begins with."""

    credential: str
    public_key: str
    counter: int
    host: str


def here(request: HttpRequest) -> RegisterOrigin | None:
    """None where browsers make no passkeys: at a bare number, or without HTTPS beyond this machine."""
    whole = request.get_host()
    host = whole if whole.endswith("]") else whole.rpartition(":")[0] or whole
    try:
        ipaddress.ip_address(host.strip("[]"))
        return None
    except ValueError:
        pass
    safe = request.is_secure() or host == "localhost" or host.endswith(".localhost")
    return RegisterOrigin(host, f"{request.scheme}://{whole}") if safe else None


def described(passkeys: Iterable[SecondFactor]) -> list[PublicKeyCredentialDescriptor]:
    return [PublicKeyCredentialDescriptor(id=base64url_to_bytes(each.credential)) for each in passkeys]


def options_to_make(account: Account, at: RegisterOrigin, known: Iterable[SecondFactor]) -> tuple[str, str]:
    """What the browser is asked, as JSON, and the challenge in it."""
    options = webauthn.generate_registration_options(
        rp_id=at.host,
        rp_name="Millroom Register",
        user_name=account.sign_in_name,
        user_display_name=str(account.person),
        user_id=hashlib.sha256(account.person_id.bytes).digest(),
        exclude_credentials=described(known),
        authenticator_selection=AuthenticatorSelectionCriteria(
            resident_key=ResidentKeyRequirement.PREFERRED, user_verification=UserVerificationRequirement.PREFERRED
        ),
    )
    return webauthn.options_to_json(options), bytes_to_base64url(options.challenge)


def made(answer: str, challenge: str, at: RegisterOrigin) -> NewPasskey | None:
    """The passkey that the browser made for this challenge; None where it did not."""
    if len(answer) > LONGEST_ANSWER:
        return None
    try:
        seen = webauthn.verify_registration_response(
            credential=answer,
            expected_challenge=base64url_to_bytes(challenge),
            expected_rp_id=at.host,
            expected_origin=at.origin,
        )
    except MALFORMED as error:
        logger.warning("A passkey was not made: %s", error)
        return None
    public = bytes_to_base64url(seen.credential_public_key)
    return NewPasskey(bytes_to_base64url(seen.credential_id), public, seen.sign_count, at.host)


def options_to_prove(at: RegisterOrigin, known: Iterable[SecondFactor]) -> tuple[str, str]:
    options = webauthn.generate_authentication_options(
        rp_id=at.host, allow_credentials=described(known), user_verification=UserVerificationRequirement.PREFERRED
    )
    return webauthn.options_to_json(options), bytes_to_base64url(options.challenge)


def proved(answer: str, challenge: str, at: RegisterOrigin, known: Iterable[SecondFactor]) -> SecondFactor | None:
    """The passkey that signed this challenge. Its own count moves on, once."""
    if len(answer) > LONGEST_ANSWER:
        return None
    try:
        named = webauthn.helpers.parse_authentication_credential_json(answer).id
        passkey = next(each for each in known if each.credential == named)
        seen = webauthn.verify_authentication_response(
            credential=answer,
            expected_challenge=base64url_to_bytes(challenge),
            expected_rp_id=at.host,
            expected_origin=at.origin,
            credential_public_key=base64url_to_bytes(passkey.secret),
            credential_current_sign_count=passkey.counter,
        )
    except (*MALFORMED, StopIteration) as error:
        logger.warning("A passkey proved nothing: %s", error)
        return None
    rows = SecondFactor.objects.filter(pk=passkey.pk, ended_at__isnull=True, counter=passkey.counter)
    return passkey if rows.update(counter=seen.new_sign_count, used_at=clock.now()) else None
