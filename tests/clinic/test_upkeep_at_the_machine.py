"""Logging at the machine: by script and without, once only, with a photo, on a tablet that stands at its bench."""

from datetime import date
from io import BytesIO
from typing import Any
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import DatabaseError, transaction
from PIL import Image

from clinic.models import EntryPhoto, Equipment, Seal, UpkeepEntry
from clinic.photos import SIDE, NotAPhoto, as_jpeg
from tests.cast import REGISTER_START, Cast

pytestmark = pytest.mark.django_db
SCRIPT = {"HTTP_ACCEPT": "application/json"}
PLACE = 0x8825  # the part of a photo that says where on earth it was taken (Exif 2.32, GPS IFD pointer; from memory)


def typed(cast: Cast, **changes: Any) -> dict[str, Any]:
    return {
        "submission": str(uuid4()), "reading_tools": "yes", "reading_warm": "21", "reading_grown": "40",
        "done_by": str(cast.supervisor.person.pk), "stood_by": "nobody", "day": f"{date.today():%d %b %Y}", "note": "",
    } | changes  # fmt: skip


def address(cast: Cast) -> str:
    return f"/{cast.lane.code}/upkeep/unit/{cast.unit.pk}/log/U91/"


def picture(kind: str = "PNG", size: tuple[int, int] = (40, 20), **more: Any) -> bytes:
    out = BytesIO()
    Image.new("RGB", size, "grey").save(out, kind, **more)
    return out.getvalue()


def upload(content: bytes, name: str = "photo.png") -> SimpleUploadedFile:
    return SimpleUploadedFile(name, content)


# ---------- by script ----------


def test_a_script_is_told_where_to_go_and_the_same_submission_twice_is_one_entry(cast: Cast, signed_in: Any) -> None:
    client, form = signed_in(cast.supervisor), typed(cast)
    went = [client.post(address(cast), form, **SCRIPT).json()["go"] for _ in range(2)]
    assert went == [f"/{cast.lane.code}/upkeep/equipment/{cast.unit.pk}/"] * 2
    assert UpkeepEntry.objects.count() == 1


def test_a_script_is_told_every_refusal_and_by_field(cast: Cast, signed_in: Any) -> None:
    sent = signed_in(cast.supervisor).post(address(cast), typed(cast, reading_warm="hot", day="x"), **SCRIPT)
    assert sent.status_code == 422
    assert set(sent.json()["fields"]) == {"day"}
    assert sent.json()["refusals"] == ["Write the day with the month’s name, such as 25 Nov 2026."]


def test_an_entry_sent_again_with_other_content_is_refused_and_both_are_kept_apart(cast: Cast, signed_in: Any) -> None:
    client, form = signed_in(cast.supervisor), typed(cast)
    client.post(address(cast), form, **SCRIPT)
    sent = client.post(address(cast), form | {"note": "other words"}, **SCRIPT)
    assert "already recorded, with other content" in sent.json()["refusals"][0]
    assert UpkeepEntry.objects.get().note == ""


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("note", "a\x00b"),
        ("note", "x" * 2001),
        ("reading_warm", "2\x001"),
        ("reading_warm", "9" * 201),
        ("stood_by", "x" * 9000),
    ],
)
def test_text_that_no_form_takes_is_refused_by_name_and_comes_back(
    cast: Cast, signed_in: Any, field: str, value: str
) -> None:
    page = signed_in(cast.supervisor).post(address(cast), typed(cast, **{field: value, "reading_grown": "41"}))
    assert field in page.context["form"].errors
    assert 'value="41"' in page.content.decode()
    assert not UpkeepEntry.objects.exists()


def test_a_count_below_zero_or_of_a_thousand_million_is_refused(cast: Cast, signed_in: Any) -> None:
    for value in ("-1", "1000000001"):
        page = signed_in(cast.supervisor).post(address(cast), typed(cast, reading_grown=value))
        assert "reading_grown" in page.context["form"].errors
    assert not UpkeepEntry.objects.exists()


def test_the_page_hands_the_tablet_what_it_keeps_an_entry_under(cast: Cast, signed_in: Any) -> None:
    page = signed_in(cast.supervisor).get(address(cast))
    assert page.context["kept"]["observer"] == str(cast.supervisor.person.pk)
    assert page.context["kept"]["address"] == address(cast)


# ---------- the photo ----------


def test_a_photo_is_kept_with_its_entry_sealed_and_served_as_jpeg(cast: Cast, signed_in: Any) -> None:
    client = signed_in(cast.supervisor)
    client.post(address(cast), typed(cast, photo=upload(picture())))
    kept = EntryPhoto.objects.get()
    assert kept.entry == UpkeepEntry.objects.get()
    assert Seal.objects.filter(fact=kept.pk).count() == 1
    sent = client.get(f"/{cast.lane.code}/upkeep/photos/{kept.pk}/")
    assert (sent.headers["Content-Type"], sent.headers["X-Content-Type-Options"]) == ("image/jpeg", "nosniff")
    assert Image.open(BytesIO(sent.content)).size == (40, 20)


def test_an_entry_with_a_photo_sent_twice_is_recorded_once(cast: Cast, signed_in: Any) -> None:
    client, form = signed_in(cast.supervisor), typed(cast)
    for _ in range(2):
        client.post(address(cast), form | {"photo": upload(picture())}, **SCRIPT)
    assert (UpkeepEntry.objects.count(), EntryPhoto.objects.count()) == (1, 1)


