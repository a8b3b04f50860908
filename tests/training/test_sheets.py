"""Numbered sheets: printed, written on while the network is down, entered later by anybody, confirmed by whoever watched."""

import io
from datetime import date
from typing import Any

import pypdf
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.urls import reverse
from PIL import Image

from clinic.models import OutsideWitness, Person, Voiding
from clinic.record import NotAllowed, Refused
from tests.cast import Cast, Member
from tests.training.bench import ALL_RIGHT, Bench, at, proof, proved, set_up
from training.actions.putting_right import take_back
from training.actions.sheets import confirm_sheet, print_sheets
from training.actions.signing import sign_off
from training.documents.certificate import paper_said
from training.models import EvidenceSpan, Observation, SheetEntered, SheetPhoto, SheetsPrinted, Signature
from training.reads.binder.people import paper_note
from training.reads.certificate import IssueIdentity, content_of
from training.reads.ground import sign_page
from training.reads.observed import said_of
from training.reads.person_facts import facts_of
from training.reads.sheets import paper_words

pytestmark = pytest.mark.django_db
LANE = ["millbrook-lane"]
FROM_PAPER = "from paper, sheet 0001, entered by Bram Okafor on 6 February 2025"


@pytest.fixture
def bench(cast: Cast) -> Bench:
    return set_up(cast, needed=1, distinct_days=1)


def printed(bench: Bench, count: int = 3, day: int = 3) -> SheetsPrinted:
    with at(day, 14):
        return print_sheets(
            bench.version, count, site=bench.cast.lane, unit=bench.cast.unit, by=bench.cast.owner.person
        )


def on_sheet(bench: Bench, **more: Any) -> dict[str, Any]:
    """As it stands on the sheet: Wren, watched by Ines on 4 February."""
    marks = more.pop("marks", ALL_RIGHT)
    cast = bench.cast
    said = {
        "person": cast.assistant.person.pk, "observer": cast.supervisor.person.pk, "day": "4 Feb 2025", "began": "10:00",
        "ended": "10:20", "purpose": "assessment", "method": "real", "own_word": "ready", "notes": "Calm.",
    }  # fmt: skip
    return said | {f"P06-{key}": word for key, word in marks.items()} | more


def enter(bench: Bench, signed_in: Any, who: Member | None = None, number: str = "0001", **more: Any) -> Any:
    """Entered on 6 February, by the coordinator unless another is said."""
    with at(6):
        client = signed_in(who or bench.cast.coordinator)
        address = f"{reverse('training:sheet_enter', args=LANE)}?number={number}"
        form = client.get(address).context.get("form")
        sent = {"submission": form["submission"].value()} if form else {}
        return client.post(address, on_sheet(bench, **sent) | more)


def entered(bench: Bench, signed_in: Any, **more: Any) -> SheetEntered:
    answer = enter(bench, signed_in, **more)
    assert answer.status_code == 302, answer.context["form"].errors
    return SheetEntered.objects.live().get()


def confirmed(bench: Bench, signed_in: Any) -> Observation:
    row = entered(bench, signed_in)
    with at(7):
        client = signed_in(bench.cast.supervisor)
        assert client.post(page_of(row), proof(bench.cast.supervisor) | submission(client, row)).status_code == 302
    return Observation.objects.live().get()


def submission(client: Any, row: SheetEntered) -> dict[str, Any]:
    return {"submission": client.get(page_of(row)).context["form"]["submission"].value()}


def page_of(row: SheetEntered) -> str:
    return reverse("training:sheet", args=[*LANE, row.pk])


def evidence(bench: Bench, day: int) -> str:
    span = EvidenceSpan.objects.on(date(2025, 2, day)).filter(person=bench.cast.assistant.person).first()
    return span.evidence if span else "none"


def words_of(pdf: bytes) -> list[str]:
    return [" ".join(page.extract_text().split()) for page in pypdf.PdfReader(io.BytesIO(pdf)).pages]


# ---- printing


