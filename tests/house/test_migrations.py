"""What the models say is what the migrations make."""

from io import StringIO
from typing import Any

import pytest
from django.apps import apps
from django.core.management import call_command
from django.db import connection, migrations
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.state import ProjectState
from django.db.models import Model

from clinic.tables_at_once import TablesAtOnce


@pytest.mark.django_db
def test_no_model_has_changed_without_its_migration() -> None:
    said = StringIO()
    try:
        call_command("makemigrations", check=True, dry_run=True, verbosity=3, stdout=said)
    except SystemExit:
        pytest.fail(f"Run manage.py makemigrations. These operations are missing:\n{said.getvalue()}")


@pytest.mark.django_db
@pytest.mark.parametrize("model", apps.get_models(include_auto_created=True), ids=lambda model: model._meta.label_lower)
def test_the_table_has_every_column_constraint_and_index_of_its_model(model: type[Model]) -> None:
    table, look = model._meta.db_table, connection.introspection
    with connection.cursor() as cursor:
        columns = {column.name for column in look.get_table_description(cursor, table)}
        named = set(look.get_constraints(cursor, table))
    assert columns == {field.column for field in model._meta.local_concrete_fields}
    assert named >= {each.name for each in [*model._meta.constraints, *model._meta.indexes]}


def test_the_first_migration_of_an_app_only_makes_tables_and_shapes_them() -> None:
    class Filled(TablesAtOnce):
        operations = [migrations.RunSQL("")]

    with pytest.raises(TypeError, match="a migration of its own"):
        Filled("0001_initial", "clinic").apply(ProjectState(), None)


def test_the_migration_that_stands_for_several_comes_to_what_they_come_to(settings: Any) -> None:
    """An empty register is made by the one; a register of any earlier version goes on from where it is by the others."""
    settings.MIGRATION_MODULES = {}  # a run without migrations looks away from them
    apart, at_once = (MigrationLoader(None, replace_migrations=together) for together in (False, True))
    assert len(apart.graph.nodes) - len(at_once.graph.nodes) >= 17
    states = [loader.project_state() for loader in (apart, at_once)]
    for each in apps.get_models():
        if each._meta.app_label in ("clinic", "training"):
            key = each._meta.app_label, each._meta.model_name
            one, other = (shape(state, key) for state in states)
            assert one == other, each
    assert states[0].models.keys() == states[1].models.keys()


def shape(state: ProjectState, key: Any) -> tuple[Any, ...]:
    model = state.models[key]
    fields = {name: field.deconstruct()[1:] for name, field in model.fields.items()}
    options = {name: value for name, value in model.options.items() if name not in ("indexes", "constraints")}
    named = {
        each.name: each.deconstruct() for name in ("indexes", "constraints") for each in model.options.get(name, ())
    }
    return fields, options, named
