"""A prepared question answers what its query set does, for any keys, and on both databases."""

from contextlib import suppress
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext

from clinic.models import Appointment, Change, Person
from clinic.prepared import MOST, Instances, Made, Prepared, filled, remembered
from tests.cast import Cast

NAMES = Prepared(
    lambda people, families: (
        Person.objects.filter(pk__in=people, **({} if families is None else {"family_name__in": families}))
        .order_by("pk")
        .values_list("pk", "given_name", "last_day", "home_site__name")
    )
)
CHANGES = Prepared(
    lambda site: Change.objects.live().filter(site__in=site).order_by("pk").values_list("pk", "recorded_at", "after")
)


def plainly(question: Prepared, **keys: Any) -> list[Any]:
    return list(question.query(**keys))


def test_it_answers_what_the_query_set_answers_for_any_number_of_keys(cast: Cast) -> None:
    people = list(Person.objects.values_list("pk", flat=True).order_by("pk"))
    for number in range(1, len(people) + 1):
        asked = people[:number]
        assert list(NAMES.rows(people=asked, families=None)) == plainly(NAMES, people=asked, families=None)
    families = [cast.owner.person.family_name, "Nobody’s name"]
    assert list(NAMES.rows(people=people, families=families)) == plainly(NAMES, people=people, families=families)


def test_instants_and_json_come_as_the_query_set_gives_them(cast: Cast) -> None:
    found = list(CHANGES.rows(site=[cast.lane.pk]))
    assert found and found == plainly(CHANGES, site=[cast.lane.pk])
    assert all(isinstance(key, UUID) and at.tzinfo and isinstance(after, dict) for key, at, after in found)


