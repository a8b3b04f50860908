"""Photos of this place: beside a step or a site fact, covered before they are kept, taken back by a later fact."""

import io
from typing import Any
from uuid import uuid4

import pypdf
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import DatabaseError, IntegrityError, transaction
from django.urls import reverse
from PIL import Image

from clinic.models import Seal, SiteFact
from clinic.photos import ACROSS, COVER, DOWN, covered, encoded
from clinic.record import Refused
from clinic.seals import check_fact
from tests.cast import Cast
from tests.rights.world import proved
from tests.training.teaching import put_in_force
from training.actions.pictures import ShownPicture, keep_photo
from training.actions.putting_right import take_back
from training.models import PlacePhoto, Procedure
from training.reads.bench import bench_procedures
from training.reads.pictures import Photos, photos_at
from training.rules.texts import Step

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def the_taught(the_cast: Cast, django_db_blocker: Any) -> Cast:
    with django_db_blocker.unblock():
        put_in_force(the_cast, "P06", "T01")
    return the_cast


@pytest.fixture
def taught(the_taught: Cast, cast: Cast) -> Cast:
    return cast


def jpeg(colour: str = "#dd8844", size: tuple[int, int] = (600, 400)) -> bytes:
    return encoded(Image.new("RGB", size, colour))


def photo_file(exif: bool = False) -> SimpleUploadedFile:
    out, picture = io.BytesIO(), Image.new("RGB", (600, 400), "#dd8844")
    told = Image.Exif()
    told[0x010E] = "Chairside, Mrs Vale"
    picture.save(out, "JPEG", exif=told if exif else b"")
    return SimpleUploadedFile("p.jpg", out.getvalue(), "image/jpeg")


def kept(cast: Cast, says: str = "The red button", **beside: Any) -> PlacePhoto:
    if "procedure" not in beside:
        beside = {"fact": SiteFact.objects.get(name="stop control")} | beside
    shown = ShownPicture(jpeg(), says, **beside)
    return keep_photo(shown, site=cast.lane, by=cast.coordinator.person, id=uuid4())


def said(photos: Photos) -> str:
    """What the photo beside the stop control shows; empty where there is none."""
    found = photos.of_step("P99", Step("s1", "Press {stop control}"))
    return found[0].says if found else ""


def step_with_stop() -> tuple[Procedure, Any]:
    """A step of P06 that names the stop control, or its first one."""
    row = Procedure.objects.get(code="P06")
    steps = row.versions.get().text.steps
    return row, next((step for step in steps if "{" in step.do), steps[0])


def test_what_is_covered_is_in_none_of_the_bytes() -> None:
    """Row by row and column by column: each part by itself, and nothing beside it."""
    striped = Image.new("RGB", (600, 400), "#ffffff")
    for cell in (0, ACROSS + 1, ACROSS * DOWN - 1):
        after = Image.open(io.BytesIO(covered(encoded(striped), frozenset([cell]))))
        row, column = divmod(cell, ACROSS)
        for other in range(ACROSS * DOWN):
            r, c = divmod(other, ACROSS)
            seen = after.getpixel((c * 100 + 50, r * 100 + 50))
            assert isinstance(seen, tuple)
            is_covered = max(seen) < 128
            assert is_covered == ((r, c) == (row, column))
    assert COVER == "#48605a"


def test_a_part_that_there_is_not_is_refused() -> None:
    with pytest.raises(ValueError, match="24 parts"):
        covered(jpeg(), frozenset([ACROSS * DOWN]))


def test_a_photo_is_kept_anew_covered_and_sealed(taught: Cast, signed_in: Any) -> None:
    fact = SiteFact.objects.get(name="stop control")
    url = f"{reverse('training:fact_photo', args=[taught.lane.code])}?fact={fact.pk}&unit={taught.unit.pk}"
    page = signed_in(taught.coordinator).get(url)
    assert "Never a patient’s name or face" in page.content.decode()
    sent = {
        "submission": str(uuid4()), "unit": str(taught.unit.pk), "photo": photo_file(exif=True), "cover": ["0", "1"],
        "says": "The red button",
    }  # fmt: skip
    assert signed_in(taught.coordinator).post(url, sent).status_code == 302
    row = PlacePhoto.objects.get()
    picture = Image.open(io.BytesIO(bytes(row.picture)))
    assert not picture.getexif() and b"Vale" not in bytes(row.picture)
    seen, bare = picture.getpixel((50, 50)), picture.getpixel((550, 350))
    assert isinstance(seen, tuple) and isinstance(bare, tuple) and seen[0] < 128 < bare[0]
    assert (row.equipment, row.site_fact, check_fact(Seal.objects.get(fact=row.pk))) == (taught.unit, fact, [])
    assert PlacePhoto(picture=b"another").own_content()["picture"] != row.own_content()["picture"]


def test_what_is_missing_is_said_and_what_was_typed_stays(taught: Cast, signed_in: Any) -> None:
    url = reverse("training:step_photo", args=[taught.lane.code, "P06"])
    page = signed_in(taught.coordinator).post(url, {"submission": str(uuid4()), "says": "The valve", "cover": "99"})
    shown = page.content.decode()
    assert page.status_code == 200 and not PlacePhoto.objects.exists()
    for words in ("Choose the step.", "Take the photo, or choose a file.", "Choose among the parts", "The valve"):
        assert words in shown


