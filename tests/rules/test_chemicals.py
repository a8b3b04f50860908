"""Which hazard classes came new: a class once, and never what was here when the register started."""

from datetime import date

from hypothesis import given
from hypothesis import strategies as st

from clinic.rules.chemicals import ListedProduct, new_hazards

START = date(2025, 1, 6)
DAYS = st.dates(date(2025, 1, 1), date(2025, 3, 1))
LINES = st.lists(st.tuples(DAYS, st.lists(st.sampled_from("abcde"), max_size=4)), max_size=12)


def listed(*lines: tuple[date, list[str]]) -> list[ListedProduct]:
    return [ListedProduct(str(n), since, f"product {n}", tuple(classes)) for n, (since, classes) in enumerate(lines)]


def test_a_class_is_new_with_the_first_product_that_brings_it() -> None:
    """29 CFR 1910.1200(h)(1) (O-24)."""
    found = new_hazards(listed((date(2025, 2, 1), ["a"]), (date(2025, 2, 2), ["a", "b"])), START)
    assert [(one.product, one.classes) for one in found] == [("product 0", ("a",)), ("product 1", ("b",))]


def test_what_was_here_at_the_start_is_never_new() -> None:
    assert new_hazards(listed((START, ["a"]), (date(2025, 2, 1), ["a"])), START) == []


def test_it_is_to_be_taught_within_a_week() -> None:
    """Our own choice: the rule asks for it at once."""
    (one,) = new_hazards(listed((date(2025, 2, 1), ["a"])), START)
    assert one.teach_by == date(2025, 2, 8)


@given(LINES)
def test_every_class_is_new_at_most_once_and_only_after_the_start(lines: list[tuple[date, list[str]]]) -> None:
    found = new_hazards(listed(*lines), START)
    classes = [name for one in found for name in one.classes]
    assert len(classes) == len(set(classes))
    assert all(one.since > START for one in found)


@given(LINES)
def test_every_class_that_is_not_new_was_here_at_the_start(lines: list[tuple[date, list[str]]]) -> None:
    new = {name for one in new_hazards(listed(*lines), START) for name in one.classes}
    ever = {name for _, classes in lines for name in classes}
    assert ever - new == {name for since, classes in lines if since <= START for name in classes}
