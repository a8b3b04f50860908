"""Heads that others hold: signed, printed, kept outside the database, and held against the log of a later day.

What is checked against an outside source: the note opens with the rules of the open format signed-note, whose published
example `tests/published/test_transparency.py` holds, and the proofs are those of RFC 9162 (rows F-11 to F-15).
"""

import json
import re
import shlex
import shutil
import stat
import subprocess
import sys
from datetime import timedelta
from io import BytesIO, StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core import mail
from django.core.exceptions import ImproperlyConfigured
from django.core.management import call_command
from django.core.management.base import CommandError
from pypdf import PdfReader

from clinic import checkpoints, clock, verify
from clinic.actions.checkpoints import give_out, give_out_what_is_due
from clinic.actions.people import change_person
from clinic.models import KeptElsewhere, Seal, Site
from clinic.record import record
from clinic.seals import check_register, check_site
from tests.cast import Cast
from tests.fixtures import lift_refusals
from tests.training.people_scene import TODAY, Scene
from training.actions.binder import request_binder
from training.binder_worker import run_one
from training.models import Issue
from training.papers import paper

pytestmark = pytest.mark.django_db
ROOT = Path(__file__).parents[2]


@pytest.fixture(autouse=True)
def places(settings: Any, tmp_path: Path) -> None:
    settings.DOCUMENTS_DIR = tmp_path / "documents"
    settings.CHECKPOINTS_DIR = tmp_path / "checkpoints"
    settings.CHECKPOINT_PLACES = [tmp_path / "usb"]
    settings.CHECKPOINT_KEY = tmp_path / "key.pem"


def kept(cast: Cast, what: str = "Plan", at: Site | None = None) -> KeptElsewhere:
    row = KeptElsewhere(
        site=at or cast.lane, happened_on=clock.today("UTC"), what=what, place="red folder", keeper="Bram"
    )
    return record(row, by=cast.owner.person)


def run(*words: str) -> str:
    out = StringIO()
    call_command("seals", *words, stdout=out)
    return out.getvalue()


def rewritten(site: Site, word: str = "Rewritten") -> None:
    """Somebody with the database changes the last fact and seals the whole site anew: every seal in it fits."""
    lift_refusals()
    last = Seal.objects.of_site(site).filter(kind="clinic.keptelsewhere").last()
    KeptElsewhere.objects.filter(pk=last.fact).update(what=word)
    seal_anew(site)


def seal_anew(site: Site) -> None:
    from clinic.record import seal  # noqa: PLC0415 - the attacker's own way in
    from clinic.seals import facts_of  # noqa: PLC0415

    rows = list(Seal.objects.of_site(site))
    facts = facts_of(rows)
    Seal.objects.filter(site=site)._raw_delete("default")
    site = Site.objects.get(pk=site.pk)
    site.last_position, site.last_digest, site.last_recorded_at, site.peaks = 0, "", None, ""
    for row in rows:
        seal(facts[row.fact], site)


def test_a_checkpoint_is_the_signed_head_of_the_tree(cast: Cast) -> None:
    kept(cast)
    note = checkpoints.checkpoint(cast.lane)
    head = verify.read_head(
        verify.opened(note, verify.read_key(checkpoints.public_key("millbrook-dental/millbrook-lane")))
    )
    log = checkpoints.leaves(cast.lane)
    assert (head.origin, head.size) == ("millbrook-dental/millbrook-lane", len(log))
    assert checkpoints.extends(log, head) == ""


def test_another_key_does_not_open_it(cast: Cast, settings: Any, tmp_path: Path) -> None:
    note = checkpoints.checkpoint(cast.lane)
    settings.CHECKPOINT_KEY = tmp_path / "other.pem"
    with pytest.raises(verify.Fails, match="bears no signature"):
        checkpoints.our_own(note)


def test_the_key_is_made_once_and_is_its_owners_alone(settings: Any) -> None:
    first = checkpoints.public_key("x")
    assert (first, stat.S_IMODE(settings.CHECKPOINT_KEY.stat().st_mode)) == (checkpoints.public_key("x"), 0o600)
    settings.CHECKPOINT_KEY.chmod(0o644)
    with pytest.raises(ImproperlyConfigured, match="chmod 600"):
        checkpoints.public_key("x")