def test_each_sheet_bears_a_number_of_its_own_that_runs_on(bench: Bench, signed_in: Any) -> None:
    printed(bench, 2)
    with at(4):
        client = signed_in(bench.cast.assistant)
        address = reverse("training:blank_checklist", args=[*LANE, "P06"])
        sent = {"submission": client.get(address).context["form"]["submission"].value(), "count": 2}
        answers = [client.post(address, sent, follow=True) for _ in range(2)]
    pages = words_of(answers[0].content)
    assert [page.split(" Blank checklist")[0] for page in pages if "Chamber cleaning" in page] == pages[:2]
    assert "Sheet 0003" in pages[0] and "Sheet 0004" in pages[1] and "sheet 0003 · P06, version 1" in pages[0]
    assert [row.first for row in SheetsPrinted.objects.order_by("first")] == [1, 3]
    assert answers[0].content == answers[1].content


@pytest.mark.parametrize("count", ["0", "51", "some", ""])
def test_a_strange_number_of_sheets_is_refused(bench: Bench, signed_in: Any, count: str) -> None:
    address = reverse("training:blank_checklist", args=[*LANE, "P06"])
    answer = signed_in(bench.cast.assistant).post(address, {"count": count})
    assert answer.context["form"].errors["count"] == ["Print 1 to 50 sheets."]


# ---- entering


def test_what_is_entered_counts_for_nothing_and_stands_in_nobodys_name(bench: Bench, signed_in: Any) -> None:
    printed(bench)
    row = entered(bench, signed_in)
    assert (row.recorded_by, row.observer) == (bench.cast.coordinator.person, bench.cast.supervisor.person)
    assert (row.happened_on, f"{row.happened_at:%H:%M}", row.equipment) == (date(2025, 2, 4), "10:20", bench.cast.unit)
    assert not Observation.objects.exists() and not EvidenceSpan.objects.exclude(evidence="none").exists()
    with at(6):
        said = signed_in(bench.cast.coordinator).get(page_of(row)).content.decode()
    assert "Sheet 0001 waits for Ines Pellow." in said
    assert "It counts for nothing until Ines Pellow, who is said to have watched, confirms it." in said


def test_it_waits_on_the_watchers_today_and_on_nobody_elses(bench: Bench, signed_in: Any) -> None:
    printed(bench)
    entered(bench, signed_in)
    with at(6):
        today = reverse("training:today", args=LANE)
        shown = {
            name: signed_in(who).get(today).content.decode()
            for name, who in bench.cast.members()
            if name in ("supervisor", "second", "coordinator")
        }
    assert {name for name, page in shown.items() if "Confirm sheet 0001" in page} == {"supervisor"}


def test_a_number_is_entered_once_and_the_second_is_told_what_the_first_recorded(bench: Bench, signed_in: Any) -> None:
    printed(bench)
    entered(bench, signed_in)
    says = (
        "Sheet 0001 was entered by Bram Okafor on 6 February 2025: Chamber cleaning (P06) of Wren Adeyemi on "
        "4 February 2025, watched by Ines Pellow."
    )
    with at(6):
        client = signed_in(bench.cast.second)
        address = f"{reverse('training:sheet_enter', args=LANE)}?number=1"
        assert says in client.get(address).content.decode()
        answer = client.post(address, on_sheet(bench, submission="5f2b7f0e-6f3a-4b1e-9d50-000000000001"))
    assert SheetEntered.objects.count() == 1
    assert says in str(answer.context["form"].errors)


def test_sent_twice_it_is_entered_once(bench: Bench, signed_in: Any) -> None:
    printed(bench)
    same = {"submission": "5f2b7f0e-6f3a-4b1e-9d50-000000000002"}
    assert [enter(bench, signed_in, **same).status_code for _ in range(2)] == [302, 302]
    assert SheetEntered.objects.count() == 1


def test_a_number_that_was_never_printed_is_told_at_once(bench: Bench, signed_in: Any) -> None:
    printed(bench)
    with at(6):
        answer = signed_in(bench.cast.coordinator).get(
            reverse("training:sheet_enter", args=LANE) + "?number=0004", follow=True
        )
    assert "No sheet 0004 was printed here." in answer.content.decode()


