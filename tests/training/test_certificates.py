"""Certificates: issued once, frozen, printed again byte for byte, and checked by anybody who holds the paper."""

import re
import shlex
from datetime import timedelta
from io import BytesIO, StringIO
from typing import Any

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from clinic.record import Refused, void
from tests.fixtures import lift_refusals
from tests.training.bench import ALL_RIGHT, Bench, at, proved
from tests.training.people_scene import TODAY, Scene, carried
from training.actions.issue import is_whole, issue_certificate
from training.actions.signing import withdraw
from training.models import Issue, SignOff
from training.papers import paper
from training.reads.certificate import content_from, founder_words, rests_words

pytestmark = pytest.mark.django_db


@pytest.fixture
def signed(bench: Bench) -> SignOff:
    return bench.signed()


def issued(signed: SignOff, day: int = 6, code: str = "") -> Issue:
    with at(day):
        return issue_certificate(signed, by=signed.signer, code=code)


def checked(row: Issue, day: int = 6) -> str:
    with at(day):
        return Client().get(reverse("training:certificate_check", args=[row.code])).content.decode()


def test_the_number_is_site_year_and_a_running_number(signed: SignOff) -> None:
    assert issued(signed).number == "millbrook-lane-2025-0001"


def test_asked_again_it_is_the_same_certificate(signed: SignOff) -> None:
    assert issued(signed) == issued(signed)


def test_the_code_is_not_guessed(signed: SignOff) -> None:
    assert len(issued(signed).code) >= 16


def test_the_content_is_frozen_with_what_it_rests_on(signed: SignOff) -> None:
    content = content_from(issued(signed).frozen)
    assert (content.performances, content.performances_clean) == (2, 2)
    assert content.watched_on == ["2025-02-04", "2025-02-05"]
    assert content.watched_by == ["Ines Pellow, lead assistant, by a founding grant"]
    assert content.signer_role == "lead assistant, by a founding grant"


def test_a_watcher_with_authority_only_is_named_without_a_grant(signed: SignOff) -> None:
    day = signed.happened_on
    assert [founder_words(who, signed, day) for who in (signed.signer, signed.person)] == ["by a founding grant", ""]
    assert founder_words(signed.signer, signed, day - timedelta(days=30)) == ""


def test_what_it_rests_on_says_where_it_was_carried_over(scene: Scene) -> None:
    wren = scene.cast.assistant.person
    carried(scene, wren, "P01", TODAY + timedelta(days=100))
    signed = SignOff(person=wren, site=scene.cast.lane, version=scene.versions["P03"], happened_on=TODAY)
    assert rests_words(signed, "P01") == "P01 (carried over from before the register)"
    assert rests_words(signed, "P04") == "P04"


def test_a_case_that_did_not_arise_is_no_miss_on_the_paper(bench: Bench) -> None:
    bench.seen(3, ALL_RIGHT | {"s2": "not needed"})
    content = content_from(issued(bench.signed()).frozen)
    assert (content.performances, content.performances_clean) == (3, 3)


def test_a_renewal_supersedes_the_earlier_certificate(bench: Bench, signed: SignOff) -> None:
    first = issued(signed)
    again = issued(bench.signed(12), 12)
    assert again.replaces == first
    page = checked(first, 12)
    assert "Superseded" in page and again.number in page


def test_a_renewal_without_a_new_certificate_supersedes_the_paper_all_the_same(bench: Bench, signed: SignOff) -> None:
    first = issued(signed)
    bench.signed(12)
    assert "Superseded: renewed on 12 February 2025." in checked(first, 12)


def test_a_withdrawn_one_says_since_when(bench: Bench, signed: SignOff) -> None:
    row = issued(signed)
    with at(7):
        withdraw(
            signed.person, bench.procedure, "Seen reaching in.", site=bench.cast.lane, by=signed.signer, proved=proved()
        )
    page = checked(row, 8)
    assert "Not in force: withdrawn on 7 February 2025." in page
    assert "Seen reaching in" not in page


