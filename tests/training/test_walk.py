"""The walk round: every question at every unit, answered where one stands, each answer with who and when."""

from dataclasses import replace
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from clinic import clock
from clinic.forms.tables import TableForm
from clinic.models import SiteFact, SiteFactValue
from clinic.rules.site_text import does_not_fit
from clinic.tables import TablePlace
from tests.cast import Cast
from tests.tables import filled_in, uploaded, words
from tests.training.teaching import give_authority, put_in_force
from training.reads.library import walk_examples
from training.reads.walk import FactSquare, walk_round
from training.site_fact_table import SiteFactTable

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def the_walked(the_cast: Cast, django_db_blocker: Any) -> Cast:
    with django_db_blocker.unblock():
        put_in_force(the_cast, "P01", "P03")
        give_authority(the_cast, "P01")
    return the_cast


@pytest.fixture
def walked(the_walked: Cast, cast: Cast) -> Cast:
    return cast


def square(cast: Cast, name: str) -> FactSquare:
    asked = walk_round(cast.lane, clock.today("Europe/London"))
    return next(square for each in asked for square in each.squares if square.fact.name == name)


def answer(client: Any, cast: Cast, question: int = 1, submission: str = "", **said: str) -> Any:
    """`said` by the name of the fact, with _ for spaces."""
    data = {"submission": submission or str(uuid4())}
    for fact in SiteFact.objects.filter(question=question):
        here = square(cast, fact.name)
        now = here.value
        data[here.name] = said.get(fact.name.replace(" ", "_"), now.value if now else "")
        if said.get(f"not_{fact.name.replace(' ', '_')}") or (now and now.not_used):
            data[f"{here.name}-not"] = "on"
    return client.post(f"{reverse('training:walk_answer', args=[cast.lane.code])}?question={question}", data)


def test_there_are_fourteen_questions_asked_of_every_unit_of_the_right_kind(walked: Cast) -> None:
    asked = walk_round(walked.lane, clock.today("Europe/London"))
    assert [each.question.number for each in asked] == list(range(1, 15))
    assert {s.unit for s in asked[0].squares} == {walked.unit}
    assert square(walked, "power cut-off").unit is None


def test_an_answer_stands_with_who_and_when_and_where_it_is_used(walked: Cast, signed_in: Any) -> None:
    client = signed_in(walked.supervisor)
    assert answer(client, walked, stop_control="the red button, left").url.endswith("?question=2")
    shown = " ".join(client.get(reverse("training:walk", args=[walked.lane.code])).content.decode().split())
    assert 'the red button, left</span> <span class="small quiet">Ines Pellow, ' in shown
    assert "used in P01" in shown


def test_a_page_sent_again_with_another_answer_keeps_the_first_and_says_so(walked: Cast, signed_in: Any) -> None:
    client, once = signed_in(walked.supervisor), str(uuid4())
    answer(client, walked, submission=once, stop_control="the red button, left")
    shown = answer(client, walked, submission=once, stop_control="the red button, right").content.decode()
    assert "already recorded, with other content" in shown and "the red button, right" in shown
    assert square(walked, "stop control").value.value == "the red button, left"  # type: ignore[union-attr]


def test_what_is_missing_is_counted_and_listed(walked: Cast, signed_in: Any) -> None:
    client, address = signed_in(walked.assistant), reverse("training:walk", args=[walked.lane.code])
    before = client.get(address).content.decode().count("not filled in yet")
    answer(signed_in(walked.supervisor), walked, stop_control="the red button, left")
    shown = client.get(address).content.decode()
    assert (
        shown.count("not filled in yet") == before - 1
        and f"{before - 1} of {before} answers</span> are missing" in shown
    )


def test_only_what_is_new_is_recorded_and_the_earlier_answer_stays(walked: Cast, signed_in: Any) -> None:
    client = signed_in(walked.supervisor)
    answer(client, walked, stop_control="the red button", stopped_sign="the lamp is out")
    answer(client, walked, stop_control="the red button, left")
    values = SiteFactValue.objects.filter(site_fact__name="stop control").in_order()
    assert [row.value for row in values] == ["the red button", "the red button, left"]
    assert SiteFactValue.objects.count() == 3


def test_the_same_answer_sent_twice_is_one(walked: Cast, signed_in: Any) -> None:
    client, submission = signed_in(walked.supervisor), str(uuid4())
    for _ in range(2):
        answer(client, walked, submission=submission, stop_control="the red button")
    assert SiteFactValue.objects.count() == 1


def test_not_used_here_is_an_answer(walked: Cast, signed_in: Any) -> None:
    answer(signed_in(walked.supervisor), walked, not_remote_start="yes")
    assert (SiteFactValue.objects.get().not_used, square(walked, "remote start").value is None) == (True, False)


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"stop_control": "the red button", "not_stop_control": "yes"}, "not both"),
        ({"stopped_sign": ""}, "An answer cannot be emptied"),
    ],
)
def test_what_contradicts_itself_keeps_everything_typed(
    walked: Cast, signed_in: Any, said: dict[str, str], words: str
) -> None:
    client = signed_in(walked.supervisor)
    answer(client, walked, stopped_sign="the lamp is out")
    shown = answer(client, walked, **said, remote_start="from the office").content.decode()
    assert words in shown and "from the office" in shown and SiteFactValue.objects.count() == 1


def test_an_assistant_reads_the_walk_and_answers_nothing(walked: Cast, signed_in: Any) -> None:
    client = signed_in(walked.assistant)
    assert client.get(reverse("training:walk", args=[walked.lane.code])).status_code == 200
    assert answer(client, walked, stop_control="the red button").status_code == 403


