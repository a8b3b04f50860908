"""Purging: shown first, refused inside the period and under a hold, and the log holds when the contents are gone."""

from collections.abc import Iterator
from datetime import UTC, date, datetime
from io import StringIO
from typing import Any

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import DatabaseError, transaction

from clinic import checkpoints, clock
from clinic.actions.incidents import file_event, review
from clinic.actions.purging import hold, lift, purge
from clinic.models import EntryPhoto, Fact, Incident, IncidentReview, LegalHold, Purged, Seal, UpkeepEntry
from clinic.reads.purging import holds, offered
from clinic.record import NotAllowed, Refused, record
from clinic.seals import check_register, check_site
from tests.cast import Cast
from tests.fixtures import lift_refusals

pytestmark = pytest.mark.django_db
HURT_ON = date(2026, 3, 14)
LAST, FIRST = datetime(2031, 12, 31, 12, tzinfo=UTC), datetime(2032, 1, 1, 12, tzinfo=UTC)


@pytest.fixture
def hurt(cast: Cast, settings: Any, tmp_path: Any) -> Iterator[Incident]:
    """A sharps injury of 14 March 2026, looked at the same week; and a near miss."""
    settings.CHECKPOINT_KEY, settings.CHECKPOINTS_DIR = tmp_path / "key.pem", tmp_path / "checkpoints"
    with clock.standing_at(datetime(2026, 3, 16, 12, tzinfo=UTC)):
        row = file_event(
            cast.lane, HURT_ON, by=cast.supervisor.person, kind="sharps injury", contaminated="yes", item="cutter",
            place="Tool bench", how="It slipped.",
        )  # fmt: skip
        review(row, "The bench.", "A tray.", by=cast.owner.person)
    with clock.standing_at(FIRST):
        yield row


def whole(cast: Cast) -> list[Any]:
    return [*check_site(cast.lane), *check_register()]


def over(cast: Cast, what: str = "injuries") -> tuple[Fact, ...]:
    return next(each.over for each in offered(cast.lane, clock.today("UTC")) if each.line.what == what)


def test_after_its_period_the_contents_go_and_the_log_holds(cast: Cast, hurt: Incident) -> None:
    held = checkpoints.head(cast.lane)
    note = purge("injuries", 2, site=cast.lane, by=None)
    assert not Incident.objects.filter(pk=hurt.pk).exists() and not IncidentReview.objects.exists()
    assert Incident.objects.filter(kind="near miss").exists()
    assert Seal.objects.get(fact=hurt.pk).content_digest == note.contents[str(hurt.pk)]
    assert note.kept_through == date(2031, 12, 31)
    assert whole(cast) == []
    assert checkpoints.extends(checkpoints.leaves(cast.lane), held) == ""


def test_inside_its_period_it_is_refused(cast: Cast, hurt: Incident) -> None:
    """O-12: kept through 31 December 2031."""
    with clock.standing_at(LAST), pytest.raises(Refused, match=r"The period of none .* is over"):
        purge("injuries", 2, site=cast.lane, by=None)
    assert Incident.objects.filter(pk=hurt.pk).exists()


def test_an_injury_waits_for_a_late_review(cast: Cast, hurt: Incident) -> None:
    with clock.standing_at(datetime(2030, 1, 5, tzinfo=UTC)):
        review(hurt, "Again.", "Nothing.", by=cast.owner.person)
    assert over(cast) == ()


def test_under_a_hold_nothing_goes_until_it_is_lifted(cast: Cast, hurt: Incident) -> None:
    held = hold("Claim of March", site=cast.lane, by=cast.owner.person)
    with pytest.raises(Refused, match="A legal hold stands: Claim of March"):
        purge("injuries", 2, site=cast.lane, by=None)
    lift(held, "It was settled.", by=cast.owner.person)
    assert holds(cast.lane) == [] and LegalHold.objects.exists()
    purge("injuries", 2, site=cast.lane, by=None)


def test_a_hold_of_one_site_holds_no_other(cast: Cast, hurt: Incident) -> None:
    hold("Claim", site=cast.court, by=None)
    assert purge("injuries", 2, site=cast.lane, by=None)


@pytest.mark.parametrize("count", [0, 1, 3])
def test_only_the_number_that_was_shown_goes(cast: Cast, hurt: Incident, count: int) -> None:
    with pytest.raises(Refused, match="2 records would go"):
        purge("injuries", count, site=cast.lane, by=None)


def test_what_answers_rest_on_is_refused_with_the_reason(cast: Cast, hurt: Incident) -> None:
    with pytest.raises(Refused, match="worked out from it"):
        purge("competency", 0, site=cast.lane, by=None)


def test_twice_takes_nothing_twice(cast: Cast, hurt: Incident) -> None:
    purge("injuries", 2, site=cast.lane, by=None)
    with pytest.raises(Refused, match="The period of none"):
        purge("injuries", 2, site=cast.lane, by=None)


