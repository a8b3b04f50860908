"""A binder: asked for, made behind the page, read by whoever may, and the same to the last byte when printed again."""

import io
from dataclasses import replace
from datetime import timedelta
from hashlib import sha256
from pathlib import Path
from types import SimpleNamespace
from typing import Any
from uuid import uuid4

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from pypdf import PdfReader

from clinic import clock
from clinic.actions.people import appoint, change_person
from clinic.models import Appointment, Change, Incident, Post, UpkeepTask
from clinic.record import Refused, record
from clinic.rules.roles import TaskRole
from clinic.seals import check_site
from tests.cast import REGISTER_START
from tests.fixtures import lift_refusals
from tests.training.people_scene import TODAY, Scene, carried, noon, watched
from tests.training.test_today import crowd
from training.actions.binder import give_pass, number_of, request_binder
from training.actions.findings import check_seals
from training.binder_worker import LEASE, Lost, claim, heartbeat, make, run_one
from training.documents.binder.build import build
from training.models import BinderJob, InspectorPass, Issue, PassUsed
from training.papers import Differs, draw, kept_papers, paper, place_of
from training.reads.binder.asked import BinderAsked
from training.reads.binder.gather import gather_binder
from training.reads.binder.in_time import in_time
from training.reads.binder.upkeep import read_and_noted
from training.reads.findings.stored import findings
from training.rules.frozen import frozen_digest

PAGE = "/millbrook-lane/audit/binders/"


@pytest.fixture
def scene(scene: Scene, settings: Any, tmp_path: Path) -> Scene:
    settings.DOCUMENTS_DIR = tmp_path / "documents"
    return scene


def ask(scene: Scene, **more: Any) -> BinderJob:
    days = {"first": REGISTER_START, "last": TODAY, "as_of": TODAY, "in_full": True, "paper": "A4"}
    return request_binder(scene.cast.lane, **days | {"by": scene.cast.owner.person} | more)


def made(scene: Scene, **more: Any) -> Issue:
    job = ask(scene, **more)
    ended = run_one()
    assert ended is not None and (ended.pk, ended.state) == (job.pk, "done"), ended and ended.says
    return ended.issue  # type: ignore[return-value]


def words(pdf: bytes) -> str:
    return " ".join("\n".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages).split())


def test_its_text_holds_everybodys_record(scene: Scene) -> None:
    watched(scene, scene.cast.assistant.person, "P01", TODAY)
    carried(scene, scene.cast.second.person, "P04", TODAY + timedelta(days=30))
    text = words(draw(made(scene)))
    for each in ("Wren Adeyemi", "Tobias Rask", "Hand care", "Ines Pellow", "blue folder"):
        assert each in text


def test_it_says_on_how_many_days_each_task_of_each_unit_was_in_time(scene: Scene) -> None:
    UpkeepTask.objects.create(code="U02", title="Purge", equipment_kind="milling unit", every_days=1000)
    asked = BinderAsked(scene.cast.lane, TODAY - timedelta(days=9), TODAY, TODAY)
    late = "22 February 2025 through 3 March 2025, 10 days"
    assert in_time(asked).rows == [
        ["unit 1", "U02 Purge", "10 of 10 days", "0", "0", ""],
        ["unit 1", "U91 Deep clean", "0 of 10 days", "10", "0", late],
    ]


def test_events_stand_in_it_without_names(scene: Scene) -> None:
    event = Incident(site=scene.cast.lane, happened_on=TODAY, kind="near miss", place="bench", how="A cutter slipped.")
    record(event, by=scene.cast.assistant.person)
    issue = made(scene)
    assert "A cutter slipped." in words(draw(issue))
    assert str(event.pk) not in str(issue.frozen)


def test_an_event_says_whether_the_sharp_was_contaminated_and_is_counted_by_the_rule(scene: Scene) -> None:
    for contaminated in ("no", "unsure"):
        hurt = Incident(
            site=scene.cast.lane, happened_on=TODAY, kind="sharps injury", place="bench", how="A cutter slipped.", item="ball tool",
            contaminated=contaminated,
        )  # fmt: skip
        record(hurt, by=scene.cast.assistant.person)
    rows = [row for row in made(scene).frozen["content"]["events"] if row["contaminated"]]
    assert [(row["contaminated"], row["logged"], row["brand"]) for row in rows] == [
        ("no", False, "ball tool"),
        ("unsure", True, "ball tool"),
    ]