def test_one_whose_sign_off_was_taken_back_is_not_in_force(signed: SignOff) -> None:
    row = issued(signed)
    with at(7):
        void(signed, by=signed.signer, reason="Wrong person.")
    assert "Not in force: the record it rests on was taken back." in checked(row, 7)


def test_one_in_force_says_so(signed: SignOff) -> None:
    assert "In force through" in checked(issued(signed))


def test_the_check_page_needs_no_sign_in_and_no_search_engine(signed: SignOff) -> None:
    answer = Client().get(reverse("training:certificate_check", args=[issued(signed).code]))
    assert (answer.status_code, answer["X-Robots-Tag"]) == (200, "noindex, nofollow")


def test_an_unknown_code_says_so_plainly() -> None:
    answer = Client().get(reverse("training:certificate_check", args=["made-up"]))
    assert answer.status_code == 404
    assert "This register issued no certificate with that code." in answer.content.decode()


def test_a_few_performances_are_counts_and_no_percentage(signed: SignOff) -> None:
    page = checked(issued(signed))
    assert "2 of 2 observed performances met every critical step." in page
    assert "%" not in page.split("What the certificate says")[1]


def test_a_reprint_is_the_same_byte_for_byte(bench: Bench, signed: SignOff, signed_in: Any) -> None:
    row = issued(signed)
    client = signed_in(bench.cast.supervisor)
    with at(6):
        url = reverse("training:certificate", args=["millbrook-lane", row.pk])
        first = client.get(url).content
    bench.cast.assistant.person.family_name = "Renamed"
    bench.cast.assistant.person.save()
    with at(6):
        assert client.get(url).content == first


def test_a_certificate_is_not_read_by_another_assistant(signed: SignOff, bench: Bench, signed_in: Any) -> None:
    row = issued(signed)
    with at(6):
        url = reverse("training:certificate", args=["sandbar-court", row.pk])
        assert signed_in(bench.cast.elsewhere).get(url).status_code == 404


def test_a_later_sign_off_is_the_one_to_issue_for(bench: Bench, signed: SignOff) -> None:
    bench.signed(12)
    with pytest.raises(Refused, match="A later sign-off took its place"):
        issued(signed, 12)


def test_nothing_is_issued_for_what_was_withdrawn(bench: Bench, signed: SignOff) -> None:
    with at(7):
        withdraw(
            signed.person, bench.procedure, "Seen reaching in.", site=bench.cast.lane, by=signed.signer, proved=proved()
        )
    with pytest.raises(Refused, match="may not work alone"):
        issued(signed, 8)


def test_it_is_issued_from_the_page_of_the_sign_off(bench: Bench, signed: SignOff, signed_in: Any) -> None:
    with at(6):
        client = signed_in(bench.cast.supervisor)
        client.post(reverse("training:issue_certificate", args=["millbrook-lane", signed.pk]))
    assert Issue.objects.get().frozen["check_url"].startswith("http://testserver/check/")


def test_a_command_prints_it_to_a_file(signed: SignOff, tmp_path: Any) -> None:
    row, out = issued(signed), tmp_path / "c.pdf"
    call_command("certificate", number=row.number, out=str(out))
    assert out.read_bytes().startswith(b"%PDF")


def test_the_command_printed_on_it_says_whether_the_log_still_begins_with_that_of_its_day(signed: SignOff) -> None:
    text = PdfReader(BytesIO(paper(issued(signed)))).pages[0].extract_text()
    command = re.search(r"manage\.py (seals check --site millbrook-lane --against \d+:[0-9a-f]{64})", text)
    assert command, text
    said = StringIO()
    call_command(*shlex.split(command[1]), stdout=said)
    assert "today's log begins with the" in said.getvalue()


