"""A prepared question answers what its query set does, for any keys, and on both databases."""

from contextlib import suppress
from datetime import date, datetime, timedelta
from gc import collect
from typing import Any
from uuid import UUID, uuid4
from weakref import ref

import pytest
from django.db import connection, transaction
from django.db.models import Model
from django.test.utils import CaptureQueriesContext

from clinic.models import Appointment, Change, Incident, Person, Seal
from clinic.prepared import CORRECTED, MOST, Instances, Made, Prepared, Still, filled, instant_read, made_of, remembered
from clinic.record import holding, record
from clinic.written import Table, add_row
from tests.cast import Cast
from training.models import FindingSpan

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


@pytest.mark.parametrize(
    "given", ["2026-03-29 01:30:00.5", "2026-03-29 01:30:00+01:00", datetime.fromisoformat("2026-03-29 01:30")]
)
def test_an_instant_is_read_as_django_reads_it_and_holds_no_connection(given: Any) -> None:
    other = connection.copy()
    read = instant_read(given, None, other)
    if connection.vendor == "sqlite":
        assert read == other.ops.convert_datetimefield_value(given, None, other)
    assert read.tzinfo
    held = ref(other)
    del other
    collect()
    assert held() is None


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
    by_django = Person.objects.get(pk=found.pk)
    kept, theirs = dict(vars(found)), dict(vars(by_django))
    states = [(state.adding, state.db, state.fields_cache) for state in (kept.pop("_state"), theirs.pop("_state"))]
    assert kept == theirs and states[0] == states[1]
    assert found.home_site == by_django.home_site


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


def test_questions_that_differ_in_a_value_alone_are_two_that_are_remembered(cast: Cast) -> None:
    def called(name: str) -> Prepared:
        return Prepared(lambda people: Person.objects.filter(pk__in=people, given_name=name).values_list("pk"))

    who = cast.owner.person
    hers, nobodys = called(who.given_name), called("Nobody")
    with remembered():
        assert list(hers.rows(people=[who.pk])) == [(who.pk,)]
        assert list(nobodys.rows(people=[who.pk])) == []


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
        assert asked()[0] == 0, "where the record of their site ends does not stand in the answer"
        cast.lane.save(update_fields=["name"])
        assert asked()[0] == 1, "the name of their site does"
        Person.objects.filter(pk=who.pk).update(given_name="Hesper")
        assert asked()[1][0][1] == "Hesper" and asked()[0] == 0
        with suppress(ValueError), transaction.atomic():
            Person.objects.filter(pk=who.pk).update(given_name="Nobody")
            assert asked()[1][0][1] == "Nobody"
            raise ValueError
        assert asked()[1][0][1] == "Hesper"
    assert [asked()[0] for _ in range(2)] == [1, 1]


def test_what_was_asked_for_more_keys_answers_for_fewer(cast: Cast) -> None:
    named = Prepared(
        lambda people, families: (
            Person.objects.filter(pk__in=people, **({} if families is None else {"family_name__in": families}))
            .order_by("-pk")
            .values_list("pk", "family_name")
        ),
        people=0,
        families=1,
    )
    people = list(Person.objects.values_list("pk", flat=True))
    families = [cast.owner.person.family_name, cast.assistant.person.family_name]
    some: list[dict[str, Any]] = [
        {"people": people[1:4], "families": None}, {"people": people, "families": families}, {"people": people[:1], "families": families[:1]},
        {"people": [cast.owner.person.pk], "families": families[1:]},
    ]  # fmt: skip
    with remembered(), CaptureQueriesContext(connection) as seen:
        list(named.rows(people=people, families=None))
        for fewer in some:
            assert list(named.rows(**fewer)) == plainly(named, **fewer)
        list(named.rows(people=[*people, uuid4()], families=None))
    assert len(seen) == 2 + len(some), "each of the plain ones, the first, and the one for a key more"


def fields_of(row: Model) -> dict[str, Any]:
    return {field.attname: getattr(row, field.attname) for field in row._meta.concrete_fields}


def test_a_seal_that_corrects_nothing_leaves_what_stands_standing(cast: Cast) -> None:
    """Whether a fact stands is asked of the seals in most questions about facts."""
    standing = Prepared(
        lambda site: Change.objects.live().filter(site__in=site).order_by("pk").values_list("pk", "said")
    )
    assert CORRECTED in standing.statement({"site": [cast.lane.pk]}).text

    def asked() -> tuple[int, int]:
        with CaptureQueriesContext(connection) as seen:
            rows = list(standing.rows(site=[cast.lane.pk]))
        return len(seen), len(rows)

    day = date(2025, 3, 3)
    event = Incident(site=cast.lane, happened_on=day, kind="near miss", place="bench", how="A cutter slipped.")
    with holding(cast.lane):
        _, before = asked()
        record(event, by=None)
        assert asked() == (0, before)
        wrong = Change.objects.live().filter(site=cast.lane)[0]
        seal = Seal.objects.get(fact=event.pk)
        add_row(
            Seal(
                **{**fields_of(seal), "id": None, "position": seal.position + 1, "fact": uuid4(), "corrects": wrong.pk}
            )
        )
        assert asked() == (1, before - 1)