def test_a_key_file_that_holds_none_is_named(settings: Any) -> None:
    settings.CHECKPOINT_KEY.write_text("no key")
    settings.CHECKPOINT_KEY.chmod(0o600)
    with pytest.raises(ImproperlyConfigured, match="holds no Ed25519 key"):
        checkpoints.public_key("x")


def test_a_rewritten_chain_is_whole_in_itself_and_found_by_a_held_head(cast: Cast) -> None:
    kept(cast)
    held = checkpoints.in_words(checkpoints.head(cast.lane))
    rewritten(cast.lane)
    assert check_site(cast.lane) == []  # what cannot be seen without a head that somebody else holds
    with pytest.raises(CommandError, match="1 break"):
        run("check", "--against", held)


def test_a_log_that_grew_still_begins_with_the_held_one(cast: Cast) -> None:
    held = checkpoints.in_words(checkpoints.head(cast.lane))
    kept(cast)
    said = run("check", "--against", held)
    assert "millbrook-lane: today's log begins with the" in said


def test_a_head_of_another_site_is_not_taken_for_this_one(cast: Cast) -> None:
    held = checkpoints.in_words(checkpoints.head(cast.court))
    with pytest.raises(CommandError):
        run("check", "--site", "millbrook-lane", "--against", held)


def test_a_head_typed_with_one_wrong_letter_fails(cast: Cast) -> None:
    held = checkpoints.in_words(checkpoints.head(cast.lane))
    wrong = held[:-1] + ("0" if held[-1] != "0" else "1")
    with pytest.raises(CommandError):
        run("check", "--against", wrong)


def test_a_cut_end_is_named_with_how_many_are_missing(cast: Cast, tmp_path: Path) -> None:
    """A restored older copy: whole in itself, and shorter than a head kept outside it."""
    run("checkpoint", "--out", str(tmp_path / "before"))
    note = next((tmp_path / "before" / "millbrook-lane").iterdir())
    size = checkpoints.our_own(note.read_text()).size
    log = checkpoints.leaves(cast.lane)[:-3]
    assert checkpoints.extends(log, checkpoints.our_own(note.read_text())) == (
        f"the log has {size - 3} seals, and the checkpoint was over {size}: 3 are missing from its end"
    )


def test_a_checkpoint_file_that_was_changed_is_refused(cast: Cast, tmp_path: Path) -> None:
    file = tmp_path / "held.txt"
    file.write_text(checkpoints.checkpoint(cast.lane).replace("\n", "0\n", 2))
    with pytest.raises(CommandError):
        run("check", "--against", str(file))


def test_given_out_it_lies_in_every_place_and_the_check_holds_the_log_against_it(cast: Cast, tmp_path: Path) -> None:
    kept(cast)
    give_out(cast.lane, by=None)
    assert [len(list((tmp_path / place).glob("millbrook-lane/*.txt"))) for place in ("checkpoints", "usb")] == [1, 1]
    assert check_site(cast.lane) == []
    rewritten(cast.lane)
    assert {each.part for each in check_site(cast.lane)} == {"checkpoints"}


def test_a_place_that_is_lost_is_said_and_keeps_none_from_the_others(cast: Cast, tmp_path: Path) -> None:
    (tmp_path / "usb").write_text("a file where a folder should be")
    given = give_out(cast.lane, by=None)
    assert len(given.after["failed"]) == 1 and str(tmp_path / "usb") in given.after["failed"][0]
    assert list((tmp_path / "checkpoints").glob("millbrook-lane/*.txt"))


def test_a_site_that_is_gone_is_missed_by_its_checkpoint(cast: Cast, tmp_path: Path) -> None:
    give_out(cast.court, by=None)
    shutil.move(tmp_path / "checkpoints" / "sandbar-court", tmp_path / "checkpoints" / "pier-yard")
    assert "there is no site pier-yard here" in {each.says.partition(": ")[2] for each in check_register()}


def test_every_week_each_site_gives_one_out_and_not_before(cast: Cast) -> None:
    assert {site.code for site in give_out_what_is_due()} == {"millbrook-lane", "sandbar-court"}
    assert give_out_what_is_due() == []
    with clock.standing_at(clock.now() + timedelta(days=7)):
        assert len(give_out_what_is_due()) == 2