def test_it_stands_on_the_study_page_the_bench_and_the_walk(taught: Cast, signed_in: Any) -> None:
    procedure, step = step_with_stop()
    row = kept(taught, "Where the tongs lie", procedure=procedure, step=step.key)
    fact = kept(taught, unit=taught.unit)
    address = reverse("training:place_photo", args=[taught.lane.code, row.pk])
    study = signed_in(taught.coordinator).get(reverse("training:procedure", args=[taught.lane.code, "P06"]))
    walk = signed_in(taught.coordinator).get(reverse("training:walk", args=[taught.lane.code]))
    assert f'src="{address}" alt="Where the tongs lie"' in study.content.decode()
    assert reverse("training:place_photo", args=[taught.lane.code, fact.pk]) in walk.content.decode()
    picture = signed_in(taught.assistant).get(address)
    assert (picture["Content-Type"], picture.content) == ("image/jpeg", bytes(row.picture))


def test_the_wall_card_shows_it_beside_its_step(taught: Cast, signed_in: Any) -> None:
    def images() -> int:
        card = signed_in(taught.assistant).get(reverse("training:wall_card", args=[taught.lane.code, "P06"]))
        return sum(len(page.images) for page in pypdf.PdfReader(io.BytesIO(card.content)).pages)

    assert images() == 0
    procedure = Procedure.objects.get(code="P06")
    kept(taught, procedure=procedure, step=procedure.versions.get().text.steps[0].key)
    assert images() == 1


def test_the_units_own_comes_before_that_of_the_site_and_the_newest_before_the_older(taught: Cast) -> None:
    kept(taught, "Site")
    assert said(photos_at(taught.lane, taught.unit)) == "Site"
    kept(taught, "Older", unit=taught.unit)
    kept(taught, "Newer", unit=taught.unit)
    assert said(photos_at(taught.lane, taught.unit)) == "Newer"
    assert said(photos_at(taught.lane, None)) == "Site"
    assert said(photos_at(taught.court, None)) == ""


def test_taken_back_the_earlier_one_is_shown_again(taught: Cast) -> None:
    kept(taught, "Earlier")
    wrong = kept(taught, "A face on it")
    take_back(wrong, "A face is on it.", by=taught.owner.person, proved=proved())
    assert said(photos_at(taught.lane, taught.unit)) == "Earlier"


def test_a_step_that_is_in_no_version_and_a_unit_of_another_site_are_refused(taught: Cast) -> None:
    procedure = Procedure.objects.get(code="P06")
    with pytest.raises(Refused, match="stands in no version"):
        kept(taught, procedure=procedure, step="none")
    with pytest.raises(Refused, match="There is no photo"):
        keep_photo(
            ShownPicture(b"", "x", procedure=procedure), site=taught.lane, by=taught.coordinator.person, id=uuid4()
        )


def test_it_stands_beside_one_thing_only(taught: Cast) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        PlacePhoto.objects.create(
            site=taught.lane, happened_on="2025-01-06", says="x", picture=b"", recorded_at="2025-01-06T10:00Z"
        )


def test_somebody_on_duty_looks_and_adds_none(taught: Cast, signed_in: Any) -> None:
    url = reverse("training:step_photo", args=[taught.lane.code, "P06"])
    assert signed_in(taught.assistant).get(url).status_code == 403


def test_the_database_refuses_to_change_it_and_another_site_does_not_show_it(taught: Cast, signed_in: Any) -> None:
    row = kept(taught)
    with pytest.raises(DatabaseError), transaction.atomic():
        PlacePhoto.objects.update(picture=b"another")
    theirs = reverse("training:place_photo", args=[taught.court.code, row.pk])
    assert [signed_in(who).get(theirs).status_code for who in (taught.elsewhere, taught.assistant)] == [404, 404]


def test_the_page_of_its_record_leads_to_the_photo(taught: Cast, signed_in: Any) -> None:
    row = kept(taught, "The red button", unit=taught.unit)
    page = signed_in(taught.coordinator).get(reverse("training:fact", args=[taught.lane.code, row.pk])).content.decode()
    assert "The red button" in page and reverse("training:place_photo", args=[taught.lane.code, row.pk]) in page
    assert "It stands beside the {stop control}" not in page


def test_the_bench_is_given_the_photos_of_each_step(taught: Cast) -> None:
    procedure = Procedure.objects.get(code="P06")
    version = procedure.versions.get()
    row = kept(taught, "The seal", procedure=procedure, step=version.text.steps[0].key)
    (shown,) = bench_procedures([version], taught.lane, taught.unit)
    address = reverse("training:place_photo", args=[taught.lane.code, row.pk])
    assert [step["photos"] for step in shown.plain()["steps"]][:2] == [[[address, "The seal"]], []]


def test_without_a_site_fact_or_without_steps_it_leads_to_where_they_are(taught: Cast, signed_in: Any) -> None:
    client = signed_in(taught.coordinator)
    assert client.get(reverse("training:fact_photo", args=[taught.lane.code])).url.endswith("/procedures/site-facts/")
    topic = client.get(reverse("training:step_photo", args=[taught.lane.code, "T01"]), follow=True).content.decode()
    assert "put a version with steps in force first" in topic