def test_what_is_made_of_remembered_rows_is_made_once(cast: Cast) -> None:
    made: list[int] = []

    def count(rows: list[Any]) -> int:
        made.append(len(rows))
        return len(rows)

    def told() -> int:
        return made_of((NAMES.listed(people=[cast.owner.person.pk], families=None),), count)

    assert [told(), told()] == [1, 1] and len(made) == 2
    with remembered():
        assert [told(), told()] == [1, 1] and len(made) == 3
        Person.objects.filter(pk=cast.owner.person.pk).update(given_name="Hesper")
        assert [told(), told()] == [1, 1] and len(made) == 4


@pytest.mark.parametrize("how", [{"no_key": True}, {"skip_locked": True}], ids=["waited for", "free"])
def test_once_a_row_is_held_all_is_asked_anew(cast: Cast, how: dict[str, bool]) -> None:
    """Whoever held it before may have recorded. Where one connection writes at a time, nobody else can have."""
    waits = connection.features.has_select_for_update
    how = how if waits else {}
    held = Instances(Person, lambda keys: Person.objects.filter(pk__in=keys).select_for_update(**how))
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


NAMES_OF_SPAN = [field.attname for field in FindingSpan._meta.concrete_fields if field.attname != "id"]
SPANS = Prepared(lambda site: FindingSpan.objects.filter(site__in=site).order_by("first").values_list(*NAMES_OF_SPAN))
ODD = "50 % of “it”, 'quoted' \\ %s"
DAY = date(2026, 2, 28)


def spans_of(cast: Cast) -> list[tuple[Any, ...]]:
    said: dict[str, Any] = dict.fromkeys(NAMES_OF_SPAN, ODD) | {"site_id": cast.lane.pk, "evidence": ["x", ODD]}
    said |= {"kind": "work", "weight": "red", "code": "F1", "since": DAY, "counted_from": None}
    days = [{"first": DAY + timedelta(days=number), "after": after} for number, after in enumerate((None, DAY, None))]
    return [tuple((said | each)[name] for name in NAMES_OF_SPAN) for each in days]


def test_computed_rows_are_kept_as_django_keeps_them_and_taken_out_by_their_keys(cast: Cast) -> None:
    table, given, rows = Table(FindingSpan, *NAMES_OF_SPAN), spans_of(cast), FindingSpan.objects.order_by("first")
    rows.delete()
    table.put_in(given)
    kept = list(rows.values_list(*NAMES_OF_SPAN))
    rows.delete()
    FindingSpan.objects.bulk_create(FindingSpan(**dict(zip(NAMES_OF_SPAN, row, strict=True))) for row in given)
    assert kept == list(rows.values_list(*NAMES_OF_SPAN)) == given
    first, second, third = rows.values_list("pk", flat=True)
    table.take_out([first, third])
    assert list(rows.values_list("pk", flat=True)) == [second]


def test_nothing_to_put_in_or_to_take_out_asks_nothing(cast: Cast) -> None:
    table = Table(FindingSpan, *NAMES_OF_SPAN)
    with CaptureQueriesContext(connection) as asked:
        table.put_in([])
        table.take_out([])
    assert not asked.captured_queries


def test_what_was_asked_of_computed_rows_is_asked_again_once_they_are_written(cast: Cast) -> None:
    table = Table(FindingSpan, *NAMES_OF_SPAN)
    FindingSpan.objects.all().delete()
    with remembered():
        assert list(SPANS.rows(site=[cast.lane.pk])) == []
        table.put_in(spans_of(cast))
        assert list(SPANS.rows(site=[cast.lane.pk])) == spans_of(cast)
        table.take_out(list(FindingSpan.objects.values_list("pk", flat=True)))
        assert list(SPANS.rows(site=[cast.lane.pk])) == []


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


def test_what_is_the_same_from_write_to_write_is_asked_each_time_and_read_when_it_is_another(cast: Cast) -> None:
    named = Still(lambda people: Person.objects.filter(pk__in=people).order_by("pk").values_list("pk", "given_name"))
    who = cast.owner.person

    def told() -> tuple[int, list[Any]]:
        with remembered(), CaptureQueriesContext(connection) as seen:
            rows = named.listed(people=[who.pk])
        return len(seen), rows

    first = told()
    assert first[0] == 1 and told()[1] is first[1]
    Person.objects.filter(pk=who.pk).update(given_name="Hesper")
    again = told()
    assert again == (1, [(who.pk, "Hesper")]) and told()[1] is again[1]
    assert list(named.rows(people=[cast.assistant.person.pk])) == plainly(named, people=[cast.assistant.person.pk])