def test_one_site_that_fails_keeps_no_other_and_is_tried_again(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    lane = cast.lane.pk

    def fails(site: Site, note: str) -> list[str]:
        if site.pk == lane:
            raise ValueError("no")
        return []

    with monkeypatch.context() as then:
        then.setattr("clinic.actions.checkpoints.write_everywhere", fails)
        assert [site.code for site in give_out_what_is_due()] == ["sandbar-court"]
    assert [site.code for site in give_out_what_is_due()] == ["millbrook-lane"]


def test_owners_get_it_by_mail_with_a_command_that_works(cast: Cast, settings: Any) -> None:
    settings.EMAIL_HOST = "mail.example"
    cast.owner.person.email = "hester@example.org"
    change_person(cast.owner.person, by=cast.coordinator.person)
    given = give_out(cast.lane, by=None)
    (sent,) = mail.outbox
    assert (sent.to, given.after["mailed"]) == (["hester@example.org"], 1)
    kept(cast)
    assert "today's log begins with" in run(*printed(sent.body))
    note = sent.body.split("-----\n")[1]
    assert checkpoints.our_own(note).size == given.after["size"]


def test_without_a_mail_server_none_is_tried(cast: Cast) -> None:
    assert (give_out(cast.lane, by=None).after["mailed"], mail.outbox) == (0, [])


def printed(text: str) -> list[str]:
    """The command as somebody types it from the paper."""
    found = re.search(r"manage\.py seals (check .+? --against \d+:[0-9a-f]{64})", text)
    assert found, text[-2000:]
    return shlex.split(found[1])


def binder_of(scene: Scene) -> Issue:
    request_binder(scene.cast.lane, TODAY, TODAY, TODAY, in_full=False, paper="A4", by=None)
    job = run_one()
    assert job is not None and job.issue is not None, job and job.says
    return job.issue


def text_of(pdf: bytes) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(BytesIO(pdf)).pages)


def test_the_command_printed_on_a_binder_works(scene: Scene) -> None:
    pdf = paper(binder_of(scene))
    kept(scene.cast)
    assert "today's log begins with" in run(*printed(text_of(pdf)))


def test_the_checkpoint_printed_on_a_binder_opens_with_the_key_printed_beside_it(scene: Scene) -> None:
    lines = text_of(paper(binder_of(scene))).splitlines()
    first = lines.index("millbrook-dental/millbrook-lane")
    signature = next(line for line in lines if line.startswith("\u2014 millbrook-dental/"))
    key = next(line for line in lines if line.startswith("millbrook-dental/millbrook-lane+"))
    note = "\n".join([*lines[first : first + 3], "", signature, ""])
    assert verify.read_head(verify.opened(note, verify.read_key(key))).size > 0


def test_an_issued_file_is_proved_and_another_is_not(scene: Scene, tmp_path: Path) -> None:
    file = tmp_path / "binder.pdf"
    file.write_bytes(paper(binder_of(scene)))
    assert "its fact stands in today's log" in run("check", "--certificate", str(file))
    file.write_bytes(file.read_bytes() + b" ")
    with pytest.raises(CommandError, match=r"\(1\) was added, by who signed it or by anybody else"):
        run("check", "--certificate", str(file))
    file.write_bytes(b" " + file.read_bytes())
    with pytest.raises(CommandError, match="not a file that this register issued"):
        run("check", "--certificate", str(file))


def test_a_file_that_is_not_there_is_named(cast: Cast) -> None:
    with pytest.raises(CommandError, match=r"nowhere\.pdf: No such file"):
        run("check", "--certificate", "nowhere.pdf")


def alone(*words: str | Path, cwd: Path) -> subprocess.CompletedProcess[str]:
    """The stand-alone program, copied away from the register, run by itself."""
    shutil.copy(ROOT / "clinic" / "verify.py", cwd / "verify.py")
    return subprocess.run(
        [sys.executable, "-I", "verify.py", *map(str, words)], cwd=cwd, capture_output=True, text=True, check=False
    )


