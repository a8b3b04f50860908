"""The second sending of every form that a test sends can fail the test."""

from types import SimpleNamespace

import pytest

from tests.sent_twice import assert_the_same


def answered(status: int, url: str = "") -> SimpleNamespace:
    return SimpleNamespace(status_code=status, url=url, context=None)


def test_the_same_answer_and_nothing_more_is_right() -> None:
    assert_the_same("/a/", answered(302, "/b/"), answered(302, "/b/"), 0)


@pytest.mark.parametrize(
    ("again", "more"), [(answered(302, "/b/"), 1), (answered(302, "/c/"), 0), (answered(200), 0)]
)  # fmt: skip
def test_another_fact_or_another_answer_would_be_found(again: SimpleNamespace, more: int) -> None:
    with pytest.raises(AssertionError, match="sent again"):
        assert_the_same("/a/", answered(302, "/b/"), again, more)
