"""A ring of signers is a finding only where no link leads back to a founding grant or an outside witness."""

from dataclasses import replace
from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from clinic.rules.findings import Weight
from training.rules.rings import SignerLink, rings

DAY = date(2025, 3, 3)
NAMES = {"a": "Ada", "b": "Ben", "c": "Cy"}


def links(*pairs: str, code: str = "P03") -> list[SignerLink]:
    """ "ab" is a signed b."""
    return [SignerLink(f"{code}-{pair}", DAY, code, pair[0], pair[1]) for pair in pairs]


def test_two_who_signed_each_other_with_no_beginning_are_a_ring() -> None:
    (found,) = rings(links("ab", "ba"), [], NAMES)
    assert (found.weight, found.evidence) == (Weight.STOP, ("P03-ab", "P03-ba"))
    assert found.sentence == "P03: Ada and Ben signed each other, and nobody outside watched any of them."


def test_one_anchor_anywhere_in_the_ring_is_a_beginning() -> None:
    assert rings(links("ab", "bc", "ca"), [("P03", "b", DAY)], NAMES) == []


def test_an_anchor_that_signed_into_the_ring_is_a_beginning() -> None:
    assert rings(links("ab", "ba", "ca"), [("P03", "c", DAY)], NAMES) == []


def test_an_anchor_in_another_procedure_is_none() -> None:
    assert len(rings(links("ab", "ba"), [("P04", "a", DAY)], NAMES)) == 1


def test_a_chain_without_a_beginning_is_not_yet_a_ring() -> None:
    assert rings(links("ab", "bc"), [], NAMES) == []


def test_whoever_a_ring_signed_is_not_part_of_it() -> None:
    (found,) = rings(links("ab", "ba", "bc"), [], NAMES)
    assert "P03-bc" not in found.evidence


def test_signing_across_two_procedures_makes_no_ring() -> None:
    assert rings(links("ab") + links("ba", code="P04"), [], NAMES) == []


pairs = st.lists(
    st.tuples(st.sampled_from("abcde"), st.sampled_from("abcde")).filter(lambda p: p[0] != p[1]), max_size=12
)


def test_a_ring_lasts_until_a_signature_is_withdrawn_or_an_anchor_comes() -> None:
    later = DAY + timedelta(days=9)
    signed = [SignerLink("ab", DAY, "P03", "a", "b"), SignerLink("ba", DAY + timedelta(days=2), "P03", "b", "a")]
    ends = [rings(signed, [("P03", "a", later)], NAMES), rings([replace(signed[0], after=later), signed[1]], [], NAMES)]
    assert [(one.first, one.after) for found in ends for one in found] == [(DAY + timedelta(days=2), later)] * 2


@given(pairs)
def test_without_anchors_a_ring_is_found_exactly_where_somebody_reaches_himself(edges: list[tuple[str, str]]) -> None:
    reach = set(edges)
    for middle in "abcde":
        reach |= {(x, y) for x in "abcde" for y in "abcde" if (x, middle) in reach and (middle, y) in reach}
    found = rings([SignerLink(f"{x}{y}", DAY, "P", x, y) for x, y in edges], [], {})
    assert bool(found) == any((x, x) in reach for x in "abcde")


PAIRS = st.lists(st.sampled_from([one + other for one in "abc" for other in "abc" if one != other]), max_size=6)
LEFT = st.one_of(st.none(), st.integers(1, 20))


@given(
    st.lists(st.tuples(PAIRS, st.integers(0, 20), LEFT), max_size=3),
    st.lists(st.tuples(st.sampled_from("abcd"), st.integers(0, 25))),
    st.sampled_from("abc"),
    st.integers(0, 25),
)
def test_to_sign_off_somebody_who_signed_nobody_makes_no_ring_and_ends_none(
    signed: list[tuple[list[str], int, int | None]], anchors: list[tuple[str, int]], signer: str, on: int
) -> None:
    day = [DAY + timedelta(days=number) for number in range(60)]
    before = [
        SignerLink(
            f"{number}-{pair}", day[first], "P03", pair[0], pair[1], None if stays is None else day[first + stays]
        )
        for number, (pairs, first, stays) in enumerate(signed)
        for pair in pairs
    ]
    begun = [("P03", person, day[first]) for person, first in anchors]
    new = SignerLink("new", day[on], "P03", signer, "d")
    assert rings([*before, new], begun, NAMES) == rings(before, begun, NAMES)
