"""What to watch this week: proposed by who is at work, who has authority and whose sign-off ends."""

from datetime import timedelta
from typing import Any

from clinic.models import Absence
from clinic.permissions import Allowed
from tests.training.people_scene import TODAY, Scene, carried, watched
from training.models import StandingSpan
from training.reads.mending import ways_to_unblock
from training.reads.week import Week, week_of
from training.rules.evidence import Piece, PieceKind

PAGE = "/millbrook-lane/observe/week/"


def week(scene: Scene) -> Week:
    return week_of(scene.cast.lane, TODAY)


def assistant_ends(scene: Scene, code: str = "P01", days: int = 3) -> None:
    carried(scene, scene.cast.assistant.person, code, TODAY + timedelta(days=days))


def away(who: Any, days: int) -> None:
    Absence.objects.create(person=who.person, from_day=TODAY, to_day=TODAY + timedelta(days=days))


def test_whoever_lapses_is_watched_by_somebody_with_authority_on_a_day_both_are_at_work(scene: Scene) -> None:
    assistant_ends(scene)
    away(scene.cast.assistant, 1)
    (line,) = week(scene).of(scene.cast.supervisor.person)
    assert (line.day, str(line.ends.span.person)) == (TODAY + timedelta(days=2), "Wren Adeyemi")


def test_who_ends_later_than_four_weeks_is_not_looked_at(scene: Scene) -> None:
    assistant_ends(scene, days=29)
    assert week(scene).lines == ()


def test_what_is_not_saved_is_named_with_the_reason(scene: Scene) -> None:
    assistant_ends(scene)
    away(scene.cast.supervisor, 9)
    (left,) = week(scene).left
    assert left.why.startswith("Nobody with authority for it is at work together with them by then.")


def test_what_no_watching_supplies_is_named(scene: Scene) -> None:
    for code in ("P01", "P04"):
        assistant_ends(scene, code, days=60)
    assistant_ends(scene, "P03")
    (left,) = week(scene).left
    assert left.why == "No watching saves it: The knowledge check is not passed."


def test_where_all_the_evidence_is_there_only_the_signature_is_missing(scene: Scene) -> None:
    assistant_ends(scene)
    watched(scene, scene.cast.assistant.person, "P01", TODAY)
    assert [ends.says for ends in week(scene).to_sign] == ["all the evidence is there: it can be signed"]


def test_what_rests_on_it_counts_with_it_and_has_no_line_of_its_own(scene: Scene) -> None:
    assistant_ends(scene)
    assistant_ends(scene, "P04", days=60)
    (line,) = week(scene).lines
    assert line.ends.need is not None and line.ends.need.lapses == 2
    assert line.ends.says.endswith("; one other sign-off rests on it")


def test_the_page_shows_mine_first_and_leads_to_observing(signed_in: Any, scene: Scene) -> None:
    assistant_ends(scene)
    text = signed_in(scene.cast.supervisor).get(PAGE).content.decode()
    assert "For you" in text
    assert f"/observe/begin/?person={scene.cast.assistant.person.pk}&amp;procedure=P01" in text


def test_whoever_only_reads_sees_what_the_supervisors_watch(signed_in: Any, scene: Scene) -> None:
    assistant_ends(scene)
    text = signed_in(scene.cast.coordinator).get(PAGE).content.decode()
    assert "Ines Pellow watches Wren Adeyemi, Hand care (P01)" in text
    assert "For you" not in text


def test_an_empty_week_says_so(signed_in: Any, scene: Scene) -> None:
    assert (
        "Nothing</span> needs to be watched this week." in signed_in(scene.cast.supervisor).get(PAGE).content.decode()
    )


def test_only_whoever_reads_the_site_sees_it(signed_in: Any, scene: Scene) -> None:
    assert signed_in(scene.cast.assistant).get(PAGE).status_code == 403
    assert signed_in(scene.cast.elsewhere).get(PAGE).status_code == 404


def test_what_no_watching_saves_has_the_button_of_what_does(scene: Scene, signed_in: Any) -> None:
    for code in ("P01", "P04"):
        assistant_ends(scene, code, days=60)
    assistant_ends(scene, "P03")
    (left,) = week(scene).left
    check = f"/millbrook-lane/people/{scene.cast.assistant.person.pk}/P03/"
    page = signed_in(scene.cast.supervisor).get(PAGE).content.decode()
    assert left.ends.blocks and f'href="{check}">See the check of Wren' in page
    mine = ways_to_unblock(left.ends.span, left.ends.blocks, Allowed(scene.cast.assistant.person), scene.cast.lane)
    assert mine == [("Take the check", "/millbrook-lane/procedures/P03/check/")]


def test_what_rests_on_something_that_does_not_hold_leads_there(scene: Scene) -> None:
    assistant_ends(scene, "P04")
    span = (
        week(scene).left[0].ends.span if week(scene).left else StandingSpan.objects.on(TODAY).get(procedure__code="P04")
    )
    blocks = [Piece(PieceKind.PREREQUISITES, 1, 0, 1, missing=("P01",))]
    watcher = Allowed(scene.cast.supervisor.person)
    ((words, where),) = ways_to_unblock(span, blocks, watcher, scene.cast.lane)
    assert words == "Observe P01" and where.endswith(f"?person={span.person_id}&procedure=P01")
