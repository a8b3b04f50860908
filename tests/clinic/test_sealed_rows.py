"""What facts say is digested from their rows as it is from the facts themselves: so the first look never says “whole” of what
the careful one would find. Canonical JSON by RFC 8785 (rows F-02 and F-10 of the handbook)."""

import json
from typing import Any

import pytest
import rfc8785
from django.db import connection
from hypothesis import given, settings
from hypothesis import strategies as st

from clinic.facts import fact_models
from clinic.models import KeptElsewhere, Seal, Site
from clinic.record import record
from clinic.rules.seal import canonical, digest
from clinic.sealed_rows import UNREAD, SaidNow, canonical_json, said_now, words
from clinic.seals import check_site
from tests.cast import Cast
from tests.scale.tamper_drill import stage

JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=6), inner, max_size=4),
    max_leaves=12,
)


@settings(deadline=None)
@given(JSON, st.booleans())
def test_stored_json_is_written_as_the_library_writes_it(value: Any, ascii_only: bool) -> None:
    """Checked against the library for RFC 8785, whatever the database made of letters beyond ASCII."""
    try:
        expected = canonical(value).decode()
    except ValueError:
        expected = UNREAD
    assert canonical_json(json.dumps(value, ensure_ascii=ascii_only)) == expected


@pytest.mark.parametrize(
    "text",
    [
        "-0", "0", "-1", "9007199254740991", "-9007199254740991", "9007199254740992", "1e2", "1.0", "1E400", "NaN", "-Infinity",
        '{"a":1,"a":2}', '{"\\u00e9":1,"z":[]}', '"\\ud83e\\uddb7"', '"\\ud83e"', '{"\U0001f9b7":1,"\uff5e":2}', '"\\/"', '"\\u000b"',
        '"\x7f\u2028"', ' { "b" : [ 1 , null ] , "a" : true } ', "[1,]", "", "0123", '"1234567890123456"', "\u0661", '"tab\t"',
    ],
)  # fmt: skip
def test_json_at_the_edges_is_written_as_the_library_writes_it_or_not_at_all(text: str) -> None:
    """Of what nobody stores: none of it may pass for what was sealed."""
    try:
        expected = rfc8785.dumps(json.loads(text)).decode()
    except (ValueError, rfc8785.CanonicalizationError):
        expected = UNREAD
    assert canonical_json(text) == expected


@pytest.mark.parametrize(
    "values", [("a", None, "“b”"), (None, 7, "c"), ("a", b"a"), (), (True, "true")], ids=["none", "number", "bytes", "empty", "yes"]
)  # fmt: skip
def test_words_are_written_one_by_one_where_not_all_are_words(values: tuple[Any, ...]) -> None:
    assert words(values) == [
        canonical(each).decode() if type(each) is str or each is None else UNREAD for each in values
    ]


def seals_of(site: Site) -> list[Seal]:
    return list(Seal.objects.of_site(site).select_related("shape"))


def read(seal: Seal, covers: dict[str, Any] | None = None) -> SaidNow | None:
    """What stands in the row of the fact that the seal names."""
    key = seal.fact.hex if connection.vendor == "sqlite" else seal.fact
    return said_now(fact_models()[seal.kind], covers or seal.shape.covers, [key]).get(f'"{seal.fact}"')


def as_sealed(seal: Seal) -> SaidNow:
    said = seal.sealed
    return SaidNow(said.site, *(canonical(each).decode() for each in (said.corrects, said.recorded_at, said.content)))


@pytest.mark.django_db
def test_every_fact_that_stands_is_read_from_its_row_as_it_was_sealed(cast: Cast) -> None:
    stage(cast)
    seals = seals_of(cast.lane)
    assert len({seal.kind for seal in seals}) > 10 and any(seal.shape.covers["children"] for seal in seals)
    assert [seal for seal in seals if read(seal) != as_sealed(seal)] == []


@pytest.mark.django_db
def test_a_record_that_is_whole_needs_no_closer_look(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    looked_at: list[list[Seal]] = []
    monkeypatch.setattr("clinic.seals.facts_of", lambda rows: looked_at.append(rows) or {})
    assert check_site(cast.lane) == [] and looked_at == [[]]


@pytest.mark.django_db
def test_a_column_that_came_after_the_shape_is_no_part_of_what_it_covers_and_must_be_empty(cast: Cast) -> None:
    empty, full = (
        record(
            KeptElsewhere(
                site=cast.lane, happened_on=cast.lane.register_start, what="Plan", place="folder", keeper="Bram", reason=why
            ),
            by=cast.owner.person,
        )
        for why in ("", "because")
    )  # fmt: skip
    covers = KeptElsewhere.seal_covers()
    covers["fields"].remove("reason")
    found = [read(Seal.objects.get(fact=fact.pk), covers) for fact in (empty, full)]
    sealed_so = [f'"{digest(fact.sealed_content(covers))}"' for fact in (empty, full)]
    assert found[0] and found[0].content == sealed_so[0]
    assert found[1] and found[1].content != sealed_so[1]


@pytest.mark.django_db
def test_a_column_that_is_no_more_leaves_the_fact_to_the_careful_look(cast: Cast) -> None:
    seal = Seal.objects.filter(kind="clinic.change").first()
    assert seal and read(seal) == as_sealed(seal)
    changed = read(seal, {**seal.shape.covers, "fields": ["colour", *seal.shape.covers["fields"]]})
    assert changed and changed.content != as_sealed(seal).content
