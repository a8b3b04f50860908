"""The fact base: the same submission once, corrections that name and reason, a chain that says exactly what broke.

Rows E-01, E-05 and E-15 of the handbook (21 CFR 11.10(a), 11.10(e) and 11.70, adopted as a voluntary benchmark; V).
"""

import json
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, timedelta
from itertools import combinations
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext

from clinic import clock
from clinic.actions.upkeep import log_use
from clinic.facts import fact_models
from clinic.models import KeptElsewhere, OutOfService, Seal, SealShape, Site, Use, Voiding
from clinic.record import HEAD, Refused, record, void
from clinic.rules.seal import digest, link
from clinic.seals import check_register, check_site
from tests.cast import Cast
from tests.fixtures import drop_keys, lift_refusals

pytestmark = pytest.mark.django_db


def paper(cast: Cast, **more: Any) -> KeptElsewhere:
    columns = {
        "site": cast.lane,
        "happened_on": clock.today("UTC"),
        "what": "Plan",
        "place": "red folder",
        "keeper": "Bram",
    }
    return KeptElsewhere(**columns | more)


def kept(cast: Cast, **more: Any) -> KeptElsewhere:
    return record(paper(cast, **more), by=cast.owner.person)


def test_the_same_submission_twice_is_one_fact(cast: Cast) -> None:
    submission = uuid4()
    first, again = kept(cast, id=submission), kept(cast, id=submission)
    assert (first, Seal.objects.filter(fact=submission).count()) == (again, 1)


def test_the_same_submission_with_other_words_is_refused_and_the_first_stands(cast: Cast) -> None:
    submission = uuid4()
    kept(cast, id=submission)
    with pytest.raises(Refused, match="already recorded, with other content"):
        kept(cast, id=submission, place="blue folder")
    assert KeptElsewhere.objects.get(pk=submission).place == "red folder"


def test_what_was_right_when_it_was_sent_first_is_not_refused_when_it_is_sent_again(cast: Cast) -> None:
    """The unit went out of service between the two; another form is refused for it."""
    day, by, submission = clock.today("UTC"), cast.owner.person, uuid4()
    first = log_use(cast.unit, 3, site=cast.lane, by=by, day=day, id=submission)
    cast.unit.in_service_to = day - timedelta(days=1)
    assert log_use(cast.unit, 3, site=cast.lane, by=by, day=day, id=submission) == first
    with pytest.raises(Refused, match="no longer in service"):
        log_use(cast.unit, 3, site=cast.lane, by=by, day=day, id=uuid4())
    with pytest.raises(Refused, match="already recorded, with other content"):
        log_use(cast.unit, 4, site=cast.lane, by=by, day=day, id=submission)


def test_a_correction_stands_in_the_place_of_what_it_names(cast: Cast) -> None:
    wrong = kept(cast)
    right = kept(cast, place="blue folder", corrects=wrong.pk, reason="Moved.")
    assert list(KeptElsewhere.objects.live()) == [right]


def test_as_known_before_the_correction_the_first_fact_stood(cast: Cast) -> None:
    wrong = kept(cast)
    kept(cast, place="blue folder", corrects=wrong.pk, reason="Moved.")
    assert list(KeptElsewhere.objects.live(known_by=wrong.recorded_at)) == [wrong]


def test_a_correction_needs_its_reason(cast: Cast) -> None:
    wrong = kept(cast)
    with pytest.raises(Refused, match="needs its reason"):
        kept(cast, corrects=wrong.pk)


def test_a_fact_is_corrected_once_and_then_what_stands_in_its_place(cast: Cast) -> None:
    wrong = kept(cast)
    void(wrong, by=cast.owner.person, reason="Written twice.")
    with pytest.raises(Refused, match="already corrected"):
        kept(cast, corrects=wrong.pk, reason="Moved.")


def test_a_fact_of_another_site_is_not_corrected_from_here(cast: Cast) -> None:
    elsewhere = kept(cast, site=cast.court)
    with pytest.raises(Refused, match="not in this register"):
        kept(cast, corrects=elsewhere.pk, reason="Mine.")


def test_facts_of_a_site_have_one_order_even_when_the_clock_stands_still(cast: Cast) -> None:
    with clock.standing_at(clock.now() + timedelta(days=1)):
        first, second = kept(cast), kept(cast)
    assert first.recorded_at < second.recorded_at


def test_a_whole_chain_has_no_break(cast: Cast) -> None:
    kept(cast)
    assert check_site(cast.lane) == []


def tampered(sql: str, *values: Any) -> None:
    """Change the tables behind the register's back."""
    lift_refusals()
    with connection.cursor() as cursor:
        cursor.execute(sql, values)


def key(fact: Any) -> Any:
    return fact.pk.hex if connection.vendor == "sqlite" else fact.pk


def test_one_changed_word_is_found_and_named(cast: Cast) -> None:
    fact = kept(cast)
    tampered("UPDATE clinic_keptelsewhere SET place = 'elsewhere' WHERE id = %s", key(fact))
    assert [(each.fact, each.says) for each in check_site(cast.lane)] == [
        (str(fact.pk), "the fact is not what was sealed")
    ]


