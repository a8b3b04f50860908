"""Authority, founding grants and carried-over records: what is recorded, every refusal, and who may."""

from datetime import date, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.contrib.messages import get_messages

from clinic.accounts import open_invitation
from clinic.models import Equipment, Person
from tests.cast import REGISTER_START
from tests.training.bench import proof
from tests.training.people_scene import TODAY, Scene, carried
from training.carried_file import read_carried, written_carried
from training.models import Authority, CarriedOver, FoundingGrant, Signature, StandingSpan
from training.reads.binder.signed import entered_by
from training.reads.going_live import drivers_with_papers

pytestmark = pytest.mark.django_db
URL = "/millbrook-lane/people/roster/"
HEADS = "staff_number,procedure,original_day,by_whom,paper_place,valid_until\r\n"
LINE = "S20,P01,2024-10-01,the paper list,blue folder,2025-06-01\r\n"


@pytest.fixture
def scene(scene: Scene) -> Scene:
    Person.objects.filter(pk=scene.cast.assistant.person.pk).update(staff_number="S20")
    return scene


def send(signed_in: Any, scene: Scene, tail: str, who: str = "owner", **data: Any) -> Any:
    return signed_in(getattr(scene.cast, who)).post(URL + tail, {"submission": uuid4(), **data})


def words(answer: Any) -> str:
    assert answer.status_code == 200, answer
    return " ".join(answer.content.decode().split())


def authority(scene: Scene, **more: Any) -> dict[str, Any]:
    return {"person": scene.cast.second.person.pk, "procedures": ["P01"], "from_day": "3 Mar 2025"} | more


def test_authority_is_given_for_procedures_and_areas(signed_in: Any, scene: Scene) -> None:
    assert send(signed_in, scene, "authority/new/", **authority(scene, areas=["milling"])).status_code == 302
    row = Authority.objects.get(person=scene.cast.second.person)
    assert (row.procedures, row.areas, row.happened_on, row.recorded_by) == (
        ["P01"],
        ["milling"],
        TODAY,
        scene.cast.owner.person,
    )


def test_authority_for_somebody_not_usable_is_given_and_warns_at_once(signed_in: Any, scene: Scene) -> None:
    answer = send(signed_in, scene, "authority/new/", **authority(scene))
    said = [str(message) for message in get_messages(answer.wsgi_request)]
    assert Authority.objects.filter(person=scene.cast.second.person).count() == 1
    assert said[-1] == (
        "Tobias Rask may not work alone in P01: what Tobias Rask watches there does not count as evidence until that "
        "changes, or a reason is given."
    )


def test_authority_with_a_reason_says_what_it_lets_count(signed_in: Any, scene: Scene) -> None:
    answer = send(signed_in, scene, "authority/new/", **authority(scene, counts_because="He wrote the course."))
    assert "for the reason given: He wrote the course." in str(list(get_messages(answer.wsgi_request))[-1])
    assert Authority.objects.get(person=scene.cast.second.person).counts_because == "He wrote the course."


def test_authority_for_somebody_usable_warns_of_nothing(signed_in: Any, scene: Scene) -> None:
    carried(scene, scene.cast.second.person, "P01", date(2025, 6, 1))
    answer = send(signed_in, scene, "authority/new/", **authority(scene))
    assert len(list(get_messages(answer.wsgi_request))) == 1


def test_the_same_submission_twice_is_one_authority(signed_in: Any, scene: Scene) -> None:
    data = authority(scene, submission=uuid4())
    for _ in range(2):
        assert send(signed_in, scene, "authority/new/", **data).status_code == 302
    assert Authority.objects.filter(person=scene.cast.second.person).count() == 1


def test_authority_for_nothing_and_for_oneself_are_refused_at_once(signed_in: Any, scene: Scene) -> None:
    data = authority(scene, person=scene.cast.owner.person.pk, procedures=[], to_day="1 Mar 2025")
    html = words(send(signed_in, scene, "authority/new/", **data))
    for says in ("Nothing is covered.", "It ends before it starts.", "Nobody grants authority to themselves."):
        assert says in html


