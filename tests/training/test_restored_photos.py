"""A register with photos of every kind, copied and restored on both databases: each picture is the same to the last byte."""

from datetime import UTC, date, datetime
from typing import Any
from uuid import uuid4

import pytest
from django.apps import apps
from PIL import Image

from clinic.keeping.moving import move
from clinic.keeping.places import NotKept, register_at
from clinic.keeping.restoring import restore
from clinic.models import EntryPhoto, SiteFact, UpkeepEntry
from clinic.photos import encoded
from clinic.record import record
from tests.cast import Cast
from tests.clinic.test_backup import copied, empty, practice, quiet, whole
from tests.fixtures import lift_refusals
from tests.training.teaching import put_in_force
from training.actions.pictures import ShownPicture, keep_photo
from training.models import PlacePhoto, SheetEntered, SheetPhoto, SheetsPrinted

pytestmark = pytest.mark.usefixtures("free_database")
__all__ = ["empty", "practice"]  # fixtures
DAY, NOON = date(2025, 3, 3), datetime(2025, 3, 3, 12, tzinfo=UTC)
KINDS = (EntryPhoto, PlacePhoto, SheetPhoto)


def picture() -> bytes:
    """As large as one from a phone, and no two alike."""
    return encoded(Image.effect_noise((1600, 1200), 60).convert("RGB"))


@pytest.fixture
def photographed(practice: Cast) -> Cast:
    """A photo of each kind, two of one."""
    site, who, watched_by = practice.lane, practice.assistant.person, practice.supervisor.person
    version = put_in_force(practice, "P06")["P06"]
    entry = record(
        UpkeepEntry(site=site, happened_on=DAY, task=practice.task, equipment=practice.unit, done_by=who), by=who
    )
    record(EntryPhoto(site=site, happened_on=DAY, entry=entry, picture=picture()), by=who)
    for says in ("The red button", "The drain"):
        shown = ShownPicture(picture(), says, fact=SiteFact.objects.first())
        keep_photo(shown, site=site, by=practice.coordinator.person, id=uuid4())
    printed = record(SheetsPrinted(site=site, happened_on=DAY, version=version, first=1, count=1), by=watched_by)
    sheet = SheetEntered(
        site=site, happened_on=DAY, printed=printed, number=1, version=version, person=who, observer=watched_by,
        purpose="assessment", method="real", started_at=NOON, finished_at=NOON, marks={},
    )  # fmt: skip
    for fact in (sheet, SheetPhoto(site=site, happened_on=DAY, sheet=sheet, picture=picture())):
        record(fact, by=practice.coordinator.person)
    return practice


def pictures() -> dict[Any, bytes]:
    """Every picture of the open register, by its fact."""
    return {row.pk: bytes(row.picture) for kind in KINDS for row in kind.objects.all()}


def test_every_kind_of_fact_with_a_picture_is_looked_at() -> None:
    assert {model for model in apps.get_models() if hasattr(model, "picture")} == set(KINDS)


def test_every_picture_comes_back_to_the_last_byte(photographed: Cast, empty: Any) -> None:
    before, file = pictures(), copied(photographed)
    held = sum(map(len, before.values()))
    assert (
        len(set(before.values())) == 4 and file.stat().st_size < 1.5 * held + 3_000_000
    )  # packed, not written as text
    with register_at(empty):
        restore(file, say=quiet)
        assert (pictures(), whole()) == (before, [])


def test_every_picture_moves_to_the_last_byte(photographed: Cast, empty: Any) -> None:
    before = pictures()
    move(empty, say=quiet)
    with register_at(empty):
        assert (pictures(), whole()) == (before, [])


def test_a_copy_with_one_picture_altered_does_not_prove_itself(photographed: Cast, empty: Any) -> None:
    row = PlacePhoto.objects.all()[0]
    lift_refusals()
    PlacePhoto.objects.filter(pk=row.pk).update(picture=bytes(row.picture)[:-1] + b"\0")
    file = copied(photographed)
    with register_at(empty), pytest.raises(NotKept, match="the fact is not what was sealed"):
        restore(file, say=quiet)
