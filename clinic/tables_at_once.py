"""The first migration of an app, quickly: its tables are made once, as they are after all of its operations.

Django draws every model that is related to the one an operation touches anew, after each operation. Here nearly every
model is related to nearly every other, so an empty register of a hundred tables took twenty seconds of processor time to
set up; at the first start a practice sits before it.
"""

from typing import Any

from django.db import migrations
from django.db.migrations.state import ProjectState

SHAPING = (
    migrations.CreateModel,
    migrations.AddField,
    migrations.AlterField,
    migrations.AddIndex,
    migrations.AddConstraint,
    migrations.RemoveConstraint,
)


class TablesAtOnce(migrations.Migration):
    """A migration that only makes tables and shapes those that it makes. Another operation in it is a `TypeError`."""

    initial = True

    def apply(self, project_state: ProjectState, schema_editor: Any, collect_sql: bool = False) -> ProjectState:
        for operation in self.operations:
            if not isinstance(operation, SHAPING):
                raise TypeError(f"{operation.describe()}: give it a migration of its own; this one only makes tables.")
        project_state.__dict__.pop("apps", None)  # until all is said: what is drawn is drawn again after each operation
        for operation in self.operations:
            operation.state_forwards(self.app_label, project_state)
        for operation in self.operations:
            if isinstance(operation, migrations.CreateModel):
                schema_editor.create_model(project_state.apps.get_model(self.app_label, operation.name))
        return project_state
