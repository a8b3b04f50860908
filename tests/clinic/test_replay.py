"""Reference data are what the changes say (handbook rows E-05 and E-15: what was altered is seen, and who did what when stays).

Each table is altered in SQL, past every door, and the check of the seals names row and column.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, timedelta
from decimal import Decimal
from typing import Any
from uuid import uuid4

import pytest
from django.db import models, transaction

from clinic import clock
from clinic.actions import days, people, roster
from clinic.actions.blocks import enter_lot
from clinic.actions.equipment import change_unit
from clinic.actions.sites import open_site
from clinic.changes import change, note, remove
from clinic.models import Absence, BlockLot, Change, JobRole, Person, Site
from clinic.record import NotAllowed, record
from clinic.reference import REFERENCE, said_of
from clinic.replay import replayed, story_of
from clinic.seals import check_register
from tests.cast import REGISTER_START, Cast
from tests.fixtures import drop_keys, lift_refusals
from tests.reference_rows import enter_the_rest
from tests.training.bench import set_up
from training.models import Issue, Procedure

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


@pytest.fixture(scope="module")
def the_practice(the_cast: Cast, django_db_blocker: Any) -> Iterator[Cast]:
    with django_db_blocker.unblock(), transaction.atomic():
        yield filled(the_cast)
        transaction.set_rollback(True)


@pytest.fixture
def practice(the_practice: Cast, cast: Cast) -> Cast:
    """A row in every table of reference data. What a test adds to it is taken back."""
    return cast


def filled(cast: Cast) -> Cast:
    procedure, lane = set_up(cast).procedure, cast.lane
    today = clock.today(lane.time_zone)
    issue = Issue(site=lane, happened_on=today, document="binder", number="B1", code="c1", frozen={}, frozen_digest="x")
    return enter_the_rest(cast, procedure, record(issue, by=None))


@contextmanager
def past_every_door() -> Iterator[None]:
    """The tables as somebody with the file sees them; all is taken back at the end."""
    with transaction.atomic():
        lift_refusals()
        drop_keys()
        yield
        transaction.set_rollback(True)


def other(column: Any, now: Any) -> Any:
    """Something else that the column holds."""
    kind = (column.target_field if column.is_relation else column).get_internal_type()
    if kind == "DateField":
        return now + DAY if now else date(2030, 1, 7)
    if kind == "DateTimeField":
        return (now or clock.now()) + DAY
    if kind == "UUIDField":
        return uuid4()
    if kind == "BooleanField":
        return not now
    if kind == "JSONField":
        return ["other"]
    if "Integer" in kind or "AutoField" in kind or kind == "DecimalField":
        return (now or 0) + 1
    return f"{now}"[: (column.max_length or 99) - 1] + "x" if now != "1111100" else "0000000"


def found() -> list[tuple[str, str]]:
    return [(each.kind, each.says) for each in replayed()]


def test_a_practice_with_a_row_in_every_table_is_what_its_changes_say(practice: Cast) -> None:
    assert [model for model in REFERENCE if not model._base_manager.exists()] == []
    assert check_register() == []


@pytest.mark.parametrize("model", REFERENCE, ids=lambda model: model._meta.label)
def test_each_column_of_each_table_altered_in_sql_is_found_and_named(practice: Cast, model: Any) -> None:
    row = model._base_manager.order_by("pk").last()
    for name in REFERENCE[model].deciding:
        column = next(each for each in model._meta.concrete_fields if each.attname == name)
        with past_every_door():
            value = other(column, getattr(row, name))
            model._base_manager.filter(pk=row.pk).update(**{name: value})
            [(kind, says)] = found()
        assert kind == model._meta.label_lower
        assert f"{model._meta.verbose_name} {row.pk} " in says
        assert f"{column.verbose_name} is " in says


@pytest.mark.parametrize("model", REFERENCE, ids=lambda model: model._meta.label)
def test_a_row_of_each_table_deleted_in_sql_is_found_and_named(practice: Cast, model: Any) -> None:
    row = model._base_manager.order_by("pk").last()
    with past_every_door():
        model._base_manager.filter(pk=row.pk)._raw_delete("default")
        says = dict(found())[model._meta.label_lower]
    assert says.startswith(f"{model._meta.verbose_name} {row.pk} ") and says.endswith("and the row is gone")


@pytest.mark.parametrize("model", REFERENCE, ids=lambda model: model._meta.label)
def test_a_row_of_each_table_added_in_sql_is_found_and_named(practice: Cast, model: Any) -> None:
    with past_every_door():
        twin = model._base_manager.order_by("pk").last()
        twin.pk = uuid4() if model._meta.pk.get_internal_type() == "UUIDField" else None
        free_of_rivals(twin, practice)
        model._base_manager.bulk_create([twin])
        [(kind, says)] = found()
    assert (kind, says) == (
        model._meta.label_lower, f"{model._meta.verbose_name} {twin.pk}: the row stands here, and nobody entered it"
    )  # fmt: skip


def free_of_rivals(twin: models.Model, cast: Cast) -> None:
    """What may stand in one row only becomes another."""
    for name in ("code", "title", "lot", "label", "name", "sign_in_name", "staff_number", "family_name"):
        if hasattr(twin, name):
            setattr(twin, name, "another")
    if hasattr(twin, "sign_in_name"):
        spare = Person(organisation=cast.organisation, home_site=cast.lane, given_name="Nell", family_name="Ashe")
        twin.person = people.hire(spare, by=None)  # type: ignore[attr-defined]


def test_every_change_of_a_row_is_told_one_after_the_other(practice: Cast) -> None:
    owner, unit = practice.owner.person, practice.unit
    change_unit(unit, by=owner, label="unit 1, by the sink")
    change_unit(unit, by=owner, serial="M-77", in_service_to=date(2026, 3, 2))
    change_unit(unit, by=owner, in_service_to=None)
    people.leave(practice.assistant.person, clock.today("UTC"), by=owner)
    roster.close_account(practice.assistant.account, at=practice.lane, by=owner)
    roster.open_again(practice.assistant.account, at=practice.lane, by=owner)
    days.drop_absence(Absence.objects.get(), at=practice.lane, by=owner)
    assert check_register() == []


def test_a_change_says_the_columns_that_moved_and_no_other(cast: Cast) -> None:
    change_unit(cast.unit, by=cast.owner.person, label="unit 1, by the sink")
    fact = Change.objects.get(about_id=str(cast.unit.pk), said="unit 1, by the sink changed")
    assert (fact.before, fact.after) == ({"label": "unit 1"}, {"label": "unit 1, by the sink"})


def test_what_says_the_same_again_is_no_change(cast: Cast) -> None:
    assert change(cast.unit, site=cast.lane, by=None, said="Nothing") is None


def test_a_row_altered_and_then_changed_through_the_door_shows_where_the_story_breaks(cast: Cast) -> None:
    person = cast.assistant.person
    with past_every_door():
        Person.objects.filter(pk=person.pk).update(family_name="Forged")
        person.refresh_from_db()
        person.family_name = "Okoro"
        people.change_person(person, by=cast.owner.person)
        [(kind, says)] = found()
    assert kind == "clinic.person"
    assert says.endswith("“Wren Okoro changed” found it other than the change before had left it")


def test_a_row_that_was_ended_and_slipped_in_again_is_found(practice: Cast) -> None:
    row = Absence.objects.get()
    key = row.pk
    remove(row, site=practice.lane, by=None, said="Not away after all")
    assert found() == []
    with past_every_door():
        row.pk = key
        Absence.objects.bulk_create([row])
        [(_, says)] = found()
    assert says.endswith("the row was ended, and stands here again")


def test_a_row_changed_from_two_sites_has_one_story_even_when_a_clock_ran_wrong(cast: Cast) -> None:
    """The second site's clock is an hour behind, so that its change looks earlier than the one it goes on from."""
    person, now = cast.assistant.person, clock.now() + DAY
    for number, (site, hours) in enumerate([(cast.lane, 0), (cast.court, -1), (cast.lane, 1), (cast.court, -1)]):
        person.email = f"wren{number}@example.org"
        with clock.replaying(), clock.standing_at(now + timedelta(hours=hours)):
            change(person, site=site, by=None, said=f"Address {number}", only=["email"])
    assert found() == []


