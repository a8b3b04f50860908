"""What a column of a fact may hold, and how it is sealed."""

from datetime import date
from decimal import Decimal

from django.db import models

from clinic.facts import fact_models
from clinic.models.records import plain


def test_no_float_is_ever_sealed() -> None:
    """F-10, D: a torque or a factor is kept to its digits and sealed as text."""
    columns = [field for kind in fact_models().values() for field in kind._meta.concrete_fields]
    assert columns and [field for field in columns if isinstance(field, models.FloatField)] == []
    assert (plain(Decimal("20.0")), plain(date(2026, 3, 2))) == ("20.0", "2026-03-02")
