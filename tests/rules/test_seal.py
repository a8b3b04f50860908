"""Seals: what cannot be sealed is refused, and a link depends on everything it binds."""

import random
from dataclasses import fields, replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
import rfc8785

from clinic.rules import seal
from clinic.rules.seal import Sealed, canonical, digest, link, sha256_hex

WHAT = Sealed("", 1, "7", "clinic.use", "fact", None, "2026-03-02T09:00:00+00:00", "shape", digest({"a": 1}))


UNSEALABLE = [2**53, -(2**53), {1: "a"}, date(2026, 1, 1), Decimal("1.5"), {"a": {1, 2}}, "\ud800"]


@pytest.mark.parametrize("value", UNSEALABLE)
def test_what_json_cannot_hold_exactly_is_refused(value: object) -> None:
    with pytest.raises(ValueError, match="cannot be sealed"):
        canonical(value)


def test_the_largest_exact_integers_are_taken() -> None:
    assert canonical([2**53 - 1, 1 - 2**53]) == b"[9007199254740991,-9007199254740991]"


def test_a_digest_does_not_depend_on_the_order_of_keys() -> None:
    assert digest({"a": 1, "b": 2}) == digest({"b": 2, "a": 1})


def test_a_link_is_the_digest_of_its_form_and_its_parts_in_order() -> None:
    content = '[1,"",1,"7","clinic.use","fact",null,"2026-03-02T09:00:00+00:00","shape","' + WHAT.content + '"]'
    assert link(WHAT) == sha256_hex(content.encode())


@pytest.mark.parametrize("part", [each.name for each in fields(Sealed)])
def test_a_link_changes_with_each_of_its_parts(part: str) -> None:
    assert link(replace(WHAT, **{part: 2 if part == "position" else "other"})) != link(WHAT)


def test_parts_cannot_slide_into_each_other() -> None:
    assert link(replace(WHAT, site="7c", kind="linic.use")) != link(replace(WHAT, site="7", kind="clinic.use"))


def test_no_correction_and_an_empty_one_are_two_links() -> None:
    assert link(replace(WHAT, corrects="")) != link(WHAT)


def test_a_later_form_stands_beside_the_first_and_is_never_taken_for_it(monkeypatch: pytest.MonkeyPatch) -> None:
    first = link(WHAT)
    later = {**seal.FORMS, 2: lambda previous, *more: f"[2,{more[-1]},{previous}]"}
    monkeypatch.setattr(seal, "FORMS", later)
    assert (link(WHAT, 1), link(WHAT, 2) != first) == (first, True)


def test_a_form_that_is_not_known_here_is_refused_by_its_number() -> None:
    with pytest.raises(ValueError, match="form 9"):
        link(WHAT, 9)


def test_what_is_written_here_is_what_the_library_writes() -> None:
    """Held against another implementation of RFC 8785, over values of every kind that JSON has."""
    chance = random.Random(3)
    for _ in range(3000):
        value = made_up(chance, 3)
        assert canonical(value) == rfc8785.dumps(value)


def made_up(chance: random.Random, deep: int) -> Any:
    letters = [*map(chr, range(0, 0x180)), "\u2028", "\ud7ff", "\ue000", "\ufb33", "\U0001f600", "e\u0301"]
    text = "".join(chance.choices(letters, k=chance.randint(0, 6)))
    plain = [
        text,
        chance.randint(1 - 2**53, 2**53 - 1),
        chance.random() * 10 ** chance.randint(-9, 25),
        True,
        False,
        None,
    ]
    if not deep:
        return chance.choice(plain)
    kids = [made_up(chance, deep - 1) for _ in range(chance.randint(0, 4))]
    names = ["".join(chance.choices(letters[32:127] if deep % 2 else letters, k=3)) for _ in kids]
    return chance.choice([*plain, kids, tuple(kids), dict(zip(names, kids, strict=True))])