def test_ending_authority_needs_its_reason_and_keeps_the_first(signed_in: Any, scene: Scene) -> None:
    row = Authority.objects.get(person=scene.cast.supervisor.person)
    tail = f"authority/{row.pk}/end/"
    assert "Say why it ends" in words(send(signed_in, scene, tail, to_day="7 Mar 2025"))
    assert send(signed_in, scene, tail, to_day="7 Mar 2025", reason="She asked for it.").status_code == 302
    ended = Authority.objects.live().get(person=scene.cast.supervisor.person)
    assert (ended.to_day, ended.corrects) == (date(2025, 3, 7), row.pk)


def founding(scene: Scene, **more: Any) -> dict[str, Any]:
    return {
        "person": scene.cast.second.person.pk, "procedures": ["P01"], "rests_on": "visit", "detail": "Two days in December.",
        "from_day": "6 Jan 2025", "to_day": "6 Dec 2025",
    } | proof(scene.cast.owner) | more  # fmt: skip


def test_a_founding_grant_lets_its_holder_work_alone(signed_in: Any, scene: Scene) -> None:
    assert send(signed_in, scene, "authority/founding/", **founding(scene)).status_code == 302
    row = FoundingGrant.objects.get()
    assert row.detail == "Two days in December."
    assert Signature.objects.get(signs=row.pk).signer_name == "Hester Vane"
    assert StandingSpan.objects.on(TODAY).usable().get(person=scene.cast.second.person).basis == "founding"


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({"to_day": "7 Jan 2026"}, "The last day can be 6 Jan 2026 at most."),
        ({"rests_on": "side by side"}, "The last day can be 6 Apr 2025 at most."),
        ({"password": ""}, "being signed in is not enough to sign"),
        ({"password": "not this one at all"}, "Name and password do not belong together."),
        ({"detail": ""}, "Name the visit, the course or the declaration and its day."),
        ({"procedures": []}, "Choose the procedures it covers."),
        ({"rests_on": ""}, "Choose what it rests on."),
    ],
)
def test_a_founding_grant_is_refused_with_its_remedy(
    signed_in: Any, scene: Scene, more: dict[str, Any], says: str
) -> None:
    assert says in words(send(signed_in, scene, "authority/founding/", **founding(scene, **more)))


def test_the_list_says_what_a_founding_grant_rests_on(signed_in: Any, scene: Scene) -> None:
    send(signed_in, scene, "authority/founding/", **founding(scene))
    html = words(signed_in(scene.cast.owner).get(URL + "authority/"))
    assert "Founding grant, a trainer’s visit: Two days in December." in html


@pytest.mark.parametrize("tail", ["authority/", "authority/new/", "authority/founding/"])
def test_only_the_owner_gives_authority(signed_in: Any, scene: Scene, tail: str) -> None:
    assert signed_in(scene.cast.coordinator).get(URL + tail).status_code == 403


def paper(scene: Scene, **more: Any) -> dict[str, Any]:
    return {
        "person": scene.cast.assistant.person.pk, "procedure": scene.procedures["P01"].pk, "original_day": "1 Oct 2024",
        "by_whom": "the paper list", "paper_place": "blue folder", "valid_until": "1 Jun 2025",
    } | more  # fmt: skip


def test_a_record_is_carried_over_to_the_register_start(signed_in: Any, scene: Scene) -> None:
    assert send(signed_in, scene, "carried-over/new/", "coordinator", **paper(scene)).status_code == 302
    row = CarriedOver.objects.get()
    assert (row.happened_on, row.original_day, row.valid_until) == (REGISTER_START, date(2024, 10, 1), date(2025, 6, 1))


def test_every_refusal_of_a_carried_over_record_stands_at_its_field(signed_in: Any, scene: Scene) -> None:
    data = paper(scene, original_day="6 Jan 2025", valid_until="6 Jul 2025", by_whom="", paper_place="")
    html = words(send(signed_in, scene, "carried-over/new/", "coordinator", **data))
    assert "Name who signed the paper, in words." in html
    html = words(
        send(signed_in, scene, "carried-over/new/", "coordinator", **data | {"by_whom": "x", "paper_place": "y"})
    )
    assert "Give the day on the paper, before 6 Jan 2025." in html
    assert "Carried-over records end by 5 Jul 2025." in html


