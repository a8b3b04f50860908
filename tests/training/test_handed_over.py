"""Papers handed over signed with the practice's own key: off unless a setting names it, and what is wrong with it said in words."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from importlib import util
from io import BytesIO
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.x509.oid import ExtendedKeyUsageOID
from django.core.checks import run_checks
from django.core.management import call_command
from django.core.management.base import CommandError
from pyhanko.pdf_utils.reader import PdfFileReader

from tests import paper_keys
from tests.documents.test_paper_signature import holds_by_library
from tests.training.bench import Bench, at, proved
from tests.training.people_scene import Scene
from tests.training.test_binder import made
from tests.training.test_certificates import issued
from tests.training.test_checkpoints import alone, run
from training.actions.signing import withdraw
from training.handing_over import handed_over
from training.models import Issue
from training.paper_key import unfit
from training.papers import paper, place_of

pytestmark = pytest.mark.django_db
Place = Callable[..., Path]


@pytest.fixture
def key(settings: Any, tmp_path: Path) -> Place:
    """Puts a key where the settings name it; the practice's own where none is given."""
    settings.DOCUMENTS_DIR = tmp_path / "documents"
    settings.PAPER_KEY, settings.PAPER_KEY_PASSPHRASE = tmp_path / "papers.p12", tmp_path / "passphrase"

    def put(made: bytes | None = None, passphrase: str = f"{paper_keys.PASSPHRASE}\n") -> Path:
        settings.PAPER_KEY.write_bytes(made or paper_keys.practice()[0])
        settings.PAPER_KEY_PASSPHRASE.write_text(passphrase)
        return Path(settings.PAPER_KEY)

    return put


@pytest.fixture
def certificate(bench: Bench) -> Issue:
    return issued(bench.signed())


def page(signed_in: Any, row: Issue, query: str = "") -> Any:
    with at(6):
        return signed_in(row.person).get(f"/millbrook-lane/certificates/{row.pk}/{query}")


def test_without_the_setting_nothing_is_signed(certificate: Issue, settings: Any) -> None:
    assert settings.PAPER_KEY is None and handed_over(certificate) == paper(certificate)


def test_the_page_hands_it_over_signed_and_the_kept_file_stays_as_it_was(
    key: Place, certificate: Issue, signed_in: Any
) -> None:
    key()
    given = page(signed_in, certificate)
    assert given.status_code == 200 and holds_by_library(given.content)
    kept = place_of(certificate).read_bytes()
    assert given.content[: len(kept)] == kept and sha256(kept).hexdigest() == certificate.file_digest


def test_it_says_which_paper_of_which_practice(key: Place, certificate: Issue) -> None:
    key()
    with at(6):
        (found,) = PdfFileReader(BytesIO(handed_over(certificate))).embedded_signatures
    assert str(found.sig_object["/Reason"]) == (
        "Certificate millbrook-lane-2025-0001, as Millbrook Dental issued it. It is no licence."
    )


def test_a_certificate_that_is_not_in_force_is_not_signed(key: Place, certificate: Issue, signed_in: Any) -> None:
    key()
    with at(6):
        signed = certificate.sign_off
        withdraw(
            certificate.person,
            certificate.procedure,
            "It is unsafe.",
            site=certificate.site,
            by=signed.signer,
            proved=proved(),
        )
    assert b"/ETSI.CAdES" not in page(signed_in, certificate).content


def test_the_page_says_what_the_signature_shows_and_what_not(key: Place, certificate: Issue, signed_in: Any) -> None:
    key()
    address = f"/millbrook-lane/signed/{certificate.sign_off_id}/"
    with at(6):
        says = " ".join(signed_in(certificate.person).get(address).content.decode().split())
    assert "came from whoever holds that key" in says and "A signature is no licence" in says


