"""One person’s page and one procedure of theirs: what is said first, on which day, and who may see it."""

import re
from datetime import date, timedelta
from typing import Any

import pytest

from clinic.record import void
from tests.training.people_scene import TODAY, Scene, carried, founded, watched

pytestmark = pytest.mark.django_db


def get(signed_in: Any, scene: Scene, tail: str = "", who: str = "supervisor", whose: str = "assistant") -> Any:
    person = getattr(scene.cast, whose).person
    return signed_in(getattr(scene.cast, who)).get(f"/millbrook-lane/people/{person.pk}/{tail}")


def text(answer: Any) -> str:
    assert answer.status_code == 200, answer
    return " ".join(answer.content.decode().split())


def test_one_procedure_says_first_whether_the_work_may_be_done_alone(signed_in: Any, scene: Scene) -> None:
    carried(scene, scene.cast.assistant.person, "P01", date(2025, 6, 1))
    html = text(get(signed_in, scene, "P01/"))
    assert (
        'May work alone? <span class="answer">Yes, through 1 June 2025; then lapsed, because its validity ends.</span>'
        in html
    )


def test_untrained_is_no_with_the_day_it_is_due_by(signed_in: Any, scene: Scene) -> None:
    html = text(get(signed_in, scene, "P03/"))
    assert 'May work alone? <span class="answer">No: never signed, and no evidence yet.</span>' in html
    assert "Due by 6 April 2025." in html


def test_the_whole_page_counts_what_the_job_asks(signed_in: Any, scene: Scene) -> None:
    carried(scene, scene.cast.assistant.person, "P01", date(2025, 6, 1))
    html = text(get(signed_in, scene))
    assert '<span class="answer" data-counts="held asked">1 of 3</span> that this job needs.' in html
    assert "First to end: Hand care (P01). Yes, through 1 June 2025; then lapsed" in html


def test_on_another_day_the_page_says_what_was_so_that_day(signed_in: Any, scene: Scene) -> None:
    carried(scene, scene.cast.assistant.person, "P01", date(2025, 2, 1))
    assert "Yes, through 1 February 2025" in text(get(signed_in, scene, "P01/?day=1+Feb+2025"))
    lapsed = text(get(signed_in, scene, "P01/?day=2025-02-02"))
    assert "Only with somebody standing by: lapsed since" in lapsed
    assert "Lapsed since 2 February 2025" in lapsed


def test_a_day_that_cannot_be_read_is_refused_and_today_is_shown(signed_in: Any, scene: Scene) -> None:
    html = text(get(signed_in, scene, "?day=03/04"))
    assert "Write the day with the month’s name" in html
    assert "3 Mar 2025" in html


def test_days_ahead_say_that_nothing_more_is_assumed(signed_in: Any, scene: Scene) -> None:
    assert "if nothing more is recorded" in text(get(signed_in, scene, "P01/?day=1+May+2025"))


def test_the_board_names_every_missing_piece_at_once(signed_in: Any, scene: Scene) -> None:
    watched(scene, scene.cast.assistant.person, "P03", date(2025, 2, 3))
    html = text(get(signed_in, scene, "P03/"))
    for piece in (
        "One more assessment: one of two met.",
        "The knowledge check is not passed.",
        "Does not hold: clamping a block (P04).",
    ):
        assert piece in html


def test_every_fact_is_listed_and_one_put_right_says_so(signed_in: Any, scene: Scene) -> None:
    seen = watched(scene, scene.cast.assistant.person, "P03", date(2025, 2, 3))
    assert "Assessment, met; real work, watched by Ines Pellow" in text(get(signed_in, scene, "P03/"))
    void(seen, by=scene.cast.supervisor.person, reason="The wrong person was chosen.")
    html = text(get(signed_in, scene, "P03/"))
    assert "<del>Assessment, met" in html
    assert "Put right by a later fact." in html


def test_a_founding_grant_is_named_as_the_basis(signed_in: Any, scene: Scene) -> None:
    founded(scene, scene.cast.second.person, "P01")
    html = text(get(signed_in, scene, "P01/", whose="second"))
    assert "by a founding grant" in html
    assert "A visit in December." in html


def test_choosing_a_procedure_leads_to_its_page_on_the_same_day(signed_in: Any, scene: Scene) -> None:
    answer = get(signed_in, scene, "?procedure=P03&day=1+Feb+2025")
    assert answer.status_code == 302
    assert answer.url.endswith("/P03/?day=1+Feb+2025")


def test_everybody_sees_their_own_page(signed_in: Any, scene: Scene) -> None:
    assert "that your job needs" in text(get(signed_in, scene, who="assistant"))


