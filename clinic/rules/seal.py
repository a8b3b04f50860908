"""Canonical bytes, digests and the links of a site's hash chain.

Two programs that hold the same facts must come to the same bytes, or a seal proves nothing. The bytes are canonical
JSON by RFC 8785 (JCS): no white space, keys sorted by UTF-16 code units, numbers printed as ECMAScript prints them,
text left as it is (no Unicode normalisation). Sources: handbook rows F-01 to F-10; FIPS 180-4; RFC 8785.
"""

from collections.abc import Mapping, Sequence
from hashlib import sha256
from typing import TypeAlias

import rfc8785

Json: TypeAlias = bool | int | float | str | Sequence["Json"] | Mapping[str, "Json"] | None


def canonical(value: Json) -> bytes:
    """The value as canonical JSON in UTF-8 (RFC 8785, F-02).

    Takes None, bool, int, float, str, lists or tuples, and dicts with text keys. ValueError for anything else: NaN
    and infinity, integers beyond ±(2^53 − 1) (write those as text, F-10), lone surrogates, dates and decimals.
    """
    try:
        return rfc8785.dumps(value)
    except (rfc8785.CanonicalizationError, AttributeError, UnicodeError) as problem:
        raise ValueError(f"This value cannot be sealed as canonical JSON: {problem}") from problem


def digest(value: Json) -> str:
    """SHA-256 (FIPS 180-4, F-01) of the canonical bytes, as 64 lower-case hex digits. ValueError as `canonical`."""
    return sha256_hex(canonical(value))


def sha256_hex(content: bytes) -> str:
    """SHA-256 of the bytes as they are, as 64 lower-case hex digits (FIPS 180-4, F-01): for stored files."""
    return sha256(content).hexdigest()


def link(previous: str, position: int, site: str, kind: str, fact_id: str, content_digest: str) -> str:
    """The digest that seals one fact into its site's chain; 64 lower-case hex digits.

    link = SHA-256(canonical JSON of [previous, position, site, kind, fact_id, content_digest]). An array of typed
    values leaves no two inputs with the same bytes. `previous` is the link before it, or "" for the first. Own design
    (D) on F-01 and F-02. It judges nothing: a tampered chain must still be recomputed to say where it broke.
    """
    return digest([previous, position, site, kind, fact_id, content_digest])