def test_a_record_that_is_sent_again_is_carried_over_once(signed_in: Any, scene: Scene) -> None:
    data = paper(scene) | {"submission": str(uuid4())}
    sent = [send(signed_in, scene, "carried-over/new/", "coordinator", **data).status_code for _ in range(2)]
    assert (sent, CarriedOver.objects.count()) == ([302, 302], 1)


def test_a_single_record_that_will_be_on_hold_at_once_says_so_before_it_is_recorded(
    signed_in: Any, scene: Scene
) -> None:
    """As the table and the file do. The tick beside it records it all the same."""
    on_hold = paper(scene) | {"procedure": scene.procedures["P04"].pk}
    html = words(send(signed_in, scene, "carried-over/new/", "coordinator", **on_hold))
    assert "Nothing is saved yet. Wren Adeyemi will be on hold at once in P04: P01 comes first. Tick this" in html
    assert not CarriedOver.objects.exists()
    assert send(signed_in, scene, "carried-over/new/", "coordinator", **on_hold, seen="on").status_code == 302
    assert CarriedOver.objects.count() == 1


def test_a_single_record_whose_ground_is_there_asks_nothing_more(signed_in: Any, scene: Scene) -> None:
    carried(scene, scene.cast.assistant.person, "P01", date(2025, 6, 1))
    data = paper(scene) | {"procedure": scene.procedures["P04"].pk}
    assert send(signed_in, scene, "carried-over/new/", "coordinator", **data).status_code == 302


def test_what_is_carried_over_already_is_refused(signed_in: Any, scene: Scene) -> None:
    carried(scene, scene.cast.assistant.person, "P01", date(2025, 6, 1))
    assert "This is carried over already." in words(
        send(signed_in, scene, "carried-over/new/", "coordinator", **paper(scene))
    )


def test_a_file_is_shown_first_and_then_carried_over_as_a_whole(signed_in: Any, scene: Scene) -> None:
    text = HEADS + LINE + LINE.replace("P01", "P04")
    html = words(send(signed_in, scene, "carried-over/import/", "coordinator", text=text))
    assert "2 records can be carried over. Nothing is written yet." in html
    assert not CarriedOver.objects.exists()
    assert send(signed_in, scene, "carried-over/import/", "coordinator", text=text, enter="yes").status_code == 302
    assert CarriedOver.objects.count() == 2


def test_a_file_says_what_would_be_on_hold_at_once_before_anything_is_recorded(signed_in: Any, scene: Scene) -> None:
    text = HEADS + LINE.replace("P01", "P04")
    html = words(send(signed_in, scene, "carried-over/import/", "coordinator", text=text))
    assert "Wren Adeyemi will be on hold at once in P04: P01 comes first." in html
    both = words(send(signed_in, scene, "carried-over/import/", "coordinator", text=text + LINE))
    assert "on hold at once" not in both
    assert not CarriedOver.objects.exists()


def test_the_same_file_twice_carries_nothing_over_twice(signed_in: Any, scene: Scene) -> None:
    for _ in range(2):
        send(signed_in, scene, "carried-over/import/", "coordinator", text=HEADS + LINE, enter="yes")
    assert CarriedOver.objects.count() == 1


@pytest.mark.parametrize(
    ("line", "column"),
    [
        (LINE.replace("S20", "S99"), "staff_number"),
        (LINE.replace("P01", "P99"), "procedure"),
        (LINE.replace("2024-10-01", "2025-01-06"), "original_day"),
        (LINE.replace("2024-10-01", "soon"), "original_day"),
        (LINE.replace("blue folder", ""), "paper_place"),
        (LINE.replace("the paper list", ""), "by_whom"),
        (LINE.replace("2025-06-01", "2025-07-06"), "valid_until"),
    ],
)
def test_a_fault_of_the_file_is_named_by_line_and_column(scene: Scene, line: str, column: str) -> None:
    found = read_carried(HEADS + LINE.replace("P01", "P04") + line, scene.cast.lane)
    assert [(fault.line, fault.column) for fault in found.faults] == [(3, column)]


def test_two_lines_for_one_record_are_a_fault(scene: Scene) -> None:
    assert [fault.line for fault in read_carried(HEADS + LINE + LINE, scene.cast.lane).faults] == [3]


