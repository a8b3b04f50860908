"""The evidence of a binder as a pack that checks itself, without the register: whole, and after each way of altering it."""

import csv
import io
import json
import subprocess
import sys
from collections.abc import Callable
from datetime import date, timedelta
from hashlib import sha256
from pathlib import Path
from typing import Any
from uuid import uuid4
from zipfile import ZipFile

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from clinic import clock, csv_rows
from clinic.models import Incident, Seal
from clinic.record import record
from clinic.rules import merkle
from tests.fixtures import lift_refusals
from tests.training.people_scene import TODAY, Scene, noon, watched
from tests.training.teaching import proved
from tests.training.test_binder import made
from tests.training.test_place_photos import jpeg
from training import check_pack
from training.actions.binder import call_off, request_pack
from training.actions.pictures import ShownPicture, keep_photo
from training.actions.putting_right import take_back
from training.binder_worker import MOST_ATTEMPTS, claim, look, run_one
from training.models import BinderJob, Issue, PackPart, PlacePhoto
from training.packs import readme, records, write_pack

PAGE = "/millbrook-lane/audit/binders/"


@pytest.fixture
def issue(scene: Scene, settings: Any, tmp_path: Path) -> Issue:
    settings.DOCUMENTS_DIR = tmp_path / "documents"
    for _ in range(2):
        watched(scene, scene.cast.assistant.person, "P01", TODAY)
    return made(scene)


def packed(issue: Issue) -> bytes:
    out = io.BytesIO()
    write_pack(issue, out)
    return out.getvalue()


def unpacked(pack: bytes, tmp_path: Path) -> Path:
    place = tmp_path / "pack"
    ZipFile(io.BytesIO(pack)).extractall(place)
    return place


@pytest.fixture(scope="module")
def made_once() -> dict[str, bytes]:
    return {}


@pytest.fixture
def folder(scene: Scene, made_once: dict[str, bytes], request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """A pack of a binder that is there no more: it is held without the register."""
    if not made_once:
        made_once["pack"] = packed(request.getfixturevalue("issue"))
    return unpacked(made_once["pack"], tmp_path)


def check(folder: Path) -> subprocess.CompletedProcess[str]:
    """As its README says, with nothing of the register to import."""
    run = [sys.executable, "-I", "check.py"]
    return subprocess.run(run, cwd=folder, capture_output=True, text=True, check=False, env={})


def test_it_checks_itself_without_the_register(folder: Path) -> None:
    said = check(folder)
    assert (said.returncode, said.stdout[:17]) == (0, "Everything holds."), said.stdout + said.stderr


def test_verify_shows_that_the_binder_stands_in_the_log(folder: Path) -> None:
    key = (folder / "README.txt").read_text(encoding="utf-8").split("gives today:  ")[1].split()[0]
    run = [sys.executable, "-I", "verify.py", "proof.json", "--file", "binder.pdf", "--key", key]
    said = subprocess.run(run, cwd=folder, capture_output=True, text=True, check=False, env={})
    assert said.returncode == 0 and "byte for byte the file that was issued" in said.stdout, said.stdout


def test_it_holds_every_record_that_the_binder_rests_on(issue: Issue, tmp_path: Path) -> None:
    folder = unpacked(packed(issue), tmp_path)
    rows = [json.loads(line) for line in (folder / "records.jsonl").read_text(encoding="utf-8").splitlines()]
    assert {row["id"] for row in rows} == {*issue.frozen["facts"], str(issue.pk)}
    digests = {str(fact): link for fact, link in Seal.objects.values_list("fact", "digest")}
    assert all(sha256(row["link"].encode()).hexdigest() == digests[row["id"]] for row in rows)
    assert sum(1 for table in (folder / "tables").iterdir() for _ in reader(table)) == len(rows)


def reader(table: Path) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(table.read_text(encoding="utf-8-sig"))))


def test_the_same_binder_over_the_same_log_gives_the_same_bytes(issue: Issue) -> None:
    assert packed(issue) == packed(issue)


def swapped(name: str, old: str, new: str) -> Callable[[Path], None]:
    def alter(folder: Path) -> None:
        text = (folder / name).read_text(encoding="utf-8")
        assert old in text
        (folder / name).write_text(text.replace(old, new, 1), encoding="utf-8")

    return alter


