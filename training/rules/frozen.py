"""The digest of an issued paper's frozen content."""

from typing import Any
from uuid import UUID

from clinic.rules.seal import digest


def frozen_digest(pk: UUID, frozen: dict[str, Any]) -> str:
    """Covers the record's id with its content, so that neither can be moved to the other (row E-15)."""
    return digest({"issue": str(pk), "content": frozen})