WRONG: list[tuple[dict[str, Any], str, str]] = [
    ({"day": "2 Feb 2025"}, "day", "It was printed only on 3 Feb 2025."),
    ({"day": "9 Feb 2025"}, "day", "It ends in the future."),
    ({"began": "11:00"}, "ended", "It ends before it begins."),
    ({"ended": ""}, "ended", "Where it is missing, ask whoever watched."),
    ({"stopped": "on"}, "stop_reason", "Say what was unsafe."),
    ({"P06-s3": ""}, "__all__", "One step is not marked."),
]


@pytest.mark.parametrize(("more", "field", "says"), WRONG, ids=[each[2] for each in WRONG])
def test_what_cannot_stand_on_the_sheet_is_refused_and_nothing_is_lost(
    bench: Bench, signed_in: Any, more: dict[str, Any], field: str, says: str
) -> None:
    printed(bench)
    form = enter(bench, signed_in, **more).context["form"]
    assert says.lower() in " ".join(form.errors[field]).lower()
    assert form["notes"].value() == "Calm."
    assert not SheetEntered.objects.exists()


def test_nobody_enters_a_sheet_about_themselves(bench: Bench, signed_in: Any) -> None:
    printed(bench)
    form = enter(bench, signed_in, who=bench.cast.assistant).context["form"]
    assert form.errors["person"]
    assert not SheetEntered.objects.exists()


def test_the_photo_of_the_sheet_is_made_anew_and_its_digest_is_sealed(bench: Bench, signed_in: Any) -> None:
    printed(bench)
    file = io.BytesIO()
    Image.new("RGB", (40, 30), "white").save(file, "PNG", description="where it was taken")
    photo = SimpleUploadedFile("sheet.png", file.getvalue())
    row = entered(bench, signed_in, photo=photo)
    kept = SheetPhoto.objects.get(sheet=row)
    assert bytes(kept.picture).startswith(b"\xff\xd8") and b"where it was taken" not in bytes(kept.picture)
    assert SheetPhoto(picture=b"another").own_content()["picture"] != kept.own_content()["picture"]
    with at(6):
        address = reverse("training:sheet_photo", args=[*LANE, kept.pk])
        assert signed_in(bench.cast.supervisor).get(address)["Content-Type"] == "image/jpeg"
        assert signed_in(bench.cast.assistant).get(address).status_code == 200  # it is about her
        assert signed_in(bench.cast.elsewhere).get(address).status_code == 404


# ---- confirming


def test_only_whoever_watched_confirms_with_a_proof(bench: Bench, signed_in: Any) -> None:
    printed(bench)
    row = entered(bench, signed_in)
    with at(7):
        for who in (bench.cast.second, bench.cast.coordinator):
            signed_in(who).post(page_of(row), proof(who))
        signed_in(bench.cast.supervisor).post(page_of(row), proof(bench.cast.supervisor, "wrong"))
    assert not Observation.objects.exists()
    with pytest.raises(Exception, match="Only Ines Pellow"), at(7):
        confirm_sheet(row, by=bench.cast.second.person, proved=proved())


def test_confirmed_it_is_an_observation_of_its_day_signed_by_whoever_watched(bench: Bench, signed_in: Any) -> None:
    printed(bench)
    seen = confirmed(bench, signed_in)
    assert (seen.happened_on, seen.outcome, seen.recorded_by) == (date(2025, 2, 4), "met", bench.cast.supervisor.person)
    assert (seen.own_word, seen.notes, seen.equipment) == ("ready", "Calm.", bench.cast.unit)
    assert Signature.objects.get(signs=seen.pk).signer_name == "Ines Pellow"
    assert [evidence(bench, day) for day in (4, 7)] == ["enough", "enough"]


@pytest.mark.parametrize(("counts", "words"), [("renewal", "some"), ("never", "some"), ("both", "enough")])
def test_it_counts_as_the_policy_says_and_the_sign_page_says_so(
    cast: Cast, signed_in: Any, counts: str, words: str
) -> None:
    bench = set_up(cast, needed=1, distinct_days=1, from_paper=counts)
    printed(bench)
    confirmed(bench, signed_in)
    with at(7):
        page = sign_page(cast.assistant.person, bench.procedure, cast.supervisor.person, cast.lane, date(2025, 2, 7))
    assert evidence(bench, 7) == words
    shown = [each.says for each in (page.rests_on if words == "enough" else page.set_aside)]
    assert len(shown) == 1 and FROM_PAPER in shown[0]
    assert words == "enough" or "does not count for a first sign-off" in shown[0]