def test_lines_without_a_last_day_are_spread(scene: Scene) -> None:
    body = "".join(f"S20,{code},2024-10-01,list,folder\r\n" for code in ("P01", "P03", "P04"))
    found = read_carried(HEADS.replace(",valid_until", "") + body, scene.cast.lane)
    days = [(paper.valid_until - REGISTER_START).days for paper in found.papers]
    assert (found.faults, days) == ([], [60, 120, 180])


def test_the_file_written_reads_back_as_nothing_new(scene: Scene) -> None:
    carried(scene, scene.cast.assistant.person, "P01", date(2025, 6, 1))
    found = read_carried(written_carried(scene.cast.lane), scene.cast.lane)
    assert (found.faults, found.known, found.papers) == ([], 1, [])


def points(signed_in: Any, scene: Scene) -> str:
    return words(signed_in(scene.cast.coordinator).get(URL + "going-live/"))


def test_going_live_says_what_is_missing_and_what_supplies_it(signed_in: Any, scene: Scene) -> None:
    html = points(signed_in, scene)
    assert "3 of 3 procedures have a version in force." in html
    assert "Held against the maker’s instructions: 0 of 3 versions." in html
    assert "Compare P01, P03, P04; until then they are taught, not signed." in html
    assert "People who may observe and sign here: 1." in html
    assert "Procedures that somebody here may do alone: 0 of 3 that a job role needs." in html
    assert "Nobody may do P01, P03, P04" in html


def test_going_live_names_a_driver_without_papers(scene: Scene) -> None:
    lane = scene.cast.lane
    assert drivers_with_papers(lane, REGISTER_START).there
    Equipment.objects.create(site=lane, kind="torque driver", label="driver A", in_service_from=REGISTER_START)
    point = drivers_with_papers(lane, REGISTER_START)
    assert point.is_missing and "driver A" in point.supply


def test_the_register_start_is_set_until_something_hangs_on_it(signed_in: Any, scene: Scene) -> None:
    assert send(signed_in, scene, "going-live/", "coordinator", register_start="7 Jan 2025").status_code == 302
    scene.cast.lane.refresh_from_db()
    assert scene.cast.lane.register_start == REGISTER_START + timedelta(days=1)
    carried(scene, scene.cast.assistant.person, "P01", date(2025, 6, 1))
    assert "The day the register starts" not in points(signed_in, scene)


@pytest.mark.parametrize(
    "tail", ["carried-over/", "carried-over/new/", "carried-over/import/", "carried-over/export/", "going-live/"]
)
@pytest.mark.parametrize(("who", "status"), [("assistant", 403), ("supervisor", 403), ("elsewhere", 404)])
def test_only_the_roster_keepers_carry_over(signed_in: Any, scene: Scene, tail: str, who: str, status: int) -> None:
    assert signed_in(getattr(scene.cast, who)).get(URL + tail).status_code == status


def test_authority_of_another_site_does_not_exist_here(signed_in: Any, scene: Scene) -> None:
    row = Authority.objects.get(person=scene.cast.supervisor.person)
    assert signed_in(scene.cast.owner).get(f"/sandbar-court/people/roster/authority/{row.pk}/end/").status_code == 404


def test_a_slip_is_printed_with_the_code_that_was_shown(signed_in: Any, scene: Scene) -> None:
    who, client = scene.cast.assistant.person, signed_in(scene.cast.coordinator)
    scene.cast.assistant.account.set_unusable_password()
    scene.cast.assistant.account.save()
    html = client.post(f"{URL}{who.pk}/invite/", {"again": "yes"}).content.decode()
    code = html.split('name="code" value="')[1].split('"')[0]
    assert 'target="_blank" data-again' in html  # it opens beside the page, and the button stays
    for _ in range(2):
        answer = client.post(f"/millbrook-lane/people/{who.pk}/slip/", {"code": code})
        assert (answer.status_code, answer.content[:5]) == (200, b"%PDF-")
        assert open_invitation(code) is not None  # printing ends no code
    assert client.post(f"/millbrook-lane/people/{who.pk}/slip/", {"code": "guess"}).status_code == 404


def test_a_carried_over_record_is_printed_as_entered_from_paper_and_never_as_signed(scene: Scene) -> None:
    row = carried(scene, scene.cast.assistant.person, "P01", date(2025, 6, 1))
    assert entered_by(row) == "from paper, entered by Bram Okafor"
