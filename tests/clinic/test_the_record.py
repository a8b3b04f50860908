"""The fact base: the same submission once, corrections that name and reason, a chain that says exactly what broke.

Rows E-01, E-05 and E-15 of the handbook (21 CFR 11.10(a), 11.10(e) and 11.70, adopted as a voluntary benchmark; V).
"""

from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection, transaction

from clinic import clock
from clinic.models import KeptElsewhere, OutOfService, Seal, Site, Voiding
from clinic.models.records import filled
from clinic.record import Refused, record, void
from clinic.seals import check_site
from tests.cast import Cast
from tests.fixtures import lift_refusals

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


def test_a_deleted_fact_is_found_and_named(cast: Cast) -> None:
    fact = kept(cast)
    tampered("DELETE FROM clinic_keptelsewhere WHERE id = %s", key(fact))
    assert [each.says for each in check_site(cast.lane)] == ["the fact is gone"]


def test_a_fact_slipped_in_without_a_seal_is_found(cast: Cast) -> None:
    row = paper(cast, recorded_at=clock.now())
    row.save(force_insert=True)
    assert [(each.fact, each.says) for each in check_site(cast.lane)] == [
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


def test_a_column_that_comes_later_and_is_empty_in_older_facts_leaves_their_seals_whole() -> None:
    before = {"place": "safe", "units": 0}
    assert filled(before | {"new text": "", "new list": [], "new day": None, "new word": False}) == before


@pytest.mark.parametrize("emptied", [None, "", False, []])
def test_what_is_emptied_or_filled_in_changes_the_seal(emptied: Any) -> None:
    assert filled({"place": "safe"}) != filled({"place": emptied})
