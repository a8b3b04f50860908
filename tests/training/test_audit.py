"""The audit pages: findings with evidence, what was done, the seals, what is kept elsewhere, and confidential facts."""

from typing import Any
from urllib.parse import urlencode
from uuid import uuid4

import pytest

from clinic.models import Incident, KeptElsewhere, SigningAttempt
from clinic.record import record, void
from tests.training.people_scene import NOON, TODAY, Scene, watched
from tests.training.test_findings import found, work
from training.finding_spans import rebuild
from training.models import CorrectiveAction
from training.reads.findings import stored
from training.reads.findings.stored import findings, findings_shown

PAGE = "/millbrook-lane/audit/"


def get(signed_in: Any, scene: Scene, path: str = PAGE, who: str = "owner") -> Any:
    return signed_in(getattr(scene.cast, who)).get(path)


def text(signed_in: Any, scene: Scene, path: str = PAGE, who: str = "owner") -> str:
    answer = get(signed_in, scene, path, who)
    assert answer.status_code == 200
    return answer.content.decode()


def test_each_finding_names_its_evidence_and_what_ends_it(signed_in: Any, scene: Scene) -> None:
    entry = work(scene)
    said = text(signed_in, scene)
    assert f'href="/millbrook-lane/facts/{entry.pk}/"' in said
    assert "A corrective action that says what was done about it closes it." in said


def test_whoever_only_reads_is_offered_no_action(signed_in: Any, scene: Scene) -> None:
    work(scene)
    assert "/audit/actions/?" in text(signed_in, scene)
    assert "/audit/actions/?" not in text(signed_in, scene, who="supervisor")


@pytest.mark.parametrize(("who", "status"), [("assistant", 403), ("elsewhere", 404), ("inspector", 404)])
def test_the_page_is_for_whoever_reads_the_site(signed_in: Any, scene: Scene, who: str, status: int) -> None:
    assert get(signed_in, scene, who=who).status_code == status


def post_action(signed_in: Any, scene: Scene, **changes: str) -> Any:
    key = found(scene, "not held").finding.key
    owner = str(scene.cast.owner.person.pk)
    data = {"submission": str(uuid4()), "findings": key, "done": "Talked it through.", "done_by": owner}
    return signed_in(scene.cast.owner).post(f"{PAGE}actions/", data | changes)


def test_an_explained_note_leaves_the_open_list(signed_in: Any, scene: Scene) -> None:
    work(scene)
    assert post_action(signed_in, scene).status_code == 302
    said = text(signed_in, scene)
    assert "1 explained" in said
    assert "Talked it through." in said


def test_what_was_typed_stays_when_something_is_missing(signed_in: Any, scene: Scene) -> None:
    work(scene)
    said = post_action(signed_in, scene, done_by="").content.decode()
    assert "Choose who did it." in said
    assert "Talked it through." in said
    assert CorrectiveAction.objects.count() == 0


def test_checking_the_seals_says_so_and_keeps_when(signed_in: Any, scene: Scene) -> None:
    answer = signed_in(scene.cast.owner).post(f"{PAGE}seals/", follow=True)
    assert "Every seal is whole." in answer.content.decode()
    assert "Checked 3 March 2025: all whole." in answer.content.decode()


def test_failed_tries_to_sign_are_shown(signed_in: Any, scene: Scene) -> None:
    """21 CFR 11.300(d): attempts at unauthorised use are reported (row E-27, V)."""
    account = scene.cast.supervisor.account
    SigningAttempt.objects.create(account=account, at=NOON, succeeded=False, site=scene.cast.lane)
    assert "Ines Pellow: 1, last 3 March" in text(signed_in, scene)


def keep(signed_in: Any, scene: Scene, path: str = "kept-elsewhere/", **changes: str) -> Any:
    data = {
        "submission": str(uuid4()),
        "what": "Exposure control plan",
        "place": "office",
        "keeper": "Hester Vane",
        "last_review": "",
    }
    return signed_in(scene.cast.owner).post(f"{PAGE}{path}", data | changes)


def test_a_paper_kept_elsewhere_is_noted_and_later_brought_up_to_date(signed_in: Any, scene: Scene) -> None:
    keep(signed_in, scene)
    row = KeptElsewhere.objects.get()
    keep(signed_in, scene, f"kept-elsewhere/{row.pk}/", place="blue shelf", last_review="8 Jan 2025")
    said = text(signed_in, scene)
    assert "blue shelf" in said
    assert KeptElsewhere.objects.live().count() == 1


def test_a_review_in_the_future_is_refused_and_nothing_typed_is_lost(signed_in: Any, scene: Scene) -> None:
    said = keep(signed_in, scene, last_review="8 Jan 2030").content.decode()
    assert "The last review is in the future." in said
    assert 'value="Exposure control plan"' in said


