"""Every kind of fact that the rooms have, and the row that a seal names."""

from uuid import UUID

from django.apps import apps
from django.db.models import Model

from clinic.models import Fact


def fact_models() -> dict[str, type[Fact]]:
    return {model.fact_kind(): model for model in apps.get_models() if issubclass(model, Fact)}


def row_of(kind: str, fact_id: UUID) -> Model | None:
    """The fact that a seal names."""
    model = fact_models().get(kind)
    return model._default_manager.filter(pk=fact_id).first() if model else None
