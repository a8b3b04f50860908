"""Canonical bytes, digests and the links of a site's hash chain.

Two programs that hold the same facts must come to the same bytes, or a seal proves nothing. The bytes are canonical
JSON by RFC 8785 (JCS): no white space, keys sorted by UTF-16 code units, numbers printed as ECMAScript prints them,
text left as it is (no Unicode normalisation). Sources: handbook rows F-01 to F-10; FIPS 180-4; RFC 8785.

A seal says the form it was made in. A later form stands beside the earlier ones in `FORMS`, and what was sealed before it
is checked by the form that its seal names.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, fields
from hashlib import sha256
from json.encoder import encode_basestring
from typing import TypeAlias

import rfc8785

EXACT = 2**53 - 1  # the largest whole number that every reader of JSON holds exactly
WORDS = {None: "null", True: "true", False: "false"}

Json: TypeAlias = bool | int | float | str | Sequence["Json"] | Mapping[str, "Json"] | None


def canonical(value: Json) -> bytes:
    """The value as canonical JSON in UTF-8 (RFC 8785, F-02).

    Takes None, bool, int, float, str, lists or tuples, and dicts with text keys. ValueError for anything else: NaN
    and infinity, integers beyond ±(2^53 − 1) (write those as text, F-10), lone surrogates, dates and decimals.
    """
    try:
        return written(value).encode()
    except (rfc8785.CanonicalizationError, AttributeError, UnicodeError) as problem:
        raise ValueError(f"This value cannot be sealed as canonical JSON: {problem}") from problem


def written(value: Json) -> str:
    """What facts hold is written here, at a fraction of what the library takes, which the check of a whole record asks for
    each of its facts; what is left, such as a fraction or a name of strange letters, by the library. The same text."""
    if isinstance(value, str):
        return encode_basestring(value)
    if value is None or isinstance(value, bool):
        return WORDS[value]
    if type(value) is int and -EXACT <= value <= EXACT:
        return str(value)
    if type(value) is list or type(value) is tuple:
        return f"[{','.join([written(each) for each in value])}]"
    if type(value) is dict and _sorts_by_letter(value):
        return f"{{{','.join([f'{encode_basestring(name)}:{written(value[name])}' for name in sorted(value)])}}}"
    return rfc8785.dumps(value).decode()


def _sorts_by_letter(names: Iterable[object]) -> bool:
    """Whether these are texts whose order is that of their UTF-16 code units: in ASCII it is."""
    try:
        return "".join(names).isascii()  # type: ignore[arg-type]
    except TypeError:
        return False


def digest(value: Json) -> str:
    """SHA-256 (FIPS 180-4, F-01) of the canonical bytes, as 64 lower-case hex digits. ValueError as `canonical`."""
    return sha256_hex(canonical(value))


def sha256_hex(content: bytes) -> str:
    """SHA-256 of the bytes as they are, as 64 lower-case hex digits (FIPS 180-4, F-01): for stored files."""
    return sha256(content).hexdigest()


@dataclass(frozen=True, slots=True)
class Sealed:
    """What one link binds: the link before it ("" for the first), its place (from 1), whose chain, which fact, what that
    one corrects, when it was recorded (ISO 8601 in UTC), the digest of what is covered, and the digest of what it says."""

    previous: str
    position: int
    site: str
    kind: str
    fact: str
    corrects: str | None
    recorded_at: str
    shape: str
    content: str


def first_form(*parts: str) -> str:
    """Every part of the link in one array: typed values in an order leave no two inputs with the same bytes."""
    return f"[1,{','.join(parts)}]"


FORM = 1  # in which seals are made now
# Of the parts in the order of `Sealed`, each as canonical JSON.
FORMS: Mapping[int, Callable[..., str]] = {1: first_form}


def link_text(sealed: Sealed, form: int = FORM) -> bytes:
    """The bytes whose SHA-256 is the link. ValueError where the form is not known here."""
    if form not in FORMS:
        raise ValueError(f"This seal was made in form {form}, which this version of the register does not know.")
    return FORMS[form](*(canonical(getattr(sealed, part.name)).decode() for part in fields(sealed))).encode()


def link(sealed: Sealed, form: int = FORM) -> str:
    """The digest that seals one fact into its site's chain; 64 lower-case hex digits. ValueError as `link_text`.

    Own design (D) on F-01 and F-02. It judges nothing: a tampered chain must still be recomputed to say where it broke.
    """
    return sha256_hex(link_text(sealed, form))