def test_where_it_cannot_be_signed_the_page_says_why_and_gives_it_without(
    key: Place, certificate: Issue, signed_in: Any
) -> None:
    key(passphrase="another")
    refused = page(signed_in, certificate)
    assert refused.status_code == 503 and "MILLROOM_PAPER_KEY" in refused.content.decode()
    assert page(signed_in, certificate, "?unsigned").content == paper(certificate)


def test_the_commands_write_it_signed_or_say_why_not(key: Place, scene: Scene, tmp_path: Path) -> None:
    key()
    out = tmp_path / "binder.pdf"
    call_command("binder", site="millbrook-lane", short=True, out=out, stdout=SimpleNamespace(write=str))
    assert b"/ETSI.CAdES" in out.read_bytes()
    key().unlink()
    with pytest.raises(CommandError, match=r"is issued, and not signed\. MILLROOM_PAPER_KEY"):
        call_command("binder", site="millbrook-lane", short=True, out=out)
    call_command("binder", site="millbrook-lane", short=True, unsigned=True, out=out, stdout=SimpleNamespace(write=str))
    assert b"/ETSI.CAdES" not in out.read_bytes()


# What is wrong with a key ---------------------------------------------------------------------------------------------


def told() -> list[str]:
    """What Django is told at the start."""
    return [f"{each.id} {each.msg}" for each in run_checks() if (each.id or "").startswith("training.")]


def test_a_key_that_is_fit_is_passed_over_and_so_is_none(key: Place, settings: Any) -> None:
    key()
    assert told() == []
    settings.PAPER_KEY = None
    assert told() == []


def of(**certificate: Any) -> bytes:
    own = paper_keys.elliptic()
    return paper_keys.pkcs12(own, paper_keys.certificate(own, **certificate))


SERVER, MAIL = ExtendedKeyUsageOID.SERVER_AUTH, ExtendedKeyUsageOID.EMAIL_PROTECTION
UNFIT: dict[str, tuple[Callable[[], bytes], str]] = {
    "no such file": (lambda: b"PKCS#12?", "cannot be opened: the passphrase in"),
    "locked by other words": (lambda: paper_keys.pkcs12(passphrase="others"), "does not open it"),
    "short": (lambda: paper_keys.pkcs12(paper_keys.of_bits(1024)), "its key has 1024 bits, and 2048 are the least"),
    "for encrypting": (lambda: of(usage=paper_keys.used_for("key_encipherment")), "is not for signatures"),
    "for a server": (lambda: of(purposes=(SERVER,)), "for a server or a program, not for documents"),
}


@pytest.mark.parametrize("name", UNFIT)
def test_what_can_never_sign_stops_the_start_and_is_named(name: str, key: Place) -> None:
    made, says = UNFIT[name]
    key(made())
    (found,) = told()
    assert found.startswith("training.E001 MILLROOM_PAPER_KEY: ") and says in found


def test_another_kind_of_key_and_one_of_another_certificate_are_named() -> None:
    """What writes such a file here refuses to; others do not."""
    own = paper_keys.practice()[1]
    assert list(unfit(paper_keys.elliptic(), own)) == []
    assert list(unfit(paper_keys.of_bits(2048), own)) == ["the certificate in it is of another key."]
    assert next(unfit(Ed25519PrivateKey.generate(), own)) == "its key is neither RSA nor of an elliptic curve."


@pytest.mark.parametrize("fit", ({"usage": None}, {"purposes": (SERVER, MAIL)}, {"purposes": (MAIL,)}))
def test_a_certificate_that_names_no_use_or_further_ones_is_fit(fit: dict[str, Any], key: Place) -> None:
    key(of(**fit))
    assert told() == []


def test_a_file_that_is_not_there_is_named_with_its_setting(key: Place) -> None:
    key().unlink()
    (found,) = told()
    assert "MILLROOM_PAPER_KEY: " in found and "papers.p12 cannot be read (No such file" in found


