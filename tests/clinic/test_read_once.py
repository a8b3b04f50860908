"""Rows for one paper: as the query set gives them, and what they name read once, whoever names it."""

from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from clinic.models import Person, UpkeepEntry, UpkeepTask
from clinic.read_once import ReadOnce, read
from clinic.record import record
from tests.cast import Cast

pytestmark = pytest.mark.django_db


@pytest.fixture
def entries(cast: Cast) -> list[UpkeepEntry]:
    """Three of one task, two of them by the same person, one with somebody beside."""
    task = UpkeepTask.objects.create(code="U90", title="Chamber clean", equipment_kind="milling unit", every_days=9)
    by, near = cast.assistant.person, cast.supervisor.person
    return [
        record(
            UpkeepEntry(
                site=cast.lane, happened_on=cast.lane.register_start + timedelta(days=day), task=task, equipment=cast.unit,
                done_by=who, stood_by=beside, readings={"ml": day, "seen": ["“dull”"]}, note=f"Note {day}",
            ),
            by=who,
        )
        for day, who, beside in ((1, by, None), (2, near, None), (3, by, near))
    ]  # fmt: skip


def queries(act: Any) -> int:
    with CaptureQueriesContext(
        connection,
    ) as asked:
        act()
    return len(asked)


def test_every_value_is_that_of_the_query_set_in_its_order(entries: list[UpkeepEntry]) -> None:
    newest_first = UpkeepEntry.objects.filter(task__code="U90").order_by("-happened_on")
    columns = [field.attname for field in UpkeepEntry._meta.concrete_fields]
    told = [[getattr(row, name) for name in columns] for row in read(newest_first)]
    assert told == [[getattr(row, name) for name in columns] for row in newest_first] and len(told) == 3


def test_what_is_named_is_read_once_whoever_names_it_and_costs_nothing_to_ask(entries: list[UpkeepEntry]) -> None:
    paper, asked = ReadOnce(), UpkeepEntry.objects.filter(task__code="U90").order_by("happened_on")
    names = ("task", "done_by__home_site", "stood_by")
    assert queries(lambda: paper.rows(asked, *names)) == 4, "The rows, the task, both people, their home."
    assert queries(lambda: paper.rows(asked, *names)) == 1
    rows = paper.rows(asked, *names)
    assert queries(lambda: [(str(row.task), str(row.done_by), row.stood_by and str(row.stood_by)) for row in rows]) == 0
    assert [(row.done_by_id, row.stood_by_id) for row in rows] == [
        (row.done_by.pk, row.stood_by.pk if row.stood_by else None) for row in entries
    ]
    assert rows[0].done_by is rows[2].done_by and rows[0].stood_by is None
    assert queries(lambda: [row.done_by.home_site.name for row in rows]) == 0


def test_what_is_at_hand_is_not_read(entries: list[UpkeepEntry], cast: Cast) -> None:
    paper, asked = ReadOnce(cast.lane), UpkeepEntry.objects.filter(task__code="U90")
    assert queries(lambda: paper.rows(asked, "site")) == 1
    assert {id(row.site) for row in paper.rows(asked, "site")} == {id(cast.lane)}


def test_a_column_at_which_nobody_looks_is_left_and_read_if_somebody_does(entries: list[UpkeepEntry]) -> None:
    (row,) = read(UpkeepEntry.objects.filter(pk=entries[0].pk), without=("readings", "note"))
    assert row.get_deferred_fields() == {"readings", "note"} and row.happened_on == entries[0].happened_on
    assert row.note == "Note 1"


def test_by_key_each_is_there_once_and_nothing_is_asked_twice(cast: Cast) -> None:
    paper, who = ReadOnce(), cast.assistant.person
    assert paper.keyed(Person, [who.pk, who.pk], "home_site") == {who.pk: who}
    assert queries(lambda: paper.keyed(Person, {who.pk}, "home_site")) == 0
    assert paper.keyed(Person, ()) == {}


def test_a_question_that_names_nobody_has_no_rows() -> None:
    assert queries(lambda: read(Person.objects.filter(pk__in=[]))) == 0
    assert ReadOnce().rows(Person.objects.filter(pk__in=[]), "home_site") == []