def test_nobody_purges_by_a_page(cast: Cast, hurt: Incident) -> None:
    with pytest.raises(NotAllowed, match=r"manage\.py purge"):
        purge("injuries", 2, site=cast.lane, by=cast.owner.person)
    assert Incident.objects.filter(pk=hurt.pk).exists()


def test_the_database_refuses_again_afterwards_and_never_stopped_for_others(cast: Cast, hurt: Incident) -> None:
    purge("injuries", 2, site=cast.lane, by=None)
    for model in (Incident, Purged, Seal):
        with pytest.raises(DatabaseError, match="never changed or deleted"), transaction.atomic():
            model.objects.all()._raw_delete("default")


def test_a_purge_that_fails_leaves_everything(cast: Cast, hurt: Incident, monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*args: Any) -> None:
        raise OSError("no")

    with monkeypatch.context() as then:
        then.setattr("django.db.connection.check_constraints", fails)
        with pytest.raises(OSError, match="no"):
            purge("injuries", 2, site=cast.lane, by=None)
    assert Incident.objects.filter(pk=hurt.pk).exists() and not Purged.objects.exists()
    with pytest.raises(DatabaseError, match="never changed or deleted"), transaction.atomic():
        Incident.objects.all()._raw_delete("default")


def test_a_fact_that_is_gone_without_a_note_is_found(cast: Cast, hurt: Incident) -> None:
    lift_refusals()
    IncidentReview.objects.all()._raw_delete("default")
    assert [each.says for each in check_site(cast.lane)] == ["the fact is gone"]


def test_a_note_that_names_another_content_is_found(cast: Cast, hurt: Incident) -> None:
    """Both: the seal it does not fit, and the note itself, which is sealed."""
    note = purge("injuries", 2, site=cast.lane, by=None)
    lift_refusals()
    Purged.objects.update(contents=note.contents | {str(hurt.pk): "0" * 64})
    says = {each.says for each in check_site(cast.lane)}
    assert {"the note of its purging names another content than was sealed", "the fact is not what was sealed"} <= says


def test_what_was_purged_and_comes_back_is_found(cast: Cast, hurt: Incident) -> None:
    purge("injuries", 2, site=cast.lane, by=None)
    hurt.save(force_insert=True)
    assert "the fact was purged, and stands in the record again" in {each.says for each in check_site(cast.lane)}


def test_photos_of_upkeep_go_and_their_entries_stay(cast: Cast, hurt: Incident) -> None:
    with clock.standing_at(datetime(2027, 5, 3, 12, tzinfo=UTC)):
        day, who = date(2027, 5, 3), cast.supervisor.person
        entry = UpkeepEntry(site=cast.lane, happened_on=day, equipment=cast.unit, task=cast.task, done_by=who)
        record(entry, by=None)
        record(EntryPhoto(site=cast.lane, happened_on=day, entry=entry, picture=b"jpeg"), by=None)
    assert len(over(cast, "photos")) == 1
    purge("photos", 1, site=cast.lane, by=None)
    assert (EntryPhoto.objects.count(), UpkeepEntry.objects.filter(pk=entry.pk).count(), whole(cast)) == (0, 1, [])


def run(*words: str) -> str:
    out = StringIO()
    call_command("purge", *words, "--site", "millbrook-lane", stdout=out)
    return out.getvalue()


def test_the_command_shows_before_anything_goes(cast: Cast, hurt: Incident) -> None:
    shown = run()
    assert "2 of 2 are over" in shown and "sharps injury of 14 March 2026" in shown and "It slipped" not in shown
    assert Incident.objects.filter(pk=hurt.pk).exists()
    assert "Purged: 2 records" in run("injuries", "--count", "2")
    assert "0 of 0 are over" in run()


def test_the_command_holds_and_lifts(cast: Cast, hurt: Incident) -> None:
    run("--hold", "Claim")
    assert "LEGAL HOLD since 1 January 2032: Claim" in run()
    with pytest.raises(CommandError, match=r"A legal hold stands: Claim\. Lift it first"):
        run("injuries", "--count", "2")
    assert "Lifted: Claim" in run("--lift", "settled")
    with pytest.raises(CommandError, match="What for is not said"):
        run("--hold", " ")


def test_a_longer_period_that_was_asked_wins(cast: Cast, hurt: Incident) -> None:
    assert "0 of 2 are over" in run("--years", "7")


def test_the_page_of_a_purged_fact_says_why_it_is_empty(cast: Cast, hurt: Incident, signed_in: Any) -> None:
    note = purge("injuries", 2, site=cast.lane, by=None)
    answer = signed_in(cast.owner).get(f"/millbrook-lane/facts/{hurt.pk}/")
    assert answer.status_code == 302 and str(note.pk) in answer.url