def test_a_spore_test_is_told_once_in_the_part_of_its_own() -> None:
    spec = {"key": "test", "label": "The test"}
    for role, told in ((TaskRole.SPORE_TEST, "see Spore tests"), (TaskRole.PURGE, "The test: no growth; Calm.")):
        task = SimpleNamespace(stands_for=role, readings=[spec])
        entry = SimpleNamespace(task=task, all_readings={"test": "no growth"}, note="Calm.")
        assert read_and_noted(entry, {}) == told


def test_a_reprint_reads_the_frozen_content_and_nothing_else(scene: Scene) -> None:
    issue = made(scene)
    first = draw(issue)
    watched(scene, scene.cast.assistant.person, "P01", TODAY)
    assert draw(Issue.objects.get(pk=issue.pk)) == first


def test_the_digest_covers_the_content_and_the_record_it_belongs_to(scene: Scene) -> None:
    issue = made(scene)
    assert issue.frozen_digest == frozen_digest(issue.pk, issue.frozen)
    assert issue.frozen_digest != frozen_digest(uuid4(), issue.frozen)


def forge(issue: Issue) -> bytes:
    """Somebody puts another file in the place of the kept one."""
    place_of(issue).parent.mkdir(parents=True, exist_ok=True)
    place_of(issue).write_bytes(b"%PDF-1.4 forged")
    return place_of(issue).read_bytes()


def test_the_digest_of_the_file_stands_in_the_fact(scene: Scene) -> None:
    issue = made(scene)
    assert issue.file_digest == sha256(draw(issue)).hexdigest()


def test_a_forged_file_is_not_served_stays_where_it_lies_and_is_found(scene: Scene) -> None:
    issue = made(scene)
    forged = forge(issue)
    assert paper(issue) == draw(issue) != forged
    assert place_of(issue).read_bytes() == forged
    says = f"the kept file of {issue.number} is not the one that was issued"
    assert [each.says for each in kept_papers(scene.cast.lane)] == [says]
    assert [each.says for each in check_site(scene.cast.lane)] == [says]


def test_a_recorded_check_makes_a_forged_file_a_finding(scene: Scene) -> None:
    forge(made(scene))
    check_seals(scene.cast.lane, by=scene.cast.owner.person)
    assert "broken seal" in {one.finding.code for one in findings(scene.cast.lane, TODAY)}


def test_where_no_file_is_the_one_issued_none_is_served(signed_in: Any, scene: Scene) -> None:
    """The kept file is forged, and the drawing comes out otherwise than on the day: nothing is shown, in words."""
    issue = made(scene)
    forge(issue)
    lift_refusals()
    Issue.objects.filter(pk=issue.pk).update(file_digest="0" * 64)
    answer = signed_in(scene.cast.owner).get(f"{PAGE}{issue.pk}/pdf/")
    assert answer.status_code == 409
    assert "this is not the file that was issued" in answer.content.decode()
    with pytest.raises(Differs, match="from a backup"):
        paper(Issue.objects.get(pk=issue.pk))


def test_a_lost_file_is_drawn_again_and_kept(scene: Scene) -> None:
    issue = made(scene)
    assert not place_of(issue).exists()  # nothing was committed here
    assert paper(issue) == place_of(issue).read_bytes()


def test_the_short_form_has_at_most_twelve_pages(scene: Scene) -> None:
    crowd(scene, 40)
    assert len(PdfReader(io.BytesIO(draw(made(scene, in_full=False)))).pages) <= 12


def test_the_short_form_holds_what_it_prints_and_nothing_else_of_people_and_texts(scene: Scene) -> None:
    """Held against the short form of all that the full one holds: the same words."""
    crowd(scene, 12)
    asked = [BinderAsked(scene.cast.lane, REGISTER_START, TODAY, TODAY, in_full=full) for full in (True, False)]
    full, short = map(gather_binder, asked)
    cut = replace(full, short=True, seals=short.seals)
    assert words(build(cut)) == words(build(short))
    assert asked[1].facts < asked[0].facts
    held = [
        row for person in short.people for row in (*person.spans, *person.sign_offs, *person.checks, *person.evidence)
    ]
    assert not held and not any(text.steps for text in short.texts) and len(short.to_json()) < len(full.to_json())
    assert {table.key for table in short.extras} <= {"water", "spores", "drivers", "in time"} and not short.sources


def test_binders_are_numbered_in_the_order_they_were_asked_for(scene: Scene) -> None:
    later = clock.now() + timedelta(seconds=5)
    first = ask(scene)
    with clock.standing_at(later):
        assert (number_of(first), number_of(ask(scene))) == ("millbrook-lane-2025-B0001", "millbrook-lane-2025-B0002")