def test_a_seal_whose_position_is_no_number_is_found_and_ends_no_check(cast: Cast) -> None:
    if connection.vendor != "sqlite":
        pytest.skip("This database holds nothing but numbers in a column of numbers.")
    first, last = kept(cast), kept(cast)
    place = Seal.objects.get(fact=first.pk).position
    tampered("UPDATE clinic_seal SET position = 'x' WHERE fact = %s", key(first))
    found = [(each.fact, each.says) for each in check_site(cast.lane)]
    assert (str(last.pk), f"seal {place} is missing from the chain") in found
    assert (str(first.pk), "the seal itself was changed") in found


def test_a_fact_that_was_slipped_in_before_the_first_seal_is_found(cast: Cast) -> None:
    """By somebody who lifts the check that no position lies below nought, and seals the fact as facts are sealed."""
    head = Site.objects.filter(pk=cast.lane.pk).values(*HEAD).get()
    with keys_off(), any_position():
        fact = kept(cast)
        Site.objects.filter(pk=cast.lane.pk).update(**head)
        seal = Seal.objects.get(fact=fact.pk)
        seal.position, seal.previous = -3, ""
        Seal.objects.filter(pk=seal.pk).update(position=-3, previous="", digest=link(seal.sealed))
        assert "seal 1 is missing from the chain" in {each.says for each in check_site(cast.lane)}


@contextmanager
def any_position() -> Iterator[None]:
    """A position may lie below nought, until the transaction is taken back."""
    with connection.cursor() as cursor:
        if connection.vendor != "sqlite":
            cursor.execute("ALTER TABLE clinic_seal DROP CONSTRAINT clinic_seal_position_check")
            yield
            return
        cursor.execute("PRAGMA ignore_check_constraints = ON")
        try:
            yield
        finally:
            cursor.execute("PRAGMA ignore_check_constraints = OFF")


def test_a_deleted_fact_is_found_and_named(cast: Cast) -> None:
    fact = kept(cast)
    tampered("DELETE FROM clinic_keptelsewhere WHERE id = %s", key(fact))
    assert [each.says for each in check_site(cast.lane)] == ["the fact is gone"]


def test_a_fact_slipped_in_without_a_seal_is_found(cast: Cast) -> None:
    row = paper(cast, recorded_at=clock.now())
    row.save(force_insert=True)
    assert [(each.fact, each.says) for each in check_register()] == [
        (str(row.pk), "the fact stands in the record without a seal")
    ]


def test_a_seal_moved_to_another_fact_breaks_the_chain(cast: Cast) -> None:
    first, second = kept(cast), kept(cast, what="Log")
    tampered(
        "UPDATE clinic_seal SET content_digest = %s WHERE fact = %s",
        Seal.objects.get(fact=first.pk).content_digest,
        key(second),
    )
    says = {each.says for each in check_site(cast.lane)}
    assert {"the fact is not what was sealed", "the seal itself was changed"} <= says


def test_a_cut_end_of_the_chain_is_found(cast: Cast) -> None:
    fact = kept(cast)
    tampered("DELETE FROM clinic_seal WHERE fact = %s", key(fact))
    assert "the chain does not end where the site says it ends" in {each.says for each in check_site(cast.lane)}


