"""Whether words are the id of a fact: a cause may also be a version, a prerequisite or time."""

from uuid import UUID


def is_id(words: str | None) -> bool:
    return as_id(words) is not None


def as_id(words: str | None) -> UUID | None:
    """The id that the words are; None where they are none."""
    try:
        return UUID(words or "")
    except ValueError:
        return None