def test_every_reason_against_the_days_is_named_at_once(scene: Scene) -> None:
    with pytest.raises(Refused) as refused:
        ask(scene, first=TODAY + timedelta(days=2), last=TODAY + timedelta(days=1), as_of=TODAY + timedelta(days=1))
    assert [one.field for one in refused.value.refusals] == ["last", "last", "as_of"]


def test_more_than_five_a_minute_are_refused(scene: Scene) -> None:
    """OWASP ASVS 5.0, 2.4.1: costly functions are limited (from memory)."""
    for _ in range(5):
        ask(scene)
    with pytest.raises(Refused, match="Five binders or packs were asked for within a minute"):
        ask(scene)
    with clock.standing_at(clock.now() + timedelta(seconds=61)):
        assert ask(scene).state == "queued"


def test_the_same_request_twice_is_one_binder(scene: Scene) -> None:
    id = uuid4()
    assert ask(scene, id=id) == ask(scene, id=id)
    assert BinderJob.objects.count() == 1


def test_a_job_is_claimed_by_one_worker_only(scene: Scene) -> None:
    ask(scene)
    assert (claim("a") is not None, claim("b")) == (True, None)


def test_a_job_whose_worker_died_is_taken_over_after_its_lease(scene: Scene) -> None:
    ask(scene)
    dead = claim("dead")
    assert dead is not None
    with clock.standing_at(clock.now() + LEASE + timedelta(seconds=1)):
        ended = run_one("alive")
        assert ended is not None and (ended.state, ended.attempts) == ("done", 2)
        with pytest.raises(Lost):
            heartbeat(dead, "dead")(1, 100, "still here")
    assert Issue.objects.count() == 1


def test_a_heartbeat_moves_the_lease_and_is_what_the_page_shows(scene: Scene) -> None:
    ask(scene)
    job = claim("a")
    assert job is not None
    heartbeat(job, "a")(30, 100, "Gathering people.")
    job.refresh_from_db()
    assert (job.done, job.says, job.lease_until) == (30, "Gathering people.", clock.now() + LEASE)


def test_what_cannot_be_made_says_why_and_ends(scene: Scene) -> None:
    job = ask(scene)
    BinderJob.objects.filter(pk=job.pk).update(attempts=3)
    ended = run_one()
    assert ended is not None and ended.state == "failed"
    assert "Ask for a shorter period" in ended.says


def test_what_is_called_off_while_it_is_made_is_issued_by_nobody(signed_in: Any, scene: Scene) -> None:
    answer, client = post(signed_in, scene), signed_in(scene.cast.owner)
    job = claim("a")
    assert job is not None and "Call it off" in client.get(answer.url).content.decode()
    assert client.post(answer.url).url == answer.url
    shown = client.get(answer.url).content.decode()
    assert "The binder was called off." in shown and "Called off by Hester Vane" in shown and "progress.js" not in shown
    with pytest.raises(Lost):
        heartbeat(job, "a")(30, 100, "Gathering people.")
    with pytest.raises(Lost):
        make(job, "a")
    assert not Issue.objects.exists() and run_one() is None
    assert "Called off" not in client.get(PAGE).content.decode()


def test_what_is_made_stays_made_whoever_calls_it_off(signed_in: Any, scene: Scene) -> None:
    answer = post(signed_in, scene)
    run_one()
    signed_in(scene.cast.owner).post(answer.url)
    assert BinderJob.objects.get().state == "done" and Issue.objects.count() == 1


def test_whoever_may_not_ask_for_a_binder_calls_none_off(signed_in: Any, scene: Scene) -> None:
    answer = post(signed_in, scene)
    assert signed_in(scene.cast.assistant).post(answer.url).status_code == 403
    assert BinderJob.objects.get().state == "queued"


def post(signed_in: Any, scene: Scene, who: str = "owner", **changes: str) -> Any:
    data = {
        "submission": str(uuid4()),
        "first": "6 Jan 2025",
        "last": "3 Mar 2025",
        "as_of": "",
        "form": "full",
        "paper": "A4",
    }
    return signed_in(getattr(scene.cast, who)).post(PAGE, data | changes)


def test_from_the_form_to_the_file(signed_in: Any, scene: Scene) -> None:
    answer, client = post(signed_in, scene), signed_in(scene.cast.owner)
    waiting = client.get(answer.url).content.decode()
    assert "The binder is being made." in waiting and "progress.js" in waiting and 'id="progress"' in waiting
    run_one()
    made = client.get(answer.url).content.decode()
    assert "The binder is made." in made and "progress.js" not in made
    binder = reverse("training:binder", args=[scene.cast.lane.code, Issue.objects.get().pk])
    assert f'href="{binder}"' in made and client.get(binder).status_code == 200
    assert client.get(f"{binder}pdf/").content == draw(Issue.objects.get())