# ---- shown as written later


def test_it_says_everywhere_that_it_came_from_paper(bench: Bench, signed_in: Any, capsys: Any) -> None:
    printed(bench)
    seen = confirmed(bench, signed_in)
    cast = bench.cast
    assert paper_words(seen) == FROM_PAPER
    assert ("Written", f"{FROM_PAPER}; confirmed by Ines Pellow") in said_of(seen)
    assert paper_note(seen) == f"{FROM_PAPER[0].upper()}{FROM_PAPER[1:]}."  # in the binder
    assert f"; {FROM_PAPER}" in next(line.says for line in facts_of(cast.assistant.person))
    with at(7):
        page = sign_page(cast.assistant.person, bench.procedure, cast.supervisor.person, cast.lane, date(2025, 2, 7))
        signed = sign_off(
            cast.assistant.person,
            bench.procedure,
            cast.supervisor.person,
            site=cast.lane,
            proved=proved(),
            statement=page.statement,
        )
        paper = content_of(signed, IssueIdentity("1", "c", "https://register.example/c", date(2025, 2, 7), ""))
        call_command("standing", site="millbrook-lane", on=date(2025, 2, 7), known_by=None)
    assert (
        "From paper, each confirmed with a proof: 4 February 2025, sheet 0001, entered by Bram Okafor on 6 February 2025."
        in paper_said(paper)
    )
    assert FROM_PAPER in capsys.readouterr().out


# ---- putting right


def test_taken_back_before_it_is_confirmed_the_sheet_may_be_entered_again(bench: Bench, signed_in: Any) -> None:
    printed(bench)
    row = entered(bench, signed_in)
    with at(7):
        take_back(row, "Not what I saw.", by=bench.cast.supervisor.person, proved=proved())
    assert entered(bench, signed_in).pk != row.pk


def test_sheet_and_observation_are_taken_back_together(bench: Bench, signed_in: Any) -> None:
    printed(bench)
    seen = confirmed(bench, signed_in)
    with at(7, 13):
        take_back(seen, "It was another day.", by=bench.cast.supervisor.person, proved=proved())
    assert not SheetEntered.objects.live().exists() and not Observation.objects.live().exists()
    assert evidence(bench, 8) == "none"
    assert Voiding.objects.count() == 2


def test_whoever_entered_a_confirmed_sheet_takes_nothing_back_alone(bench: Bench, signed_in: Any) -> None:
    """The observation stands in the watcher's name: only somebody with authority for it takes it back."""
    printed(bench)
    seen = confirmed(bench, signed_in)
    assert seen.sheet
    with pytest.raises(NotAllowed), at(7):
        take_back(seen.sheet, "It was wrong.", by=bench.cast.coordinator.person, proved=proved())
    assert Observation.objects.live().exists() and SheetEntered.objects.live().exists()


def test_marks_that_are_corrected_later_still_say_that_they_came_from_paper(bench: Bench, signed_in: Any) -> None:
    printed(bench)
    seen = confirmed(bench, signed_in)
    with at(7, 13):
        client, who = signed_in(bench.cast.supervisor), bench.cast.supervisor
        address = reverse("training:correct", args=[*LANE, seen.pk])
        form = client.get(address).context["form"]
        marks = {f"P06-{key}": word for key, word in (ALL_RIGHT | {"s3": "prompted"}).items()}
        said = {"reason": "One slipped.", "own_word": "ready", "submission": form["submission"].value()}
        assert client.post(address, marks | said | proof(who)).status_code == 302
    assert Observation.objects.live().get().sheet == seen.sheet


# ---- what the sheet says beside the marks