def test_the_seal_covers_every_byte_of_a_photo() -> None:
    first, second = EntryPhoto(picture=b"one"), EntryPhoto(picture=b"two")
    second.pk = first.pk
    assert first.own_content() != second.own_content()
    assert len(first.own_content()["picture"]) == 64


@pytest.mark.parametrize(
    "content", [b"<svg onload='x'/>", b"GIF89a" + b"\x00" * 40, picture()[:60], b"%PDF-1.7", b"<script>x</script>"]
)
def test_what_is_no_photo_is_refused_whatever_its_name_says(cast: Cast, signed_in: Any, content: bytes) -> None:
    page = signed_in(cast.supervisor).post(
        address(cast), typed(cast, note="kept words", photo=upload(content, "x.jpg"))
    )
    assert "Take one as JPEG, PNG or WebP." in page.content.decode()
    assert "kept words" in page.content.decode()
    assert not UpkeepEntry.objects.exists()


def test_a_photo_loses_its_place_and_its_camera_and_is_made_smaller() -> None:
    exif = Image.Exif()
    exif[PLACE] = {1: "N", 2: (51.0, 30.0, 0.0)}
    exif[0x010F] = "a camera"
    made = Image.open(BytesIO(as_jpeg(BytesIO(picture("JPEG", (4000, 1000), exif=exif)), 1)))
    assert dict(made.getexif()) == {}
    assert made.size == (SIDE, SIDE // 4)


def test_a_photo_of_too_many_bytes_or_pixels_is_refused_unread() -> None:
    with pytest.raises(NotAPhoto, match="12 MB"):
        as_jpeg(BytesIO(b""), 12_000_001)
    with pytest.raises(NotAPhoto, match="pixels"):
        as_jpeg(BytesIO(picture(size=(8000, 8000))), 1)


def test_another_sites_photo_is_not_there(cast: Cast, signed_in: Any) -> None:
    signed_in(cast.supervisor).post(address(cast), typed(cast, photo=upload(picture())))
    theirs = f"/{cast.court.code}/upkeep/photos/{EntryPhoto.objects.get().pk}/"
    assert [signed_in(who).get(theirs).status_code for who in (cast.elsewhere, cast.assistant)] == [404, 404]


def test_the_database_refuses_to_change_a_photo(cast: Cast, signed_in: Any) -> None:
    signed_in(cast.supervisor).post(address(cast), typed(cast, photo=upload(picture())))
    with pytest.raises(DatabaseError), transaction.atomic():
        EntryPhoto.objects.update(picture=b"")


# ---------- the tablet ----------


def fix(cast: Cast, client: Any, unit: Equipment) -> Any:
    return client.post(f"/{cast.lane.code}/upkeep/tablet/", {"equipment": str(unit.pk)}, follow=True)


def test_a_tablet_is_fixed_to_its_bench_and_freed_again(cast: Cast, signed_in: Any) -> None:
    client, says = signed_in(cast.assistant), "This tablet is at unit 1."
    assert says in fix(cast, client, cast.unit).content.decode()
    assert says in client.get(f"/{cast.lane.code}/upkeep/").content.decode()
    client.post(f"/{cast.lane.code}/upkeep/tablet/", {"free": "yes"})
    assert says not in client.get(f"/{cast.lane.code}/upkeep/").content.decode()


def test_every_page_of_the_bench_leads_from_one_work_at_its_unit_to_another(cast: Cast, signed_in: Any) -> None:
    client, unit = signed_in(cast.supervisor), f"/{cast.lane.code}/upkeep/unit/{cast.unit.pk}/"
    fix(cast, client, cast.unit)
    doors = [f'href="{unit}"', f'href="{unit}swap/"']
    for page in (f"/{cast.lane.code}/today/", address(cast), f"{unit}swap/"):
        shown = client.get(page).content.decode()
        assert [door for door in doors if door not in shown] == [], page


def test_a_fixed_tablet_has_its_unit_chosen_to_stop_and_to_observe(cast: Cast, signed_in: Any) -> None:
    client = signed_in(cast.assistant)
    fix(cast, client, cast.unit)
    stop = client.get(f"/{cast.lane.code}/upkeep/stop/")
    assert stop.context["form"]["equipment"].value() == cast.unit.pk


def test_a_tablet_is_fixed_to_no_unit_of_another_site(cast: Cast, signed_in: Any) -> None:
    page = fix(cast, signed_in(cast.assistant), cast.other_unit)
    assert "Choose a unit in service at this site." in page.content.decode()


def test_a_tablet_forgets_a_unit_that_is_out_of_use_and_believes_no_cookie_of_another_hand(
    cast: Cast, signed_in: Any
) -> None:
    client, old = (
        signed_in(cast.assistant),
        Equipment.objects.create(site=cast.lane, kind="milling unit", label="old", in_service_from=REGISTER_START),
    )
    fix(cast, client, old)
    Equipment.objects.filter(pk=old.pk).update(in_service_to=REGISTER_START)
    assert "This tablet is at old" not in client.get(f"/{cast.lane.code}/upkeep/").content.decode()
    client.cookies["tablet_at"] = str(cast.unit.pk)
    assert "This tablet is at" not in client.get(f"/{cast.lane.code}/upkeep/").content.decode()


def test_the_label_opens_what_can_be_logged_on_the_unit_and_its_parts(cast: Cast, signed_in: Any) -> None:
    Equipment.objects.create(
        site=cast.lane, kind="coolant tank", label="its tank", part_of=cast.unit, in_service_from=REGISTER_START
    )
    page = signed_in(cast.assistant).get(f"/{cast.lane.code}/upkeep/unit/{cast.unit.pk}/").content.decode()
    assert "its tank" in page
    assert address(cast) in page