def another_pdf(folder: Path) -> None:
    (folder / "binder.pdf").write_bytes((folder / "binder.pdf").read_bytes() + b" ")


def one_record_less(folder: Path) -> None:
    place = folder / "records.jsonl"
    place.write_text("".join(place.read_text(encoding="utf-8").splitlines(keepends=True)[1:]), encoding="utf-8")


def one_seal_less(folder: Path) -> None:
    place = folder / "log.txt"
    place.write_text("".join(place.read_text(encoding="utf-8").splitlines(keepends=True)[:-1]), encoding="utf-8")


ALTERED: dict[str, tuple[Callable[[Path], None], str]] = {
    "what a record says": (swapped("records.jsonl", "alone", "asked"), "it does not say what its seal covers"),
    "a cell of a table": (
        swapped("tables/training.observation.csv", "alone", "asked"),
        "is not what its record says",
    ),
    "the pdf": (another_pdf, "binder.pdf: no record of an issue holds its digest"),
    "the content": (
        swapped("binder.json", "Millbrook", "Millbrock"),
        "binder.json: no record of an issue holds its digest",
    ),
    "a record taken out": (one_record_less, "is not what its record says"),
    "a seal taken out": (one_seal_less, "it is not the log whose head was signed"),
}


@pytest.mark.parametrize("what", ALTERED)
@pytest.mark.parametrize("hides", [False, True])
def test_whatever_is_altered_is_named_also_where_the_manifest_is_made_to_fit(
    folder: Path, what: str, hides: bool
) -> None:
    alter, says = ALTERED[what]
    alter(folder)
    if hides:
        named = {path.relative_to(folder).as_posix(): path for path in folder.rglob("*") if path.is_file()}
        made_to_fit = {
            name: sha256(path.read_bytes()).hexdigest() for name, path in named.items() if name != "manifest.json"
        }
        (folder / "manifest.json").write_text(json.dumps(made_to_fit), encoding="utf-8")
    said = check(folder)
    assert said.returncode == 1 and says in said.stdout, said.stdout
    assert hides or "it is not the file that the manifest names" in said.stdout


def test_a_file_put_in_beside_or_missing_is_named(folder: Path) -> None:
    (folder / "more.txt").write_text("more", encoding="utf-8")
    (folder / "seals.txt").unlink()
    said = check(folder).stdout
    assert "more.txt: it is not in the manifest" in said and "seals.txt: it is missing" in said


def photo(scene: Scene, says: str, colour: str, day: date = TODAY) -> PlacePhoto:
    """Of a step, as it looks at this site."""
    shown = ShownPicture(jpeg(colour), says, procedure=scene.procedures["P01"], step="s1")
    with noon(day):
        return keep_photo(shown, site=scene.cast.lane, by=scene.cast.coordinator.person, id=uuid4())


def test_the_place_is_in_it_as_it_was_shown_on_the_last_day(scene: Scene, settings: Any, tmp_path: Path) -> None:
    """Not the photo before it, not the one that was taken back, and none that came later."""
    settings.DOCUMENTS_DIR = tmp_path / "documents"
    first, second, wrong = (
        photo(scene, f"photo {n}", colour) for n, colour in enumerate(("#aa0000", "#00aa00", "#0000aa"))
    )
    take_back(wrong, "The wrong guard.", by=scene.cast.coordinator.person, proved=proved())
    issue = made(scene)
    photo(scene, "later", "#888888", TODAY + timedelta(days=1))
    place = unpacked(packed(issue), tmp_path)
    assert [path.stem for path in (place / "pictures").iterdir()] == [str(second.pk)]
    assert (place / "pictures" / f"{second.pk}.jpg").read_bytes() == bytes(second.picture) != bytes(first.picture)
    said = check(place)
    assert said.returncode == 0, said.stdout
    (place / "pictures" / f"{second.pk}.jpg").write_bytes(bytes(first.picture))
    assert "it is not the picture of its record" in check(place).stdout


