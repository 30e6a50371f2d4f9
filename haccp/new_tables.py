"""A migration operation that makes all tables of an app at once.

Django renders every related model anew after each operation of a migration, and here every model is related to every
other through the premises. One by one, the tables of a fresh database took half a minute; at once they take seconds.
"""

from collections.abc import Sequence
from typing import Any

from django.apps.registry import Apps
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.operations import AddConstraint, AddField, AddIndex, CreateModel
from django.db.migrations.operations.base import Operation
from django.db.migrations.state import ProjectState


class NewTables(Operation):
    """Create the models of `operations`, as they are after the last of them.

    operations: what `makemigrations` writes for an app's first migration: CreateModel, and AddField, AddConstraint and
        AddIndex on models created in the same list.
    Errors: TypeError for any other operation.
    """

    reversible = True
    reduces_to_sql = True

    def __init__(self, operations: Sequence[Operation]) -> None:
        for operation in operations:
            if not isinstance(operation, CreateModel | AddField | AddConstraint | AddIndex):
                raise TypeError(f"NewTables makes new tables only; put this in a migration's own list: {operation!r}")
        self.operations = list(operations)

    def deconstruct(self) -> tuple[str, list[Any], dict[str, Any]]:
        return self.__class__.__qualname__, [self.operations], {}

    def state_forwards(self, app_label: str, state: ProjectState) -> None:
        # Without rendered models the operations change the state alone; it is rendered once when it is next read.
        state.__dict__.pop("apps", None)
        for operation in self.operations:
            operation.state_forwards(app_label, state)

    def database_forwards(
        self, app_label: str, schema_editor: BaseDatabaseSchemaEditor, from_state: ProjectState, to_state: ProjectState
    ) -> None:
        for model in self._models(app_label, schema_editor, to_state.apps):
            schema_editor.create_model(model)

    def database_backwards(
        self, app_label: str, schema_editor: BaseDatabaseSchemaEditor, from_state: ProjectState, to_state: ProjectState
    ) -> None:
        for model in reversed(self._models(app_label, schema_editor, from_state.apps)):
            schema_editor.delete_model(model)

    def _models(self, app_label: str, schema_editor: BaseDatabaseSchemaEditor, apps: Apps) -> list[Any]:
        created = [operation.name for operation in self.operations if isinstance(operation, CreateModel)]
        models = [apps.get_model(app_label, name) for name in created]
        return [model for model in models if self.allow_migrate_model(schema_editor.connection.alias, model)]

    def describe(self) -> str:
        return "Make all tables of this app"
