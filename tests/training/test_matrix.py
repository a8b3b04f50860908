"""People by procedures on any day, as known at any instant; each cell leads to its cause."""

import csv
from datetime import timedelta
from typing import Any

import pytest

from clinic.record import void
from clinic.workbooks import lines_of
from tests.cast import REGISTER_START
from tests.training.people_scene import TODAY, Scene, carried, noon, watched
from training.reads.matrix import squares, told
from training.rules.facts import State

PAGE = "/millbrook-lane/people/matrix/"


def state(scene: Scene, day: Any = TODAY, known_by: Any = None) -> State:
    found = squares(scene.cast.lane, day, known_by)
    return found.at(scene.cast.assistant.person, scene.procedures["P01"]).state


def test_a_past_day_shows_what_was_so_then(scene: Scene) -> None:
    watched(scene, scene.cast.assistant.person, "P01", TODAY)
    assert (state(scene), state(scene, TODAY - timedelta(days=1))) == (State.READY, State.UNTRAINED)


def test_as_known_earlier_a_later_correction_is_not_known(scene: Scene) -> None:
    with noon(REGISTER_START + timedelta(days=1)):
        paper = carried(scene, scene.cast.assistant.person, "P01", TODAY + timedelta(days=50))
    with noon(TODAY - timedelta(days=1)):
        void(paper, by=scene.cast.coordinator.person, reason="The paper names somebody else.")
    before = paper.recorded_at
    assert (state(scene), state(scene, TODAY, before)) == (State.UNTRAINED, State.CURRENT)


def test_what_no_longer_holds_is_counted_in_a_sentence(scene: Scene) -> None:
    assert told(squares(scene.cast.lane, TODAY)).amiss == {}
    carried(scene, scene.cast.assistant.person, "P01", TODAY + timedelta(days=5))
    assert told(squares(scene.cast.lane, TODAY + timedelta(days=6))).amiss == {"lapsed": 1}


def test_the_stored_spans_and_the_rules_agree(scene: Scene) -> None:
    carried(scene, scene.cast.assistant.person, "P01", TODAY + timedelta(days=50))
    watched(scene, scene.cast.assistant.person, "P04", TODAY)
    scene.cast.lane.refresh_from_db()
    at = (scene.cast.lane, TODAY)
    assert squares(*at).squares == squares(*at, scene.cast.lane.last_recorded_at).squares


def cell(signed_in: Any, scene: Scene, day: str, who: str = "coordinator") -> Any:
    person = scene.cast.assistant.person.pk
    return signed_in(getattr(scene.cast, who)).get(f"{PAGE}{person}/P01/{day}/")


def test_a_cell_leads_to_the_fact_that_caused_it(signed_in: Any, scene: Scene) -> None:
    fact = carried(scene, scene.cast.assistant.person, "P01", TODAY + timedelta(days=50))
    assert cell(signed_in, scene, TODAY.isoformat()).url == f"/millbrook-lane/facts/{fact.pk}/"


def test_where_time_caused_it_a_cell_leads_to_the_page_of_the_procedure(signed_in: Any, scene: Scene) -> None:
    carried(scene, scene.cast.assistant.person, "P01", TODAY + timedelta(days=5))
    person = scene.cast.assistant.person.pk
    answer = cell(signed_in, scene, (TODAY + timedelta(days=6)).isoformat())
    assert answer.url == f"/millbrook-lane/people/{person}/P01/?day=2025-03-09"


@pytest.mark.parametrize("day", ["yesterday", "2025-02-30"])
def test_a_day_that_is_none_does_not_exist(signed_in: Any, scene: Scene, day: str) -> None:
    assert cell(signed_in, scene, day).status_code == 404


def test_only_whoever_reads_the_site_sees_the_matrix(signed_in: Any, scene: Scene) -> None:
    assert signed_in(scene.cast.assistant).get(PAGE).status_code == 403
    assert signed_in(scene.cast.elsewhere).get(PAGE).status_code == 404
    assert cell(signed_in, scene, TODAY.isoformat(), who="assistant").status_code == 403


def test_a_day_that_cannot_be_read_is_refused_in_place(signed_in: Any, scene: Scene) -> None:
    text = signed_in(scene.cast.coordinator).get(f"{PAGE}?day=03/04").content.decode()
    assert "Write the day with the month’s name" in text


def narrow(signed_in: Any, scene: Scene, query: str) -> Any:
    return signed_in(scene.cast.coordinator).get(PAGE + query)


def test_the_matrix_is_narrowed_by_role_state_and_procedure_at_an_address_of_its_own(
    signed_in: Any, scene: Scene
) -> None:
    carried(scene, scene.cast.assistant.person, "P01", TODAY + timedelta(days=50))
    page = narrow(signed_in, scene, "?state=current").context
    assert [row["name"] for row in page["matrix"]["rows"]] == [scene.cast.assistant.person.printed_name]
    assert [column["code"] for column in page["matrix"]["columns"]] == ["P01"]
    shown = narrow(signed_in, scene, "?procedure=P03&role=dental+assistant")
    assert [column["code"] for column in shown.context["matrix"]["columns"]] == ["P03"]
    assert all("dental assistant" in row["small"] for row in shown.context["matrix"]["rows"])
    assert "role=dental+assistant" in shown.context["later"] and "1 of " in shown.content.decode()


def test_what_nobody_is_in_shows_nothing_and_breaks_nothing(signed_in: Any, scene: Scene) -> None:
    page = narrow(signed_in, scene, "?state=withdrawn&role=nobody&procedure=P99")
    assert (page.status_code, page.context["matrix"]["rows"]) == (200, [])


def test_what_is_shown_goes_out_as_a_file_with_a_line_for_each_square(signed_in: Any, scene: Scene) -> None:
    carried(scene, scene.cast.assistant.person, "P01", TODAY + timedelta(days=50))
    rows = narrow(signed_in, scene, "").context["matrix"]["rows"]
    answer = narrow(signed_in, scene, "?csv=1")
    heads, *lines = answer.content.decode().splitlines()
    assert heads.startswith("person,staff_number,job_roles,procedure,title,standing,ends_on")
    assert len(lines) == sum(cell is not None for row in rows for cell in row["cells"])
    assert any(",P01,Hand care,current," in line for line in lines)


def test_the_workbook_says_what_the_file_says(signed_in: Any, scene: Scene) -> None:
    carried(scene, scene.cast.assistant.person, "P01", TODAY + timedelta(days=50))
    lines = lines_of(narrow(signed_in, scene, "?xlsx=1").content)
    file = list(csv.reader(narrow(signed_in, scene, "?csv=1").content.decode().splitlines()))
    assert lines == file and len(lines) > 3
    assert "xlsx=1" in narrow(signed_in, scene, "?role=dental+assistant").context["as_workbook"]