def test_what_was_typed_stays_when_a_day_cannot_be_read(signed_in: Any, scene: Scene) -> None:
    said = post(signed_in, scene, first="03/04").content.decode()
    assert "Write the day with the month’s name" in said
    assert 'value="3 Mar 2025"' in said


@pytest.mark.parametrize(
    ("who", "status"), [("supervisor", 403), ("assistant", 403), ("elsewhere", 404), ("inspector", 404)]
)
def test_others_neither_ask_nor_read(signed_in: Any, scene: Scene, who: str, status: int) -> None:
    issue = made(scene)
    client = signed_in(getattr(scene.cast, who))
    assert {client.get(path).status_code for path in (PAGE, f"{PAGE}{issue.pk}/", f"{PAGE}{issue.pk}/pdf/")} == {status}


def passed(scene: Scene, issue: Issue, until: Any = TODAY) -> InspectorPass:
    return give_pass(issue, scene.cast.inspector.person, until, site=scene.cast.lane, by=scene.cast.owner.person)


def test_an_inspector_reads_the_one_binder_and_the_facts_it_rests_on(signed_in: Any, scene: Scene) -> None:
    inside = watched(scene, scene.cast.assistant.person, "P01", TODAY)
    mine, other = made(scene), made(scene)
    outside = watched(scene, scene.cast.assistant.person, "P01", TODAY)
    passed(scene, mine)
    client = signed_in(scene.cast.inspector)
    paths = [
        f"{PAGE}{mine.pk}/",
        f"{PAGE}{other.pk}/",
        *(f"/millbrook-lane/facts/{row.pk}/" for row in (inside, outside)),
    ]
    assert [client.get(path).status_code for path in paths] == [200, 404, 200, 404]


def test_an_inspector_sees_no_other_page(signed_in: Any, scene: Scene) -> None:
    passed(scene, made(scene))
    client = signed_in(scene.cast.inspector)
    pages = ("audit/", "people/matrix/", "today/who-may/", "audit/kept-elsewhere/")
    assert {client.get(f"/millbrook-lane/{page}").status_code for page in pages} == {403}
    assert "Binders you may read" in client.get("/millbrook-lane/today/").content.decode()


def test_a_pass_ends_with_its_day(signed_in: Any, scene: Scene) -> None:
    issue = made(scene)
    passed(scene, issue)
    with noon(TODAY + timedelta(days=1)):
        assert signed_in(scene.cast.inspector).get(f"{PAGE}{issue.pk}/").status_code == 404


def test_each_use_of_a_pass_is_a_fact_and_the_owner_sees_it(signed_in: Any, scene: Scene) -> None:
    inside = watched(scene, scene.cast.assistant.person, "P01", TODAY)
    issue = made(scene)
    given = passed(scene, issue)
    client = signed_in(scene.cast.inspector)
    for path in (f"{PAGE}{issue.pk}/", f"{PAGE}{issue.pk}/pdf/", f"/millbrook-lane/facts/{inside.pk}/"):
        assert client.get(path).status_code == 200
    used = PassUsed.objects.filter(inspector_pass=given).order_by("recorded_at")
    assert [(row.what, row.opened) for row in used] == [
        ("binder", issue.pk), ("paper", issue.pk), ("fact", inside.pk)
    ]  # fmt: skip
    assert {row.recorded_by for row in used} == {scene.cast.inspector.person}
    for page in (f"{PAGE}{issue.pk}/", reverse("training:owner", args=["millbrook-lane"])):
        assert "Used 3 times" in " ".join(signed_in(scene.cast.owner).get(page).content.decode().split())


def test_whoever_reads_the_site_leaves_no_use_of_a_pass(signed_in: Any, scene: Scene) -> None:
    issue = made(scene)
    passed(scene, issue)
    assert signed_in(scene.cast.owner).get(f"{PAGE}{issue.pk}/").status_code == 200
    assert not PassUsed.objects.exists()