def test_what_only_happened_to_a_row_changes_nothing_of_it(cast: Cast) -> None:
    fact = note(cast.owner.account, site=cast.lane, by=None, said="Sessions ended")
    assert (fact.before, fact.after, found()) == ({}, {}, [])


def test_a_practice_that_was_never_made_has_no_story() -> None:
    assert story_of([]).now is None


def test_a_later_site_is_told_in_two_chains_and_stands_once(cast: Cast) -> None:
    site = Site(organisation=cast.organisation, name="Ferry Lane", code="ferry", register_start=REGISTER_START)
    open_site(site, by=None)
    assert Change.objects.filter(about="clinic.site", about_id=str(site.pk)).count() == 2
    assert found() == []


def test_a_decimal_says_the_same_before_it_is_stored_and_after(cast: Cast) -> None:
    lot = BlockLot(site=cast.lane, lot="L2", material="zirconia", factor=Decimal("1.2"), received_on=REGISTER_START)
    before = said_of(enter_lot(lot, by=cast.owner.person))
    assert before == said_of(BlockLot.objects.get(pk=lot.pk)) and before["factor"] == "1.2000"


def test_a_refused_change_leaves_the_row_as_it_was(cast: Cast) -> None:
    with pytest.raises(NotAllowed):
        change_unit(cast.unit, by=cast.elsewhere.person, label="mine")
    with pytest.raises(NotAllowed):
        people.job_role(cast.organisation, "King", at=cast.lane, by=cast.assistant.person)
    assert (JobRole.objects.filter(title="King").exists(), found()) == (False, [])


def test_a_procedure_of_the_library_is_told_by_its_load(practice: Cast) -> None:
    row = Procedure.objects.get(code="P06")
    with past_every_door():
        Procedure.objects.filter(pk=row.pk).update(stands_for="tool swap")
        [(_, says)] = found()
    assert "stands for is “tool swap”, and its changes say “”" in says