def test_no_event_is_in_it(scene: Scene, settings: Any, tmp_path: Path) -> None:
    settings.DOCUMENTS_DIR = tmp_path / "documents"
    event = Incident(site=scene.cast.lane, happened_on=TODAY, kind="near miss", place="bench", how="A cutter slipped.")
    record(event, by=scene.cast.assistant.person)
    row = made(scene)
    row.frozen["facts"].append(str(event.pk))  # as if a binder ever rested on one
    assert str(event.pk) not in {each["id"] for each in records(row, 10_000)}
    assert "1 record about injuries and near misses" in readme(row, 3, "key")


@pytest.mark.parametrize(
    ("who", "status"), [("owner", 200), ("coordinator", 200), ("assistant", 403), ("elsewhere", 404)]
)
def test_whoever_reads_the_site_saves_it(issue: Issue, scene: Scene, signed_in: Any, who: str, status: int) -> None:
    client, place = signed_in(getattr(scene.cast, who)), f"{PAGE}{issue.pk}/pack/"
    asked = client.post(place, {})
    assert asked.status_code == (302 if status == 200 else status)
    if status == 200:
        ended = run_one()
        assert ended is not None and (ended.state, ended.pack_of) == ("done", issue), ended
        assert asked.url.endswith(f"/jobs/{ended.pk}/") and "Save the" in client.get(asked.url).content.decode()
    answer = client.get(place)
    assert answer.status_code == status
    if status == 200:
        assert ZipFile(io.BytesIO(answer.content)).testzip() is None and answer.content == packed(issue)


# Packed by the worker -------------------------------------------------------------------------------------------------


def ask_pack(issue: Issue) -> BinderJob:
    return request_pack(issue, by=issue.recorded_by)


def test_a_pack_that_is_not_made_leads_to_its_binder(issue: Issue, scene: Scene, signed_in: Any) -> None:
    answer = signed_in(scene.cast.owner).get(f"{PAGE}{issue.pk}/pack/")
    assert answer.status_code == 302 and answer.url == f"{PAGE}{issue.pk}/"


@pytest.mark.parametrize(
    ("state", "says"),
    [("queued", "is being made"), ("running", "is being made"), ("done", "is made"), ("failed", "could not be made"), ("called off", "was called off")],
)  # fmt: skip
def test_the_page_says_how_it_is(issue: Issue, scene: Scene, signed_in: Any, state: str, says: str) -> None:
    job = ask_pack(issue)
    BinderJob.objects.filter(pk=job.pk).update(state=state)
    page = signed_in(scene.cast.owner).get(f"{PAGE}jobs/{job.pk}/").content.decode()
    assert f"The evidence {says}." in page and f"Evidence of {issue.number}" in page


def test_asked_for_twice_it_is_packed_once(issue: Issue) -> None:
    assert ask_pack(issue) == ask_pack(issue) and BinderJob.objects.filter(pack_of=issue).count() == 1


def test_a_pack_takes_no_number_from_the_binders(scene: Scene, issue: Issue) -> None:
    ask_pack(issue)
    assert run_one() is not None
    assert made(scene).number == "millbrook-lane-2025-B0002"


def test_its_progress_is_told_and_called_off_nothing_is_kept(
    issue: Issue, scene: Scene, monkeypatch: pytest.MonkeyPatch
) -> None:
    job, told = ask_pack(issue), []

    def pack(row: Issue, out: Any, tell: Callable[[str], None]) -> None:
        tell("binder.pdf")
        told.append(BinderJob.objects.get(pk=job.pk).says)
        call_off(job, by=scene.cast.owner.person)
        tell("binder.json")

    monkeypatch.setattr("training.binder_worker.write_pack", pack)
    ended = run_one()
    assert ended is not None and (ended.state, told) == ("called off", ["Packing binder.pdf."])
    assert not PackPart.objects.exists()


def test_a_worker_that_died_in_the_middle_is_followed_by_another(issue: Issue) -> None:
    job = ask_pack(issue)
    assert claim("died") == job and run_one("busy") is None
    BinderJob.objects.filter(pk=job.pk).update(lease_until=clock.now() - timedelta(seconds=1))
    ended = run_one("next")
    assert ended is not None and (ended.state, ended.attempts) == ("done", 2) and PackPart.objects.exists()


