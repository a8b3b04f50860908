"""Seals: what cannot be sealed is refused, and a link depends on everything it binds."""

from datetime import date
from decimal import Decimal

import pytest

from clinic.rules.seal import canonical, digest, link, sha256_hex

ARGUMENTS = ("", 1, "site", "observation", "fact", digest({"a": 1}))


UNSEALABLE = [2**53, -(2**53), {1: "a"}, date(2026, 1, 1), Decimal("1.5"), {"a": {1, 2}}, "\ud800"]


@pytest.mark.parametrize("value", UNSEALABLE)
def test_what_json_cannot_hold_exactly_is_refused(value: object) -> None:
    with pytest.raises(ValueError, match="cannot be sealed"):
        canonical(value)


def test_the_largest_exact_integers_are_taken() -> None:
    assert canonical([2**53 - 1, 1 - 2**53]) == b"[9007199254740991,-9007199254740991]"


def test_a_digest_does_not_depend_on_the_order_of_keys() -> None:
    assert digest({"a": 1, "b": 2}) == digest({"b": 2, "a": 1})


def test_a_link_is_the_digest_of_its_six_parts_in_order() -> None:
    content = b'["",1,"site","observation","fact","' + ARGUMENTS[5].encode() + b'"]'
    assert link(*ARGUMENTS) == sha256_hex(content)


@pytest.mark.parametrize("place", range(6))
def test_a_link_changes_with_each_of_its_parts(place: int) -> None:
    changed = [*ARGUMENTS]
    changed[place] = 2 if place == 1 else f"{changed[place]}x"
    assert link(*changed) != link(*ARGUMENTS)


def test_parts_cannot_slide_into_each_other() -> None:
    assert link("", 1, "ab", "c", "d", "e") != link("", 1, "a", "bc", "d", "e")
