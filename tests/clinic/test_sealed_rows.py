"""What facts say is digested from their rows as it is from the facts themselves: so the first look never says “whole” of what
the careful one would find. Canonical JSON by RFC 8785 (rows F-02 and F-10 of the handbook)."""

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clinic.facts import fact_models
from clinic.models import KeptElsewhere, Seal, Site
from clinic.record import record
from clinic.rules.seal import canonical, digest
from clinic.sealed_rows import UNREAD, SaidNow, Stretch, canonical_json, said_now
from clinic.seals import check_site
from tests.cast import Cast
from tests.scale.tamper_drill import stage

JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=6), inner, max_size=4),
    max_leaves=12,
)


@given(JSON, st.booleans())
def test_stored_json_is_written_as_the_library_writes_it(value: Any, ascii_only: bool) -> None:
    """Checked against the library for RFC 8785, whatever the database made of letters beyond ASCII."""
    try:
        expected = canonical(value).decode()
    except ValueError:
        expected = UNREAD
    assert canonical_json(json.dumps(value, ensure_ascii=ascii_only)) == expected


def seals_of(site: Site) -> list[Seal]:
    return list(Seal.objects.of_site(site).select_related("shape"))


def read(seal: Seal, covers: dict[str, Any] | None = None) -> SaidNow | None:
    """What stands in the row of the fact that the seal names."""
    here = Stretch(seal.site_id, seal.kind, seal.shape_id, seal.position, seal.position)
    return said_now(fact_models()[seal.kind], covers or seal.shape.covers, here).get(str(seal.fact))


def as_sealed(seal: Seal) -> SaidNow:
    said = seal.sealed
    return SaidNow(said.site, said.corrects, said.recorded_at, said.content)


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
    assert found[0] and found[0].content == digest(empty.sealed_content(covers)) and found[1] is None


@pytest.mark.django_db
def test_a_column_that_is_no_more_leaves_the_fact_to_the_careful_look(cast: Cast) -> None:
    seal = Seal.objects.filter(kind="clinic.change").first()
    assert seal and read(seal, {**seal.shape.covers, "fields": ["colour", *seal.shape.covers["fields"]]}) is None