def test_a_worker_that_lost_its_job_keeps_nothing(issue: Issue, monkeypatch: pytest.MonkeyPatch) -> None:
    job = ask_pack(issue)

    def pack(row: Issue, out: Any, tell: Callable[[str], None]) -> None:
        out.write(b"late")
        BinderJob.objects.filter(pk=job.pk).update(worker="another")

    monkeypatch.setattr("training.binder_worker.write_pack", pack)
    run_one("late")
    assert not PackPart.objects.exists() and BinderJob.objects.get(pk=job.pk).state == "running"


def test_large_packs_are_kept_in_pieces_and_come_back_whole(
    issue: Issue, scene: Scene, signed_in: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("training.binder_worker.PIECE", 1000)
    ask_pack(issue)
    run_one()
    whole = packed(issue)
    assert PackPart.objects.count() == -(-len(whole) // 1000) > 10
    assert signed_in(scene.cast.owner).get(f"{PAGE}{issue.pk}/pack/").content == whole


def test_the_next_pack_takes_the_place_of_the_one_before_and_none_is_kept_for_longer_than_a_week(issue: Issue) -> None:
    ask_pack(issue)
    run_one()
    second = ask_pack(issue)
    run_one()
    assert {part.job for part in PackPart.objects.all()} == {second}
    BinderJob.objects.filter(pk=second.pk).update(requested_at=clock.now() - timedelta(days=6))
    assert not look(print) and PackPart.objects.exists()
    BinderJob.objects.filter(pk=second.pk).update(requested_at=clock.now() - timedelta(days=8))
    assert not look(print), "nothing waits to be made"
    assert not PackPart.objects.exists()


def test_a_link_to_a_pack_that_is_no_longer_kept_says_so_and_leads_to_where_it_is_packed_anew(
    scene: Scene, signed_in: Any, issue: Issue
) -> None:
    ask_pack(issue)
    run_one()
    PackPart.objects.all().delete()
    answer = signed_in(scene.cast.owner).get(f"{PAGE}{issue.pk}/pack/", follow=True)
    assert answer.redirect_chain == [(f"{PAGE}{issue.pk}/", 302)]
    assert "It can be packed anew below." in answer.content.decode()


def test_one_that_was_begun_too_often_says_what_to_do_about_a_pack(issue: Issue) -> None:
    job = ask_pack(issue)
    BinderJob.objects.filter(pk=job.pk).update(attempts=MOST_ATTEMPTS)
    ended = run_one()
    assert ended is not None and ended.state == "failed"
    assert "Look into the log" in ended.says and "period" not in ended.says


def test_what_cannot_be_packed_says_why(issue: Issue) -> None:
    lift_refusals()
    Issue.objects.filter(pk=issue.pk).update(file_digest="0" * 64)
    ask_pack(issue)
    ended = run_one()
    assert ended is not None and ended.state == "failed" and "is not the one that was issued" in ended.says


def test_its_queries_do_not_grow_with_the_records(scene: Scene, settings: Any, tmp_path: Path) -> None:
    settings.DOCUMENTS_DIR = tmp_path / "documents"
    counts = []
    for n in (1, 6):
        for _ in range(n):
            watched(scene, scene.cast.assistant.person, "P01", TODAY)
        row = made(scene)
        with CaptureQueriesContext(
            connection,
        ) as asked:
            packed(row)
        counts.append(len(asked))
    assert counts[0] == counts[1]


@pytest.mark.parametrize("size", [0, 1, 2, 3, 5, 8, 13, 21])
def test_the_programs_own_root_is_the_registers(size: int) -> None:
    """It imports nothing of the register, so it says again what stands there (RFC 9162, 2.1)."""
    leaves, peaks = [bytes([n]) * 32 for n in range(size)], []
    for n, leaf in enumerate(leaves):
        peaks = merkle.grown(peaks, n, leaf)
    assert check_pack.root_of(leaves) == merkle.head_of(peaks)


@pytest.mark.parametrize("words", ["=1+1", "+44", "-1", "@a", "\tx", "\rx", "plain", "", "'=1"])
def test_the_programs_guard_of_cells_is_the_registers(words: str) -> None:
    assert check_pack.guarded(words) == csv_rows.guarded(words)