def test_a_passphrase_that_is_not_there_is_named_with_its_setting(key: Place, settings: Any) -> None:
    key()
    settings.PAPER_KEY_PASSPHRASE.unlink()
    assert "MILLROOM_PAPER_KEY_PASSPHRASE: " in told()[0]
    settings.PAPER_KEY_PASSPHRASE = None
    assert "it needs a passphrase (MILLROOM_PAPER_KEY_PASSPHRASE names its file)" in told()[0]


def test_a_file_without_a_passphrase_needs_no_setting_for_one(key: Place, settings: Any) -> None:
    key(paper_keys.pkcs12(passphrase=""))
    settings.PAPER_KEY_PASSPHRASE = None
    assert told() == []


def test_without_the_library_that_signs_the_remedy_is_said(key: Place, monkeypatch: pytest.MonkeyPatch) -> None:
    key()
    found = util.find_spec
    monkeypatch.setattr("training.paper_key.find_spec", lambda name: None if name == "pyhanko" else found(name))
    assert "-e '.[signing]'" in told()[0]


@pytest.mark.parametrize(
    ("days", "says"),
    [(-1, "ended on"), (29, "ends on"), (31, "")],
)
def test_an_end_is_said_before_and_after_and_stops_no_start(days: int, says: str, key: Place) -> None:
    key(of(last=datetime.now(UTC) + timedelta(days=days)))
    found = told()
    assert [each[:13] for each in found] == (["training.W001"] if says else []) and says in "".join(found)


def test_a_certificate_that_ended_or_is_yet_to_count_signs_nothing(
    key: Place, certificate: Issue, signed_in: Any
) -> None:
    key(of(last=datetime(2024, 1, 1, tzinfo=UTC)))
    assert "ended on 1 January 2024. Put a newer one in its place" in page(signed_in, certificate).content.decode()
    key(of(first=datetime(2031, 1, 1, tzinfo=UTC)))
    assert "counts from 1 January 2031 only" in page(signed_in, certificate).content.decode()


# A signed file held against the log -----------------------------------------------------------------------------------


@pytest.fixture
def folder(key: Place, scene: Scene, tmp_path: Path) -> Path:
    """As somebody has it who was handed a signed binder, and a proof about it."""
    key()
    binder = made(scene, in_full=False)
    (tmp_path / "signed.pdf").write_bytes(handed_over(binder))
    run("prove", "--certificate", str(tmp_path / "signed.pdf"), "--out", str(tmp_path / "proof.json"))
    return tmp_path


def test_what_was_added_is_not_taken_for_what_was_issued(folder: Path) -> None:
    """Whoever adds to a file may show anything: only the part that was issued is held against the log."""
    with pytest.raises(CommandError, match="was added, by who signed it or by anybody else"):
        run("check", "--certificate", str(folder / "signed.pdf"))
    refused = alone("proof.json", "--file", "signed.pdf", cwd=folder)
    assert refused.returncode == 1 and "cut the first part out" in refused.stdout


def test_the_part_that_was_issued_is_cut_out_and_holds(folder: Path) -> None:
    given = alone("proof.json", "--file", "signed.pdf", "--cut", "issued.pdf", cwd=folder)
    assert given.returncode == 0 and "issued.pdf holds the first" in given.stdout
    assert (folder / "issued.pdf").read_bytes() == paper(Issue.objects.get())
    assert "its fact stands in today's log" in run("check", "--certificate", str(folder / "issued.pdf"))


def test_nothing_is_cut_out_of_a_file_that_does_not_begin_with_it(folder: Path) -> None:
    data = bytearray((folder / "signed.pdf").read_bytes())
    data[500] ^= 1
    (folder / "other.pdf").write_bytes(data)
    refused = alone("proof.json", "--file", "other.pdf", "--cut", "issued.pdf", cwd=folder)
    assert refused.returncode == 1 and not (folder / "issued.pdf").exists()
    with pytest.raises(CommandError, match="not a file that this register issued"):
        run("check", "--certificate", str(folder / "other.pdf"))
