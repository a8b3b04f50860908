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

from clinic import csv_rows
from clinic.models import Incident, Seal
from clinic.record import record
from clinic.rules import merkle
from tests.training.people_scene import TODAY, Scene, noon, watched
from tests.training.teaching import proved
from tests.training.test_binder import made
from tests.training.test_place_photos import jpeg
from training import check_pack
from training.actions.pictures import ShownPicture, keep_photo
from training.actions.putting_right import take_back
from training.models import Issue, PlacePhoto
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


@pytest.fixture
def folder(issue: Issue, tmp_path: Path) -> Path:
    place = tmp_path / "pack"
    ZipFile(io.BytesIO(packed(issue))).extractall(place)
    return place


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


def test_it_holds_every_record_that_the_binder_rests_on(issue: Issue, folder: Path) -> None:
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
    place = tmp_path / "pack"
    ZipFile(io.BytesIO(packed(issue))).extractall(place)
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
    answer = signed_in(getattr(scene.cast, who)).get(f"{PAGE}{issue.pk}/pack/")
    assert answer.status_code == status
    if status == 200:
        assert ZipFile(io.BytesIO(answer.content)).testzip() is None


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
