"""Frozen content: what a document says, kept as JSON with its digest, so that a reprint reads only that.

It is read back here and not by the library that reads stored texts (`training.rules.texts`): that one leaves an unknown field
of a dataclass out in silence, at any depth, and a reprint must rather stop than say less than the paper that was issued.
"""

import hashlib
import json
from collections.abc import Iterator
from dataclasses import asdict, fields
from functools import cache
from types import UnionType
from typing import Any, Self, Union, get_args, get_origin, get_type_hints


class Content:
    """Base of every content dataclass. Fields: str, int, bool, None, lists, dicts and further content; days are ISO."""

    def to_json(self) -> str:
        """One spelling for equal content: sorted keys, no spaces."""
        return json.dumps(asdict(self), sort_keys=True, ensure_ascii=False, separators=(",", ":"))  # type: ignore[call-overload]

    @classmethod
    def from_plain(cls, plain: dict[str, Any]) -> Self:
        """The same from dicts and lists. Raises TypeError for a missing or unknown field."""
        hints = _hints(cls)  # type: ignore[arg-type]
        if unknown := set(plain) - set(hints):
            raise TypeError(f"{cls.__name__} has no field {', '.join(sorted(unknown))}.")
        return cls(**{name: _value(hints[name], value) for name, value in plain.items()})

    def digest(self) -> str:
        """SHA-256 of the JSON, in hex."""
        return hashlib.sha256(self.to_json().encode()).hexdigest()


@cache
def _hints(kind: type[Content]) -> dict[str, Any]:
    """What each field of this content holds."""
    hints = get_type_hints(kind)
    return {field.name: hints[field.name] for field in fields(kind)}  # type: ignore[arg-type]


def texts_in(said: Any) -> Iterator[str]:
    """Each text within, however deep it stands, in order."""
    rest = [said]
    while rest:
        one: Any = rest.pop()
        if type(one) is str:
            yield one
        elif isinstance(one, Content):
            rest += [getattr(one, name) for name in _names(type(one))]  # type: ignore[arg-type]
        elif isinstance(one, dict):
            rest += reversed(one.values())
        elif isinstance(one, list):
            rest += reversed(one)


@cache
def _names(kind: type[Content]) -> list[str]:
    """Its fields, the last first."""
    return [field.name for field in fields(kind)][::-1]  # type: ignore[arg-type]


def _value(hint: Any, value: Any) -> Any:
    if value is None:
        return None
    origin = get_origin(hint)
    if origin is list:
        return [_value(get_args(hint)[0], each) for each in value]
    if origin in (Union, UnionType):
        return _value(next(arg for arg in get_args(hint) if arg is not type(None)), value)
    if isinstance(hint, type) and issubclass(hint, Content):
        return hint.from_plain(value)
    return value