@pytest.fixture
def proved(scene: Scene, tmp_path: Path) -> Path:
    """A folder as somebody elsewhere has it: the file, a head held since before, the proof, and the key."""
    held = checkpoints.checkpoint(scene.cast.lane)
    (tmp_path / "held.txt").write_text(held)
    (tmp_path / "file.pdf").write_bytes(paper(binder_of(scene)))
    kept(scene.cast)
    out = tmp_path / "proof.json"
    run(
        "prove", "--certificate", str(tmp_path / "file.pdf"), "--against", str(tmp_path / "held.txt"), "--out", str(out)
    )
    (tmp_path / "key.txt").write_text(run("key", "--site", "millbrook-lane"))
    return tmp_path


def checked(folder: Path, **changed: str) -> subprocess.CompletedProcess[str]:
    words = {"file": "file.pdf", "held": "held.txt", "key": (folder / "key.txt").read_text().strip()} | changed
    return alone("proof.json", *(part for name, word in words.items() for part in (f"--{name}", word)), cwd=folder)


def test_without_the_database_the_program_shows_all_three(proved: Path) -> None:
    done = checked(proved)
    assert done.returncode == 0, done.stdout + done.stderr
    assert [word in done.stdout for word in ("was signed with the key", "byte for byte", "begins with the log")] == [
        True
    ] * 3


def test_the_program_takes_a_head_typed_from_paper(proved: Path) -> None:
    head = checkpoints.our_own((proved / "held.txt").read_text())
    assert checked(proved, held=checkpoints.in_words(head)).returncode == 0


def spoil_link(proof: Any) -> None:
    proof["entry"]["link"] = proof["entry"]["link"].replace("training.issue", "training.other")


def spoil_content(proof: Any) -> None:
    proof["entry"]["content"] = proof["entry"]["content"].replace("binder", "bonder")


def spoil_path(proof: Any) -> None:
    proof["entry"]["path"][0] = "00" * 32


def spoil_size(proof: Any) -> None:
    proof["checkpoint"] = re.sub(r"\n(\d+)\n", lambda found: f"\n{int(found[1]) + 1}\n", proof["checkpoint"], count=1)


def spoil_consistency(proof: Any) -> None:
    proof["consistency"] = {size: path[:-1] for size, path in proof["consistency"].items()}


def drop_consistency(proof: Any) -> None:
    del proof["consistency"]


def no_proof(proof: Any) -> None:
    proof.clear()


SPOILT = [spoil_link, spoil_content, spoil_path, spoil_size, spoil_consistency, drop_consistency, no_proof]


@pytest.mark.parametrize("spoil", SPOILT)
def test_a_proof_that_was_changed_in_any_part_does_not_hold(proved: Path, spoil: Any) -> None:
    proof = json.loads((proved / "proof.json").read_text())
    spoil(proof)
    (proved / "proof.json").write_text(json.dumps(proof))
    done = checked(proved)
    assert (done.returncode, done.stdout.startswith("DOES NOT HOLD"), done.stderr) == (1, True, "")


def test_another_file_another_key_and_another_head_do_not_hold(proved: Path, settings: Any) -> None:
    (proved / "other.pdf").write_bytes(b"%PDF other")
    settings.CHECKPOINT_KEY = proved / "other.pem"
    key = checkpoints.public_key("millbrook-dental/millbrook-lane")
    for changed in ({"file": "other.pdf"}, {"key": key}, {"held": f"1:{'0' * 64}"}):
        done = checked(proved, **changed)
        assert (done.returncode, done.stdout[:13]) == (1, "DOES NOT HOLD")


def test_nothing_is_proved_of_a_rewritten_log(scene: Scene) -> None:
    kept(scene.cast)
    held = checkpoints.in_words(checkpoints.head(scene.cast.lane))
    rewritten(scene.cast.lane)
    with pytest.raises(CommandError, match="not those that the checkpoint was over"):
        run("prove", "--site", "millbrook-lane", "--against", held)


def test_the_program_stands_alone() -> None:
    """It imports the standard library and `cryptography`, and nothing of the register."""
    imported = re.findall(r"^(?:from|import) (\w+)", (ROOT / "clinic" / "verify.py").read_text(), re.M)
    assert set(imported) - set(sys.stdlib_module_names) == {"cryptography"}


def test_a_head_is_one_query_however_long_the_log_is(cast: Cast, django_assert_num_queries: Any) -> None:
    for _ in range(30):
        kept(cast)
    site = Site.objects.select_related("organisation").get(pk=cast.lane.pk)
    with django_assert_num_queries(1):
        checkpoints.head(site)