def test_how_it_was_checked_who_it_is_and_the_language_are_kept_and_shown_wherever_the_sheet_is(
    bench: Bench, signed_in: Any
) -> None:
    printed(bench)
    row = entered(bench, signed_in, identity_checked="Badge with photo", language="Welsh")
    assert {"identity_checked": "Badge with photo", "language": "Welsh"}.items() <= row.own_content().items()
    with at(7):
        client = signed_in(bench.cast.supervisor)
        shown = [client.get(address).content.decode() for address in (page_of(row), fact_page(row))]
        client.post(page_of(row), proof(bench.cast.supervisor) | submission(client, row))
        seen = Observation.objects.live().get()
        observed = reverse("training:observed", args=[*LANE, seen.pk])
        shown += [client.get(address).content.decode() for address in (observed, fact_page(seen))]
    assert [("Badge with photo" in page, "Welsh" in page) for page in shown] == [(True, True)] * 4


def test_where_the_sheet_does_not_say_the_language_nothing_says_one(bench: Bench, signed_in: Any) -> None:
    printed(bench)
    seen = confirmed(bench, signed_in)
    assert seen.language == "" and ("Language used", "not said") in said_of(seen)


def fact_page(row: Any) -> str:
    return reverse("training:fact", args=[*LANE, row.pk])


# ---- an outside witness, who signs on paper and has no account


@pytest.fixture
def visitor(cast: Cast) -> OutsideWitness:
    return OutsideWitness.objects.create(
        organisation=cast.organisation, printed_name="Odile Marsh", qualification="trainer",
        comes_from="another practice", identified_how="badge",
    )  # fmt: skip


@pytest.fixture
def signed_outside(bench: Bench, signed_in: Any, visitor: OutsideWitness) -> SheetEntered:
    """Entered by the coordinator on 6 February, with its photo."""
    printed(bench)
    return entered(bench, signed_in, observer=str(visitor.pk), photo=a_photo())


def a_photo() -> SimpleUploadedFile:
    file = io.BytesIO()
    Image.new("RGB", (40, 30), "white").save(file, "PNG")
    return SimpleUploadedFile("sheet.png", file.getvalue())


def compared(bench: Bench, row: SheetEntered, who: Member, day: int = 7) -> Observation:
    with at(day):
        return confirm_sheet(row, by=who.person, proved=proved())


COMPARED = "from paper, sheet 0001, entered by Bram Okafor on 6 February 2025, compared with the photo by Ines Pellow"


def test_an_outside_witnesss_sheet_counts_once_somebody_with_authority_compared_it_with_its_photo(
    bench: Bench, signed_in: Any, signed_outside: SheetEntered
) -> None:
    assert evidence(bench, 6) == "none" and not Observation.objects.exists()
    with at(7):
        client = signed_in(bench.cast.supervisor)
        assert (
            "Compare it with the photo of the sheet"
            in client.get(reverse("training:today", args=LANE)).content.decode()
        )
        waits = client.get(page_of(signed_outside)).content.decode()
        assert "Sheet 0001 waits to be compared." in waits and "Does it say what the photo shows?" in waits
        sent = proof(bench.cast.supervisor) | submission(client, signed_outside)
        assert [client.post(page_of(signed_outside), sent).status_code for _ in range(2)] == [302, 302]
    seen = Observation.objects.get()
    assert (seen.witness, seen.observer, seen.recorded_by) == (
        signed_outside.witness,
        None,
        bench.cast.supervisor.person,
    )
    assert Signature.objects.get(signs=seen.pk).meaning.startswith("Authority: I compared")
    assert evidence(bench, 7) == "enough"


def test_whatever_rests_on_such_a_sheet_says_who_compared_it(
    bench: Bench, signed_outside: SheetEntered, signed_in: Any
) -> None:
    seen = compared(bench, signed_outside, bench.cast.supervisor)
    cast = bench.cast
    assert paper_words(seen) == COMPARED
    assert ("Written", COMPARED) in said_of(seen)
    assert paper_note(seen) == f"{COMPARED[0].upper()}{COMPARED[1:]}."
    assert f"; {COMPARED}" in next(line.says for line in facts_of(cast.assistant.person))
    with at(8):
        page = sign_page(cast.assistant.person, bench.procedure, cast.second.person, cast.lane, date(2025, 2, 8))
        assert COMPARED in page.rests_on[0].says
        said = signed_in(cast.second).get(page_of(signed_outside)).content.decode()
    assert "Compared with the photo and confirmed by Ines Pellow on 7 February 2025." in said


