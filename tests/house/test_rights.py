"""Every kind of fact has its line in the policy. For reference data: `tests/house/test_reference.py`."""

from clinic.facts import fact_models
from clinic.rights import KINDS


def test_every_kind_of_fact_says_who_may_record_it_and_who_may_put_it_right() -> None:
    assert set(KINDS) == set(fact_models())


def test_a_kind_without_a_line_would_be_found() -> None:
    assert set(KINDS) - {"clinic.use"} != set(fact_models())