def test_a_pass_taken_back_opens_nothing_at_once(signed_in: Any, scene: Scene) -> None:
    """Also for a session that is open; taken back twice, it was taken back once; given anew, it is a new pass."""
    issue = made(scene)
    given = passed(scene, issue)
    client, owner = signed_in(scene.cast.inspector), signed_in(scene.cast.owner)
    assert client.get(f"{PAGE}{issue.pk}/").status_code == 200
    end = reverse("training:pass_end", args=["millbrook-lane", given.pk])
    assert client.post(end).status_code == 403
    for _ in range(2):
        assert owner.post(end).status_code == 302
    assert client.get(f"{PAGE}{issue.pk}/").status_code == 404
    changes = Change.objects.filter(about="training.inspectorpass")
    assert sum(each.after.get("taken_back_at") is not None for each in changes) == 1
    passed(scene, issue)
    assert client.get(f"{PAGE}{issue.pk}/").status_code == 200


def test_the_post_of_an_inspector_opens_nothing_without_a_pass(signed_in: Any, scene: Scene) -> None:
    post = Appointment(person=scene.cast.inspector.person, post=Post.INSPECTOR, from_day=REGISTER_START)
    appoint(post, at=scene.cast.lane, by=scene.cast.owner.person)
    assert signed_in(scene.cast.inspector).get(PAGE).status_code == 404


def test_the_owner_gives_a_pass_on_the_page(signed_in: Any, scene: Scene) -> None:
    issue = made(scene)
    data = {"person": str(scene.cast.inspector.person.pk), "until": "10 Mar 2025"}
    answer = signed_in(scene.cast.owner).post(f"{PAGE}{issue.pk}/pass/", data, follow=True)
    assert "Maud Lindqvist may read it through 10 Mar 2025." in answer.content.decode()


@pytest.mark.parametrize("until", [TODAY - timedelta(days=1), TODAY + timedelta(days=367)])
def test_a_pass_lasts_from_today_to_a_year_at_most(scene: Scene, until: Any) -> None:
    with pytest.raises(Refused):
        passed(scene, made(scene), until)


def test_thirty_people_cost_no_more_queries_than_three(scene: Scene) -> None:
    counts = []
    for size in (3, 27):
        crowd(scene, size)
        gather_binder(asked(scene))
        with CaptureQueriesContext(connection) as seen:
            gather_binder(asked(scene))
        counts.append(len(seen))
    assert counts[0] == counts[1]


def asked(scene: Scene) -> BinderAsked:
    return BinderAsked(scene.cast.lane, REGISTER_START, TODAY, TODAY)


def test_the_command_writes_a_binder_to_a_file(scene: Scene, tmp_path: Path) -> None:
    out = tmp_path / "binder.pdf"
    call_command("binder", site="millbrook-lane", out=out, stdout=io.StringIO())
    assert "Wren Adeyemi" in words(out.read_bytes())


def test_the_command_refuses_a_site_that_is_none(scene: Scene, tmp_path: Path) -> None:
    with pytest.raises(CommandError, match="no site “nowhere”"):
        call_command("binder", site="nowhere", out=tmp_path / "x.pdf")


def test_the_worker_makes_one_where_one_waits(scene: Scene) -> None:
    said = io.StringIO()
    call_command("worker", once=True, stdout=said)
    ask(scene)
    call_command("worker", once=True, stdout=said)
    assert said.getvalue().split("\n")[:2] == ["Nothing waits.", "Ready."]


def test_the_lines_of_two_people_of_one_name_lead_each_to_their_own_record(scene: Scene) -> None:
    """One of them is renamed to the name of the other, once both have a record."""
    first, second = scene.cast.assistant.person, scene.cast.second.person
    carried(scene, first, "P04", TODAY + timedelta(days=30))
    watched(scene, second, "P01", TODAY)
    second.given_name, second.family_name, second.staff_number = first.given_name, first.family_name, "0042"
    change_person(second, by=scene.cast.coordinator.person)
    content = gather_binder(BinderAsked(scene.cast.lane, REGISTER_START, TODAY, TODAY))
    names = [member.name for member in content.roster]
    assert {"Wren Adeyemi (0042)", "Wren Adeyemi (no staff number)"} <= {*names}
    assert len({content.record_of(name) for name in names} - {""}) == len(names)
    of = {person.name: person for person in content.people}
    assert of["Wren Adeyemi (0042)"].observations and not of["Wren Adeyemi (0042)"].sign_offs
    assert of["Wren Adeyemi (no staff number)"].sign_offs and not of["Wren Adeyemi (no staff number)"].observations


def test_a_note_in_other_letters_is_counted_and_printed_as_far_as_the_type_goes(scene: Scene) -> None:
    watched(scene, scene.cast.assistant.person, "P01", TODAY, notes="wiped 两次")
    text = words(draw(made(scene)))
    assert "wiped ??" in text and "holds letters that the type of this paper lacks" in text
