"""Every kind of fact has its one writer, so that no page of a fact is ever a dump of columns."""

from clinic.facts import fact_models
from training.reads.fact_words import WRITERS


def test_every_kind_of_fact_has_its_writer() -> None:
    assert set(WRITERS) == set(fact_models())


def test_a_kind_without_a_writer_would_be_found() -> None:
    assert set(WRITERS) - {"clinic.use"} != set(fact_models())


def test_no_two_kinds_go_by_one_name() -> None:
    """A link says what it leads to by that name alone."""
    names = [writer.name for writer in WRITERS.values()]
    assert len(set(names)) == len(names)