def test_a_question_that_is_not_asked_is_not_there(walked: Cast, signed_in: Any) -> None:
    address = reverse("training:walk_answer", args=[walked.lane.code])
    assert signed_in(walked.supervisor).get(f"{address}?question=15").status_code == 404


def test_the_walk_costs_the_same_however_much_is_answered(
    walked: Cast, signed_in: Any, django_assert_max_num_queries: Any
) -> None:
    client, address = signed_in(walked.supervisor), reverse("training:walk", args=[walked.lane.code])
    answer(client, walked, stop_control="the red button")
    with CaptureQueriesContext(connection) as few:
        client.get(address)
    asked = len(few)
    answer(client, walked, stopped_sign="the lamp is out", remote_start="nowhere")
    with django_assert_max_num_queries(asked):
        assert client.get(address).status_code == 200


@pytest.mark.parametrize(
    ("answer_typed", "why"), [("The red button", "Begin small, “the”"), ("the red button.", "Leave the full stop out")]
)
def test_an_answer_that_would_not_read_well_is_refused_and_kept(
    walked: Cast, signed_in: Any, answer_typed: str, why: str
) -> None:
    shown = answer(signed_in(walked.supervisor), walked, stop_control=answer_typed).content.decode()
    assert why in shown and answer_typed in shown and not SiteFactValue.objects.exists()


def test_a_fact_is_asked_in_its_sentence_with_an_example_that_fits(walked: Cast, signed_in: Any) -> None:
    page = signed_in(walked.supervisor).get(f"{reverse('training:walk_answer', args=[walked.lane.code])}?question=1")
    shown = page.content.decode()
    assert "For example: the red knob left of the door" in shown
    assert square(walked, "stop control").around == ("Point to ", ".")
    assert 'data-example="the red knob left of the door">the red knob left of the door</output>' in shown


def test_every_example_of_the_library_fits() -> None:
    assert {name: does_not_fit(example) for name, example in walk_examples().items() if does_not_fit(example)} == {}
    assert all(walk_examples().values())


TABLE = "/millbrook-lane/people/roster/going-live/site-facts/"


def fact_table(cast: Cast) -> SiteFactTable:
    return SiteFactTable(TablePlace(cast.lane, clock.today("Europe/London"), cast.coordinator.person))


def test_answers_are_recorded_together_in_a_table_and_what_is_empty_stays_open(walked: Cast, signed_in: Any) -> None:
    table = fact_table(walked)
    first, second = [table.about(line) for line in table.lines([])][:2]
    data = filled_in(table, {first: {"answer": "the red key, on the left"}, second: {"not_used": True}})
    assert signed_in(walked.coordinator).post(TABLE, data).status_code == 302
    said = SiteFactValue.objects.values_list("value", "not_used", "recorded_by")
    assert sorted(said) == [
        ("", True, walked.coordinator.person.pk),
        ("the red key, on the left", False, walked.coordinator.person.pk),
    ]
    assert len(fact_table(walked).lines([])) == len(table.lines([])) - 2


def test_an_answer_that_fits_no_sentence_is_refused_at_its_cell_and_saves_none(walked: Cast, signed_in: Any) -> None:
    table = fact_table(walked)
    first, second = [table.about(line) for line in table.lines([])][:2]
    data = filled_in(table, {first: {"answer": "the red key"}, second: {"answer": "the blue one", "not_used": True}})
    html = words(signed_in(walked.coordinator).post(TABLE, data))
    assert "It is answered and not used here at once. Keep one of them." in html and "the red key" in html
    assert not SiteFactValue.objects.exists()


def test_of_the_table_only_the_next_open_question_is_unfolded_until_it_is_answered(walked: Cast) -> None:
    """Every place and question has a head, each line stands under one, and one of each is open."""
    table = fact_table(walked)
    form = TableForm(table, table.lines([]), {}, read=False)
    parts = [part for fold in form.folds for part in fold.parts]
    assert sum(len(part.rows) for part in parts) == len(table.lines([]))
    assert [part.is_open for part in parts] == [True] + [False] * (len(parts) - 1)
    first = {table.about(line): line for line in table.lines([])}
    answered = [
        replace(line, values={**line.values, "answer": "here"})
        if name in {row.called for row in parts[0].rows}
        else line
        for name, line in first.items()
    ]
    later = [part for fold in TableForm(table, answered, {}, read=True).folds for part in fold.parts]
    assert [part.is_open for part in later][:3] == [False, True, False]


def test_a_fault_opens_its_fold(walked: Cast, signed_in: Any) -> None:
    table = fact_table(walked)
    last = table.about(table.lines([])[-1])
    data = filled_in(table, {last: {"answer": "the blue one", "not_used": True}})
    folds = signed_in(walked.coordinator).post(TABLE, data).context["form"].folds
    wrong = [part for fold in folds for part in fold.parts if any(row.is_wrong for row in part.rows)]
    assert len(wrong) == 1 and wrong[0].is_open
    assert all(fold.is_open for fold in folds if wrong[0] in fold.parts)


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_the_sample_of_the_table_loads_as_it_is(walked: Cast, signed_in: Any, kind: str) -> None:
    client = signed_in(walked.coordinator)
    html = words(client.post(TABLE, uploaded(client.get(f"{TABLE}?as={kind}&sample=yes").content, f"sample.{kind}")))
    assert f"{len(fact_table(walked).lines([]))} lines would be recorded. Nothing is saved yet." in html
