"""Stands in for training where a test of the clinic says itself what it answers; all else training answers."""

from collections.abc import Collection
from typing import Any
from uuid import UUID

import pytest

from clinic import port


class StandIn:
    def __init__(self, real: Any, answers: dict[str, Any]) -> None:
        self.real, self.answers = real, answers

    def __getattr__(self, name: str) -> Any:
        return self.answers[name] if name in self.answers else getattr(self.real, name)


def answers(monkeypatch: pytest.MonkeyPatch, **given: Any) -> None:
    """For the length of the test, `clinic.port` is answered with these functions."""
    monkeypatch.setattr(port, "_training", StandIn(port._training, given))


def usable(monkeypatch: pytest.MonkeyPatch, people: Collection[UUID]) -> None:
    """These people, and nobody else, may do everything alone on every day. The collection may grow meanwhile."""
    answers(
        monkeypatch,
        usable_people=lambda organisation, procedure, on: people,
        usable_on_days=lambda organisation, asked, who, known_by: dict.fromkeys(asked, people),
        usable_within=lambda organisation, works, known_by: {},
    )