@pytest.mark.parametrize("tail", ["", "P01/", "plan/"])
def test_an_assistant_does_not_see_somebody_else(signed_in: Any, scene: Scene, tail: str) -> None:
    assert get(signed_in, scene, tail, who="assistant", whose="supervisor").status_code == 404


@pytest.mark.parametrize("tail", ["", "P01/", "plan/"])
def test_somebody_of_another_site_does_not_exist_here(signed_in: Any, scene: Scene, tail: str) -> None:
    assert get(signed_in, scene, tail, whose="elsewhere").status_code == 404


def test_an_unknown_procedure_does_not_exist(signed_in: Any, scene: Scene) -> None:
    assert get(signed_in, scene, "P99/").status_code == 404


def test_nobody_is_offered_to_observe_or_sign_for_oneself(signed_in: Any, scene: Scene) -> None:
    html = text(get(signed_in, scene, "P01/", whose="supervisor"))
    assert "Sign off</a>" not in html
    assert "observe/begin/?person=" not in html


def test_what_grew_too_old_no_longer_counts_on_that_day(signed_in: Any, scene: Scene) -> None:
    watched(scene, scene.cast.assistant.person, "P01", TODAY - timedelta(days=30))
    assert "The evidence is enough to sign." in text(get(signed_in, scene, "P01/"))
    late = (TODAY + timedelta(days=400)).isoformat()
    assert "No evidence that counts today." in text(get(signed_in, scene, f"P01/?day={late}"))


def test_a_failed_check_is_nothing_that_a_learner_rests_on(signed_in: Any, scene: Scene) -> None:
    watched(scene, scene.cast.assistant.person, "P03", date(2025, 2, 3), outcome="not met")
    html = text(get(signed_in, scene, "P03/"))
    assert "Nothing that counts on this day." in html.split('id="rests"')[1].split("</section>")[0]


def test_a_procedure_that_there_is_not_leads_nowhere(signed_in: Any, scene: Scene) -> None:
    assert get(signed_in, scene, "?procedure=3+Mar+2025").status_code == 200


def test_what_is_wanted_in_months_is_no_alarm(signed_in: Any, scene: Scene) -> None:
    """A learner who may work alone for months sees what the next renewal wants folded and quiet; near its end, in red."""
    carried(scene, scene.cast.assistant.person, "P01", TODAY + timedelta(days=120))
    far = get(signed_in, scene, "P01/", who="assistant")
    assert far.context["page"].is_far and "What is wanted by then" in text(far)
    carried(scene, scene.cast.assistant.person, "P04", TODAY + timedelta(days=20))
    near = get(signed_in, scene, "P04/", who="assistant")
    assert not near.context["page"].is_far and "What is wanted by then" not in text(near)


def test_what_is_still_to_do_stands_open_and_what_is_good_is_folded(scene: Scene, signed_in: Any) -> None:
    carried(scene, scene.cast.assistant.person, "P01", TODAY + timedelta(days=120))
    page = signed_in(scene.cast.assistant).get("/millbrook-lane/procedures/")
    assert [row.procedure.code for row in page.context["held"]] == ["P01"]
    assert all(row.state != "current" for row in page.context["ahead"])
    assert 'Yours, and good: <span data-counts="procedure">1</span>' in page.content.decode()


def test_no_red_tray_stands_for_what_is_months_away(signed_in: Any, scene: Scene) -> None:
    carried(scene, scene.cast.assistant.person, "P01", date(2025, 6, 1))
    assert 'class="is-far"' in text(get(signed_in, scene, "P01/", "assistant"))
    assert 'class="is-far"' not in text(get(signed_in, scene, "P01/?day=20+May+2025", "assistant"))


@pytest.mark.parametrize(
    ("tail", "who", "does"),
    [
        ("", "supervisor", "Observe"),
        ("", "assistant", "Read the first procedure"),
        ("", "coordinator", "See the plan"),
        ("P03/", "supervisor", "Observe the first time"),
        ("P03/", "assistant", "Read it"),
    ],
)
def test_where_nothing_is_recorded_one_next_thing_is_offered_that_whoever_looks_may_do(
    signed_in: Any, scene: Scene, tail: str, who: str, does: str
) -> None:
    html = text(get(signed_in, scene, tail, who))
    (_, said) = html.split('<div class="empty">')
    link = re.search(r'<a class="button" href="([^"]+)">([^<]+)</a>', said.split("</div>")[0])
    assert link and link[2] == does
    assert signed_in(getattr(scene.cast, who)).get(link[1].replace("&amp;", "&")).status_code == 200