def incident(scene: Scene) -> Incident:
    row = Incident(site=scene.cast.lane, happened_on=TODAY, kind="near miss", place="bench", how="A cutter slipped.")
    return record(row, by=scene.cast.assistant.person)


@pytest.mark.parametrize(
    ("who", "status"), [("owner", 200), ("coordinator", 200), ("supervisor", 404), ("assistant", 404)]
)
def test_the_fact_of_an_incident_is_confidential(signed_in: Any, scene: Scene, who: str, status: int) -> None:
    assert get(signed_in, scene, f"/millbrook-lane/facts/{incident(scene).pk}/", who).status_code == status


def test_the_fact_of_an_incident_never_says_who_told_of_it(signed_in: Any, scene: Scene) -> None:
    assert "Wren Adeyemi" not in text(signed_in, scene, f"/millbrook-lane/facts/{incident(scene).pk}/")


def test_what_takes_an_incident_back_is_as_confidential(signed_in: Any, scene: Scene) -> None:
    taken = void(incident(scene), by=scene.cast.owner.person, reason="Entered twice.")
    assert get(signed_in, scene, f"/millbrook-lane/facts/{taken.pk}/", "supervisor").status_code == 404


def test_everybody_reads_facts_about_oneself_and_no_others(signed_in: Any, scene: Scene) -> None:
    mine = watched(scene, scene.cast.assistant.person, "P01", TODAY)
    other = watched(scene, scene.cast.second.person, "P01", TODAY)
    pages = [
        get(signed_in, scene, f"/millbrook-lane/facts/{row.pk}/", "assistant").status_code for row in (mine, other)
    ]
    assert pages == [200, 404]


def test_a_corrected_fact_says_so_and_leads_to_what_corrects_it(signed_in: Any, scene: Scene) -> None:
    row = watched(scene, scene.cast.assistant.person, "P01", TODAY)
    later = void(row, by=scene.cast.supervisor.person, reason="The wrong person.")
    said = text(signed_in, scene, f"/millbrook-lane/facts/{row.pk}/")
    assert "corrected since" in said
    assert f'href="/millbrook-lane/facts/{later.pk}/"' in said


def test_a_fact_of_another_site_does_not_exist_here(signed_in: Any, scene: Scene) -> None:
    row = watched(scene, scene.cast.assistant.person, "P01", TODAY)
    assert get(signed_in, scene, f"/sandbar-court/facts/{row.pk}/").status_code == 404


def test_a_long_list_is_shown_a_page_at_a_time(signed_in: Any, scene: Scene, monkeypatch: pytest.MonkeyPatch) -> None:
    """Stored or computed: together the pages are the whole list, in its order, and each says how many there are in all."""
    for _ in range(5):
        work(scene)
    post_action(signed_in, scene)
    whole = [one for one in findings(scene.cast.lane, TODAY) if one.is_open]
    monkeypatch.setattr(stored, "A_PAGE", 2)
    for is_stored in (False, True):
        if is_stored:
            rebuild(scene.cast.lane)
        pages = [findings_shown(scene.cast.lane, TODAY, number) for number in range(1, (len(whole) + 1) // 2 + 1)]
        assert [one for page in pages for one in page.open] == whole and len(pages) > 2
        assert {sum(page.weights.values()) for page in pages} == {len(whole)}
        assert [len(page.closed) for page in pages] == [1] + [0] * (len(pages) - 1)
        first, second = text(signed_in, scene), text(signed_in, scene, f"{PAGE}?page=2")
        assert "The next page" in first and "1 explained" in first and "Kept elsewhere" in first
        assert "The page before" in second and "1 explained" not in second and "Kept elsewhere" not in second


def test_the_form_offers_what_is_named_or_a_page_of_all(
    signed_in: Any, scene: Scene, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whoever chose on the list finds what they chose; nobody finds a thousand boxes."""
    for _ in range(5):
        work(scene)
    rebuild(scene.cast.lane)
    whole = [one.finding.key for one in findings(scene.cast.lane, TODAY) if one.is_open]
    monkeypatch.setattr(stored, "A_PAGE", 2)

    def offered(query: str) -> list[str]:
        answer = get(signed_in, scene, f"{PAGE}actions/?{query}")
        return [key for key, _ in answer.context["form"].fields["findings"].choices]

    named = urlencode([("finding", key) for key in whole[1:4]])
    assert offered(named) == whole[1:4] and "The next page" not in text(signed_in, scene, f"{PAGE}actions/?{named}")
    assert [*offered(""), *offered("page=2")] == whole[:4]
    assert "The next page" in text(signed_in, scene, f"{PAGE}actions/")
    assert offered("finding=nothing") == whole[:2]