def test_what_a_listener_refuses_leaves_no_fact_behind(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("clinic.record.fact_recorded.send", lambda **_: (_ for _ in ()).throw(ValueError("no")))
    before = Site.objects.get(pk=cast.lane.pk).last_position
    with pytest.raises(ValueError, match="no"), transaction.atomic():
        kept(cast)
    assert (KeptElsewhere.objects.count(), Site.objects.get(pk=cast.lane.pk).last_position) == (0, before)


def test_a_voiding_without_a_reason_is_refused_by_the_database_too(cast: Cast) -> None:
    stop = record(
        OutOfService(site=cast.lane, happened_on=clock.today("UTC"), equipment=cast.unit, reason="smoke"),
        by=cast.owner.person,
    )
    row = Voiding(site=cast.lane, happened_on=clock.today("UTC"), corrects=stop.pk, recorded_at=clock.now())
    with pytest.raises(Exception, match="voiding_names_and_reasons"), transaction.atomic():
        row.save(force_insert=True)


def without(name: str) -> dict[str, Any]:
    """What a seal covered before the column was there."""
    covers = KeptElsewhere.seal_covers()
    return covers | {"fields": [each for each in covers["fields"] if each != name]}


def resealed(cast: Cast, monkeypatch: pytest.MonkeyPatch, name: str, **more: Any) -> KeptElsewhere:
    """A paper sealed when its table had no column of that name."""
    covers = without(name)
    SealShape.objects.create(digest=digest(covers), covers=covers)
    with monkeypatch.context() as then:
        then.setattr("clinic.record.shape_digest", lambda kind: digest(covers))
        then.setattr(KeptElsewhere, "seal_covers", classmethod(lambda cls: covers))
        return kept(cast, **more)


def test_a_column_that_came_later_leaves_older_seals_whole(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    resealed(cast, monkeypatch, "last_review")
    kept(cast)
    assert check_site(cast.lane) == []


def test_a_column_that_came_later_and_was_filled_in_is_found(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    resealed(cast, monkeypatch, "last_review", last_review=date(2026, 3, 2))
    assert [each.says for each in check_site(cast.lane)] == ["last_review came later, and was filled in afterwards"]


def test_what_a_seal_covers_cannot_be_written_anew(cast: Cast) -> None:
    fact = kept(cast)
    covers = without("place")
    tampered(
        "UPDATE clinic_sealshape SET covers = %s WHERE digest = %s", json.dumps(covers), digest(fact.seal_covers())
    )
    assert {each.says for each in check_site(cast.lane)} == {"what the seal covers is not written down as it was"}


@pytest.mark.parametrize(("one", "other"), list(combinations([None, "", False, 0, [], {}], 2)))
def test_nothing_no_nought_and_empty_are_sealed_as_different_answers(one: Any, other: Any) -> None:
    """RFC 8785, F-02: null, false, 0 and "" are different bytes, and so is a list from a map."""
    assert digest({"answer": one}) != digest({"answer": other}) != digest({})


def test_not_said_and_no_are_two_seals(cast: Cast) -> None:
    """`wet` of a use may be yes, no or not said (None): today's rows hold each apart."""
    said = [Use(site=cast.lane, equipment=cast.unit, units=1, wet=wet).sealed_content() for wet in (None, False, True)]
    assert len({digest(content | {"id": "same"}) for content in said}) == 3


HEADS = ["last_position = 1", "last_digest = 'x'", "last_recorded_at = '2030-01-01 00:00:00'", "peaks = ''"]


@pytest.mark.parametrize("changed", HEADS)
def test_a_head_that_was_changed_is_found(cast: Cast, changed: str) -> None:
    kept(cast)
    tampered(f"UPDATE clinic_site SET {changed} WHERE id = %s", cast.lane.pk)
    assert len(check_site(cast.lane)) == 1


SEAL_COLUMNS = {
    "corrects": uuid4().hex,
    "recorded_at": "2030-01-01 00:00:00",
    "kind": "clinic.use",
    "previous": "0" * 64,
}


@pytest.mark.parametrize("column", SEAL_COLUMNS)
def test_every_part_of_a_seal_is_in_its_link(cast: Cast, column: str) -> None:
    fact = kept(cast)
    tampered(f"UPDATE clinic_seal SET {column} = %s WHERE fact = %s", SEAL_COLUMNS[column], key(fact))
    assert "the seal itself was changed" in {each.says for each in check_site(cast.lane)}


def test_a_seal_of_a_form_not_known_here_is_named(cast: Cast) -> None:
    fact = kept(cast)
    tampered("UPDATE clinic_seal SET form = 7 WHERE fact = %s", key(fact))
    assert "it was sealed in form 7" in check_site(cast.lane)[0].says


def test_a_seal_costs_the_same_number_of_queries_however_long_the_chain_is(cast: Cast) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as seen:
            kept(cast)
        return len(seen)

    first = queries()
    for _ in range(40):
        kept(cast)
    assert queries() == first


def test_a_site_that_was_slipped_in_is_found(cast: Cast) -> None:
    strange = Site.objects.create(organisation=cast.organisation, name="X", code="x", register_start=date(2026, 1, 5))
    assert [each.says for each in check_site(strange)] == ["the site has no seal: not even its opening is recorded"]


def test_a_slipped_in_site_with_facts_of_its_own_was_never_opened(cast: Cast) -> None:
    strange = Site.objects.create(organisation=cast.organisation, name="X", code="x", register_start=date(2026, 1, 5))
    kept(cast, site=strange)
    assert [each.says for each in check_site(strange)] == ["the chain does not begin with the opening of this site"]


@contextmanager
def keys_off() -> Iterator[None]:
    """The database as somebody with the file sees it: no refusals, no foreign keys. All is taken back at the end."""
    with transaction.atomic():
        lift_refusals()
        drop_keys()
        yield
        transaction.set_rollback(True)


@pytest.mark.parametrize("which", ["lane", "court"])
def test_a_site_deleted_with_all_its_facts_and_seals_is_found(cast: Cast, which: str) -> None:
    """The oldest site's chain names each later one; each later one names the oldest."""
    site, other = getattr(cast, which), cast.court if which == "lane" else cast.lane
    with keys_off():
        for kind in fact_models().values():
            kind._base_manager.filter(site=site)._raw_delete(kind._base_manager.db)
        Seal.objects.filter(site=site)._raw_delete("default")
        Site.objects.filter(pk=site.pk)._raw_delete("default")
        assert check_site(other) == []
        assert [each.part for each in check_register() if "a site is gone" in each.says] == ["seals"]


def test_a_fact_of_a_site_that_is_not_here_is_found(cast: Cast) -> None:
    fact = kept(cast)
    with keys_off():
        KeptElsewhere._base_manager.filter(pk=fact.pk).update(site_id=4711)
        says = {each.says for each in check_register()}
    assert "facts stand in the record for a site that is not here: 4711" in says


def test_the_whole_register_has_no_break(cast: Cast) -> None:
    kept(cast)
    assert check_register() == []