def test_days_and_instants_are_keys_too(cast: Cast) -> None:
    since = Prepared(
        lambda day, at: (
            Change.objects.filter(happened_on__gte=day[0], recorded_at__lte=at[0]).order_by("pk").values_list("pk")
        )
    )
    rows = Change.objects.order_by("recorded_at").values_list("happened_on", "recorded_at")
    for day, at in (rows[0], rows[len(rows) // 2]):
        assert list(since.rows(day=[day], at=[at])) == plainly(since, day=[day], at=[at]) != []


def test_as_known_by_an_instant_it_is_asked_as_django_asks_it(cast: Cast) -> None:
    known = Prepared(
        lambda site, known_by=None: Change.objects.live(known_by).filter(site__in=site).order_by("pk").values_list("pk")
    )
    first = Change.objects.order_by("recorded_at").values_list("recorded_at", flat=True)[0]
    assert len(list(known.rows(first, site=[cast.lane.pk]))) <= 1 < len(list(known.rows(site=[cast.lane.pk])))


def test_rows_come_as_instances_that_are_saved_already(cast: Cast) -> None:
    people = Instances(Person, lambda keys: Person.objects.filter(pk__in=keys))
    (found,) = people.all(keys=[cast.owner.person.pk])
    assert found == cast.owner.person and not found._state.adding
    names = [column.attname for column in Person._meta.concrete_fields]
    assert {name: getattr(found, name) for name in names} == {name: getattr(cast.owner.person, name) for name in names}


def test_the_rows_that_are_joined_to_an_instance_come_with_it(cast: Cast) -> None:
    people = Instances(
        Person, lambda keys: Person.objects.filter(pk__in=keys).select_related("home_site__organisation").defer("email")
    )
    with CaptureQueriesContext(connection) as statements:
        (found,) = people.all(keys=[cast.owner.person.pk])
        home = found.home_site, found.home_site.organisation
    assert home == (cast.owner.person.home_site, cast.owner.person.organisation)
    assert len(statements) == 1 and found.get_deferred_fields() == {"email"}
    assert found.email == cast.owner.person.email


def test_where_no_row_is_joined_there_is_none(cast: Cast) -> None:
    posts = Instances(Appointment, lambda people: Appointment.objects.filter(person__in=people).select_related("site"))
    with CaptureQueriesContext(connection) as statements:
        (found,) = posts.all(people=[cast.owner.person.pk])
        assert found.site is None
    assert len(statements) == 1


def test_each_answer_is_asked_of_the_database_anew(cast: Cast) -> None:
    asked = {"people": [cast.owner.person.pk], "families": None}
    list(NAMES.rows(**asked))
    Person.objects.filter(pk=cast.owner.person.pk).update(given_name="Wilhelmina")
    with CaptureQueriesContext(connection) as statements:
        (row,) = NAMES.rows(**asked)
    assert row[1] == "Wilhelmina" and len(statements) == 1


def test_no_key_is_no_answer_and_no_question(cast: Cast) -> None:
    with CaptureQueriesContext(connection) as statements:
        assert (
            list(NAMES.rows(people=[], families=None))
            == list(NAMES.rows(people=[cast.owner.person.pk], families=[]))
            == []
        )
    assert len(statements) == 0


def test_very_many_keys_are_asked_as_django_asks_them(cast: Cast) -> None:
    many = [cast.owner.person.pk, *(uuid4() for _ in range(MOST))]
    assert [row[0] for row in NAMES.rows(people=many, families=None)] == [cast.owner.person.pk]


def test_numbers_of_keys_are_few_and_repeat_the_last() -> None:
    assert filled([1, 2, 3]) == [1, 2, 3, 3]
    assert {len(filled(list(range(number)))) for number in range(1, 65)} == {1, 2, 4, 8, 16, 32, 64}


def test_a_key_that_the_query_set_does_not_use_is_refused(cast: Cast) -> None:
    unused = Prepared(lambda people: Person.objects.values_list("pk"))
    with pytest.raises(ValueError, match="not among the values"):
        unused.rows(people=[cast.owner.person.pk])


def test_what_was_asked_is_not_asked_again_until_its_table_is_written(cast: Cast) -> None:
    who = cast.owner.person

    def asked() -> tuple[int, list[Any]]:
        with CaptureQueriesContext(connection) as seen:
            rows = list(NAMES.rows(people=[who.pk], families=None))
        return len(seen), rows

    with remembered():
        assert [asked()[0] for _ in range(3)] == [1, 0, 0]
        assert asked()[1] == plainly(NAMES, people=[who.pk], families=None)
        list(CHANGES.rows(site=[cast.lane.pk]))
        cast.lane.save(update_fields=["last_position"])
        assert asked()[0] == 1, "the name of their site stands in the answer"
        Person.objects.filter(pk=who.pk).update(given_name="Hesper")
        assert asked()[1][0][1] == "Hesper" and asked()[0] == 0
        with suppress(ValueError), transaction.atomic():
            Person.objects.filter(pk=who.pk).update(given_name="Nobody")
            assert asked()[1][0][1] == "Nobody"
            raise ValueError
        assert asked()[1][0][1] == "Hesper"
    assert [asked()[0] for _ in range(2)] == [1, 1]


def test_once_a_row_was_waited_for_all_is_asked_anew(cast: Cast) -> None:
    """Whoever held it may have recorded. Where one connection writes at a time, nobody else can have."""
    waits = connection.features.has_select_for_update
    held = Instances(Person, lambda keys: Person.objects.filter(pk__in=keys).select_for_update(no_key=True))
    with remembered(), CaptureQueriesContext(connection) as seen:
        for _ in range(2):
            list(NAMES.rows(people=[cast.owner.person.pk], families=None))
            held.all(keys=[cast.assistant.person.pk])
    assert len(seen) == (3 if waits else 2), "the lock itself is remembered"


def test_a_block_inside_another_remembers_with_it(cast: Cast) -> None:
    with remembered(), CaptureQueriesContext(connection) as seen:
        for _ in range(2):
            with remembered():
                list(CHANGES.rows(site=[cast.lane.pk]))
    assert len(seen) == 1


def test_what_is_made_of_rows_is_made_anew_only_when_they_are_others(cast: Cast) -> None:
    made: list[int] = []

    def in_capitals(rows: Any, people: Any) -> dict[Any, str]:
        made.append(len(people))
        return {pk: name.upper() for pk, name in rows}

    names = Made(
        lambda people: Person.objects.filter(pk__in=people).order_by("pk").values_list("pk", "given_name"), in_capitals
    )
    who = cast.owner.person
    first = names.of(people=[who.pk])
    assert names.of(people=[who.pk]) is first and made == [1]
    assert {*names.of(people=[who.pk, cast.assistant.person.pk])} == {who.pk, cast.assistant.person.pk}
    Person.objects.filter(pk=who.pk).update(given_name="Hesper")
    assert names.of(people=[who.pk]) == {who.pk: "HESPER"} != first
    with remembered():
        assert names.of(people=[who.pk]) == {who.pk: "HESPER"}
    assert names.of(people=[]) == {}