def test_the_file_is_shown_as_issued_or_not_at_all(bench: Bench, signed: SignOff, signed_in: Any) -> None:
    row = issued(signed)
    lift_refusals()
    Issue.objects.filter(pk=row.pk).update(file_digest="0" * 64)
    with at(6):
        answer = signed_in(bench.cast.supervisor).get(reverse("training:certificate", args=["millbrook-lane", row.pk]))
    assert (answer.status_code, b"%PDF" in answer.content) == (409, False)


def test_the_digest_covers_the_content(signed: SignOff) -> None:
    row = issued(signed)
    assert is_whole(row)
    row.frozen["person"] = "Somebody Else"
    assert not is_whole(row)


def test_a_name_that_the_type_cannot_draw_is_refused_before_it_is_printed_as_boxes(signed: SignOff) -> None:
    signed.person.family_name = "חדד"
    with pytest.raises(Refused, match=r"The type of the papers lacks .* The certificate would say: .*חדד"):
        issued(signed)


def printed(bench: Bench, row: Issue, signed_in: Any, day: int) -> str:
    with at(day):
        answer = signed_in(bench.cast.supervisor).get(reverse("training:certificate", args=["millbrook-lane", row.pk]))
    return PdfReader(BytesIO(answer.content)).pages[0].extract_text()


def test_printed_after_a_withdrawal_it_says_so_across(bench: Bench, signed: SignOff, signed_in: Any) -> None:
    row = issued(signed)
    assert "Not in force" not in printed(bench, row, signed_in, 6)
    with at(7):
        withdraw(
            signed.person, bench.procedure, "Seen reaching in.", site=bench.cast.lane, by=signed.signer, proved=proved()
        )
    assert "Not in force: withdrawn on 7 February 2025." in printed(bench, row, signed_in, 8)


def test_printed_after_it_was_taken_back_it_says_so_across(bench: Bench, signed: SignOff, signed_in: Any) -> None:
    row = issued(signed)
    with at(7):
        void(signed, by=signed.signer, reason="The wrong person was chosen.")
    assert "the record it rests on was taken back" in printed(bench, row, signed_in, 8)


def written(tmp_path: Any, **options: str) -> tuple[str, str]:
    said, out = StringIO(), tmp_path / "c.pdf"
    with at(6):
        call_command("certificate", person="Wren Adeyemi", procedure="P06", out=str(out), stdout=said, **options)
    return said.getvalue(), PdfReader(out).pages[0].extract_text()


def test_issued_by_command_it_names_the_address_it_is_given(signed: SignOff, tmp_path: Any) -> None:
    said, paper = written(tmp_path, address="https://register.example/")
    assert Issue.objects.get().frozen["check_url"].startswith("https://register.example/check/")
    assert "https://register.example/check/" in paper and "names no address" not in said


def test_issued_by_command_without_an_address_it_names_none_and_says_so(signed: SignOff, tmp_path: Any) -> None:
    said, paper = written(tmp_path)
    assert (Issue.objects.get().frozen["check_url"], "/check/" in paper) == ("", False)
    assert "It names no address of its check page" in said


@pytest.mark.parametrize("address", ["register.example", "https://register.example/a", "ftp://register.example"])
def test_what_is_no_address_is_refused_before_anything_is_issued(signed: SignOff, tmp_path: Any, address: str) -> None:
    with pytest.raises(CommandError, match="is not an address such as"):
        written(tmp_path, address=address)
    assert not Issue.objects.exists()


def test_a_certificate_is_open_to_whoever_it_is_about(signed: SignOff, bench: Bench, signed_in: Any) -> None:
    """From her own page of the procedure, and as the paper itself."""
    row, me = issued(signed), bench.cast.assistant
    paper = reverse("training:certificate", args=["millbrook-lane", row.pk])
    with at(8):
        page = signed_in(me).get(reverse("training:person_procedure", args=["millbrook-lane", me.person.pk, "P06"]))
        assert paper in page.content.decode()
        assert signed_in(me).get(paper).headers["Content-Type"] == "application/pdf"
