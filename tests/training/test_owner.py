"""The owner's page: what would be objected to, what hangs on one person, and whether the record is safe."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from clinic.actions.safeguards import note_safeguard
from clinic.models import Appointment, Post, Site
from clinic.permissions import Allowed
from tests.cast import Cast
from tests.training.people_scene import TODAY, Scene, carried, noon
from training.actions.findings import check_seals
from training.models import Requirement
from training.reads.owner import OwnerPage, able_at, owner_page
from training.reads.week import week_of

PAGE = "/millbrook-lane/audit/owner/"


def shown(client: Any) -> str:
    return " ".join(client.get(PAGE).content.decode().split())


def hand_care(scene: Scene) -> Any:
    return next(one for one in able_at(scene.cast.lane, TODAY) if one.code == "P01")


def page_of(site: Site, day: date) -> OwnerPage:
    owner = Appointment.objects.get(post=Post.OWNER, person__organisation=site.organisation).person
    return owner_page(Allowed(owner), site, day)


def safe(scene: Scene) -> dict[str, str]:
    return {one.kind: one.state for one in page_of(scene.cast.lane, TODAY).safe}


def test_who_alone_may_do_a_duty_and_who_can_sign_it_are_named(scene: Scene) -> None:
    carried(scene, scene.cast.supervisor.person, "P01", TODAY + timedelta(days=60))
    assert hand_care(scene).says == "Only Ines Pellow may do it alone, and only Ines Pellow can sign it."


def test_being_usable_without_authority_signs_nothing(scene: Scene) -> None:
    carried(scene, scene.cast.assistant.person, "P01", TODAY + timedelta(days=60))
    assert (hand_care(scene).alone, hand_care(scene).signers) == (("Wren Adeyemi",), ())


def test_whoever_lapses_that_day_is_not_counted(scene: Scene) -> None:
    carried(scene, scene.cast.supervisor.person, "P01", TODAY + timedelta(days=60))
    assert able_at(scene.cast.lane, TODAY + timedelta(days=61))[0].alone == ()


def test_backup_drill_and_seal_check_are_late_until_they_are_recorded(scene: Scene) -> None:
    assert (safe(scene)["backup"], safe(scene)["seal check"]) == ("fix", "fix")
    owner = scene.cast.owner.person
    note_safeguard("backup", True, "the safe", TODAY, site=scene.cast.lane, done_by=owner, by=owner)
    check_seals(scene.cast.lane, by=owner)
    assert (safe(scene)["backup"], safe(scene)["seal check"]) == ("current", "current")


def test_the_page_leads_to_findings_coverage_week_agreement_and_who_may(signed_in: Any, scene: Scene) -> None:
    html = shown(signed_in(scene.cast.owner))
    for end in (
        "audit/#stop",
        "audit/coverage/",
        "observe/week/",
        "audit/agreement/",
        "today/who-may/",
        "audit/safeguards/",
    ):
        assert f'href="/millbrook-lane/{end}' in html
    assert "An inspector would object to" in html and "What one absence stops" in html


def test_every_duty_stands_in_a_table_with_who_could_stand_in(signed_in: Any, scene: Scene) -> None:
    carried(scene, scene.cast.assistant.person, "P01", TODAY + timedelta(days=60))
    assert '<th scope="row">Hand care (P01)</th> <td>one alone: Wren Adeyemi</td> <td>nobody can sign</td>' in shown(
        signed_in(scene.cast.owner)
    )


def test_without_requirements_the_page_says_what_a_duty_is(signed_in: Any, cast: Cast) -> None:
    Requirement.objects.all().delete()
    with noon():
        assert "A duty is a procedure that a job role needs here." in shown(signed_in(cast.owner))


def test_only_whoever_keeps_the_roster_sees_it(signed_in: Any, scene: Scene) -> None:
    cast = scene.cast
    opened = [
        signed_in(who).get(PAGE).status_code for who in (cast.owner, cast.coordinator, cast.supervisor, cast.assistant)
    ]
    assert opened == [200, 200, 403, 403]


def test_the_page_is_offered_only_to_whom_it_opens(signed_in: Any, scene: Scene) -> None:
    offered = [
        "audit/owner/" in signed_in(who).get("/millbrook-lane/audit/").content.decode()
        for who in (scene.cast.owner, scene.cast.supervisor)
    ]
    assert offered == [True, False]


def cost(scene: Scene, read: Any) -> int:
    with CaptureQueriesContext(connection) as asked:
        read(scene.cast.lane, TODAY)
    return len(asked)


@pytest.mark.parametrize("read", [page_of, week_of])
def test_it_costs_the_same_for_more_who_may(scene: Scene, read: Any) -> None:
    carried(scene, scene.cast.supervisor.person, "P01", TODAY + timedelta(days=6))
    read(scene.cast.lane, TODAY)  # what is asked once a process is asked here
    few = cost(scene, read)
    for who in (scene.cast.assistant, scene.cast.second, scene.cast.coordinator):
        carried(scene, who.person, "P01", TODAY + timedelta(days=6))
    assert cost(scene, read) == few