def test_an_outside_witnesss_sheet_is_not_entered_without_its_photo_and_every_reason_is_told_at_once(
    bench: Bench, signed_in: Any, visitor: OutsideWitness
) -> None:
    printed(bench)
    form = enter(bench, signed_in, observer=str(visitor.pk), began="11:00").context["form"]
    assert "Photograph the sheet" in str(form.errors["photo"]) and "It ends before it begins." in str(
        form.errors["ended"]
    )
    assert not SheetEntered.objects.exists()


def reasons(row: SheetEntered, who: Person) -> list[str]:
    with at(7), pytest.raises(Refused) as told:
        confirm_sheet(row, by=who, proved=proved())
    return [each.says for each in told.value.refusals]


NO_AUTHORITY, ENTERED_IT = "You had no authority for it here that day.", "You entered it, and whoever enters a sheet does not confirm it."  # fmt: skip


def test_whoever_entered_it_may_not_compare_it_even_with_authority(
    bench: Bench, signed_in: Any, visitor: OutsideWitness
) -> None:
    printed(bench)
    row = entered(bench, signed_in, who=bench.cast.second, observer=str(visitor.pk), photo=a_photo())
    assert reasons(row, bench.cast.second.person) == [ENTERED_IT]
    with at(7):
        page = signed_in(bench.cast.second).get(page_of(row))
        assert page.context["form"] is None and ENTERED_IT in page.content.decode()
        assert (
            "Confirm sheet"
            not in signed_in(bench.cast.second).get(reverse("training:today", args=LANE)).content.decode()
        )
    assert compared(bench, row, bench.cast.supervisor).witness == visitor


def test_the_one_watched_may_not_compare_it_even_with_authority(
    bench: Bench, signed_in: Any, visitor: OutsideWitness
) -> None:
    printed(bench)
    row = entered(bench, signed_in, person=bench.cast.second.person.pk, observer=str(visitor.pk), photo=a_photo())
    assert reasons(row, bench.cast.second.person) == ["Nobody confirms their own work."]


def test_what_stands_against_somebody_is_told_at_once(bench: Bench, signed_outside: SheetEntered) -> None:
    with at(7, 10):
        voided = SheetPhoto.objects.get(sheet=signed_outside)
        take_back(voided, "Another sheet is on it.", by=bench.cast.coordinator.person, proved=proved())
    assert reasons(signed_outside, bench.cast.coordinator.person) == [
        NO_AUTHORITY,
        ENTERED_IT,
        "A sheet that an outside witness signed needs its photo.",
        "What was entered was taken back.",
    ]


def test_photo_sheet_and_observation_of_an_outside_witness_are_taken_back_together(
    bench: Bench, signed_in: Any, signed_outside: SheetEntered
) -> None:
    compared(bench, signed_outside, bench.cast.supervisor)
    photo = SheetPhoto.objects.get(sheet=signed_outside)
    with pytest.raises(NotAllowed), at(7, 13):
        take_back(photo, "Wrong photo.", by=bench.cast.coordinator.person, proved=proved())
    with at(7, 14):
        take_back(signed_outside, "Another day.", by=bench.cast.second.person, proved=proved())
    assert evidence(bench, 8) == "none" and not Observation.objects.live().exists()
    assert entered(bench, signed_in, observer=str(signed_outside.witness_id), photo=a_photo()).pk != signed_outside.pk


@pytest.mark.parametrize(("counts", "words"), [("renewal", "some"), ("never", "some"), ("both", "enough")])
def test_a_compared_sheet_counts_as_the_policy_says(
    cast: Cast, signed_in: Any, visitor: OutsideWitness, counts: str, words: str
) -> None:
    bench = set_up(cast, needed=1, distinct_days=1, from_paper=counts)
    printed(bench)
    compared(bench, entered(bench, signed_in, observer=str(visitor.pk), photo=a_photo()), cast.supervisor)
    assert evidence(bench, 7) == words
